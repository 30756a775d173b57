//! The chips: their size, how much room they take, and what that means for getting them out.

use crate::engagement::Slice;
use units::Interval;

/// Size of a chip, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChipSize {
    /// Along the edge.
    pub width_mm: f64,
    /// Along the cut, before it is compressed.
    pub length_mm: f64,
}

/// The longest chip along the edge and along the cut. Breakers of a pitch split the first and leave
/// the second (derived: the edge is longer than its depth by `1/cos helix`).
pub fn size(slices: &[Slice], helix_rad: f64, breaker_pitch_mm: Option<f64>) -> Option<ChipSize> {
    let cut = || slices.iter().filter(|s| s.arc_rad() > 0.0);
    let width: f64 = cut().map(|s| s.width_mm).sum();
    let length = cut().map(|s| s.radius_mm * s.arc_rad()).fold(0.0, f64::max);
    if width.is_nan() || width <= 0.0 {
        return None;
    }
    let whole = width / helix_rad.cos();
    let split = breaker_pitch_mm.map_or(whole, |p| (p / helix_rad.cos()).min(whole));
    Some(ChipSize { width_mm: split, length_mm: length })
}

/// What is known of how chips leave.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Room {
    /// Metal removed, cm³.
    pub volume_cm3: f64,
    /// Volume of loose chips over that of the metal.
    pub bulk_ratio: Interval,
    /// Open volume that chips can gather in, cm³; `None`: nothing closes them in.
    pub open_cm3: Option<f64>,
    /// Gap that a chip must pass: between flutes, or between cutter and wall, mm.
    pub gap_mm: Option<f64>,
}

/// Share of an open room from which loose chips are taken to pack, if nothing carries them off.
/// Common practice, no source.
pub const PACKED_SHARE: f64 = 0.5;

/// Sentences on how the chips leave, each with what it assumes.
pub fn evacuation(chip: ChipSize, room: &Room) -> Vec<String> {
    let bulk = room.bulk_cm3();
    let mut out = vec![format!(
        "{:.3} cm³ of metal become {:.2} to {:.2} cm³ of loose chips",
        room.volume_cm3, bulk.low, bulk.high
    )];
    match room.open_cm3 {
        None => out.push("the face is open: chips are taken to fall or be washed off".to_owned()),
        Some(open) => {
            let share = bulk.high / open;
            let verdict = if share > PACKED_SHARE { "will pack" } else { "have room" };
            out.push(format!(
                "if nothing carried them off they would fill {:.0} % of the open room and {verdict} \
                 (more than {:.0} % packs: common practice, no source)",
                100.0 * share,
                100.0 * PACKED_SHARE
            ));
        }
    }
    if let Some(gap) = room.gap_mm.filter(|gap| chip.width_mm > *gap) {
        out.push(format!(
            "chips {:.1} mm along the edge are longer than the gap of {gap:.1} mm that they must pass: \
             a chip breaker splits them",
            chip.width_mm
        ));
    }
    out
}

impl Room {
    /// Volume as loose chips, cm³.
    pub fn bulk_cm3(&self) -> Interval {
        let of = |ratio: f64| ratio * self.volume_cm3;
        Interval::new(of(self.bulk_ratio.low), of(self.bulk_ratio.high))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engagement::peripheral::{Arc, Way, cylinder};

    #[test]
    fn a_breaker_splits_the_width_and_leaves_the_length() {
        // derived: ap 18, helix 38°: 22.84233 mm; pitch 5: 6.345091 mm; arc of ae 1.3 on D 12
        let helix = 38f64.to_radians();
        let arc = Arc::beside(12.0, 1.3, Way::Down).unwrap();
        let slices = [cylinder(12.0, 18.0, helix, arc)];
        let plain = size(&slices, helix, None).unwrap();
        let broken = size(&slices, helix, Some(5.0)).unwrap();
        assert!((plain.width_mm - 22.842_33).abs() < 1e-5);
        assert!((broken.width_mm - 6.345_091).abs() < 1e-6);
        assert!((plain.length_mm - 4.024_716).abs() < 1e-6);
        assert_eq!(plain.length_mm, broken.length_mm);
    }

    #[test]
    fn a_full_pocket_of_loose_chips_packs() {
        // derived: 80 × 50 × 30 mm at a ratio of 8
        let room = Room {
            volume_cm3: 120.0,
            bulk_ratio: Interval::point(8.0),
            open_cm3: Some(120.0),
            gap_mm: Some(4.0),
        };
        assert_eq!(room.bulk_cm3(), Interval::point(960.0));
        let lines = evacuation(ChipSize { width_mm: 22.8, length_mm: 4.0 }, &room);
        assert!(lines.iter().any(|l| l.contains("will pack")), "{lines:?}");
        assert!(lines.iter().any(|l| l.contains("chip breaker")), "{lines:?}");
        let open = Room { open_cm3: None, gap_mm: None, ..room };
        assert_eq!(evacuation(ChipSize { width_mm: 1.0, length_mm: 1.0 }, &open).len(), 2);
    }
}
