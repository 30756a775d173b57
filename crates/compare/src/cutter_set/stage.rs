//! The time of a stage: one cutter in one pocket on what a larger one left.
//!
//! No path is laid: the area to clear, over width of cut and attained feed, once for each level.

use machine::AxisName;
use planar::Reach;
use std::f64::consts::PI;
use study::{Diagnostic, Study, StudyCutter};

/// What stage times rest on.
pub const BASIS: &str = "Stage times are computed, not measured, and no path is laid: area over \
    width of cut and attained feed, once for each level. Width 0.25 D, level at most 1 D and the \
    cutter's depth, 0.01 D feed per tooth (common practice, no source), the material's middle speed, \
    spindle speed and power; the feed starts and stops at every mean chord of the room with the \
    weaker axis' acceleration. Force on the cutter, deflection, chatter, jerk, entry, holder and \
    stock above the rim are not in them. In costs an edge lasts 45 min of cutting (common \
    practice, no source).";
/// Width of cut over diameter. Common practice, no source.
const WIDTH_RATIO: f64 = 0.25;
/// Feed per tooth over diameter. Common practice, no source.
const FEED_RATIO: f64 = 0.01;

/// How a cutter clears, before the room it has.
pub(crate) struct Rate {
    feed_mm_s: f64,
    width_mm: f64,
    levels: f64,
    accel_mm_s2: f64,
}

/// The rate of a cutter in a pocket of a depth.
pub(crate) fn rate(study: &Study, cutter: &StudyCutter, depth_mm: f64) -> Result<Rate, Diagnostic> {
    let material = &study.part.material;
    let speed = material.coated_speed_m_min.as_ref().or(material.bright_speed_m_min.as_ref());
    let speed = speed.map_err(|missing| {
        study.fault(
            study.part.file.place,
            format!("no cutting speed is known for {}: {}", material.name, missing.reason),
            "a material with a range of cutting speed",
            "name another material, or a file of your own with its speed",
        )
    })?;
    let d = cutter.spec.diameter_mm;
    let wanted = speed.value.middle() * 1000.0 / (PI * d) / 60.0;
    let spindle = study.machine.spindle.max_rpm.map_or(f64::INFINITY, |rpm| rpm / 60.0);
    let rev_s = wanted.min(spindle).min(cutter.max_rev_s.unwrap_or(f64::INFINITY));
    let level = d.min(cutter.deepest_cut_mm().unwrap_or(f64::INFINITY));
    let levels = (depth_mm / level).ceil();
    let (width_mm, feed_per_tooth) = (WIDTH_RATIO * d, FEED_RATIO * d);
    let mut feed_mm_s = rev_s * f64::from(cutter.teeth) * feed_per_tooth;
    let power = study.machine.spindle.available(rev_s * 60.0).map(|a| a.power_kw * 1e6);
    if let (Some(power_n_mm_s), Ok(law)) = (power, &material.force.kienzle) {
        let chip_mm = feed_per_tooth * WIDTH_RATIO.sqrt();
        let section = width_mm * depth_mm / levels * law.value.specific_n_mm2(chip_mm);
        feed_mm_s = feed_mm_s.min(power_n_mm_s / section);
    }
    let axes = [AxisName::X, AxisName::Y].map(|name| study.machine.axis(name));
    let axes = || axes.iter().flatten();
    feed_mm_s = axes().map(|a| a.max_speed).fold(feed_mm_s, f64::min);
    let accel_mm_s2 = axes().map(|a| a.accel.value).fold(f64::INFINITY, f64::min);
    Ok(Rate { feed_mm_s, width_mm, levels, accel_mm_s2 })
}

/// Time of a stage, s: by a cutter in its room, on what one before it left, whose room is `before`; `None`
/// for the full pocket.
///
/// What a larger disk reaches a smaller one reaches too: in any place of the larger one, moved towards the
/// point that is to be covered (derived). So what is left is a difference of areas.
pub(crate) fn time_s(rate: &Rate, room: &Room, before: Option<&Room>) -> f64 {
    let left_mm2 = (room.covered_mm2 - before.map_or(0.0, |b| b.covered_mm2)).max(0.0);
    rate.levels * left_mm2 / (rate.width_mm * attained(rate, room.chord_mm))
}

/// What a cutter has of a pocket.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Room {
    /// Area that it covers, mm².
    covered_mm2: f64,
    /// Mean chord of where its centre may be: π·area over border (Cauchy's formula, from memory), mm.
    chord_mm: f64,
}

impl Room {
    pub(crate) fn new(reach: &Reach) -> Self {
        let (area, border) = (reach.centres.area_mm2(), reach.centres.border_mm());
        Self {
            covered_mm2: reach.covered.area_mm2(),
            chord_mm: PI * area / border.max(f64::MIN_POSITIVE),
        }
    }
}

/// Mean feed between two turns, mm/s: from rest to rest over the mean chord, at least a width of cut.
fn attained(rate: &Rate, chord_mm: f64) -> f64 {
    let chord_mm = chord_mm.max(rate.width_mm);
    let (v, a) = (rate.feed_mm_s, rate.accel_mm_s2);
    let time_s =
        if chord_mm < v * v / a { 2.0 * (chord_mm / a).sqrt() } else { chord_mm / v + v / a };
    chord_mm / time_s
}

#[cfg(test)]
mod tests {
    use super::*;
    use planar::{Outline, Region, reach};

    #[test]
    fn a_short_room_holds_the_feed_back() {
        let square = |a: f64| {
            let centres = Region::of_loops(&[vec![[0.0, 0.0], [a, 0.0], [a, a], [0.0, a]]]);
            Room::new(&Reach { covered: centres.clone(), centres }).chord_mm
        };
        let rate = Rate { feed_mm_s: 100.0, width_mm: 1.0, levels: 1.0, accel_mm_s2: 1000.0 };
        // chord π·4/8 = π/2 mm, too short to reach 100 mm/s: half the peak √(a·s)
        assert!((attained(&rate, square(2.0)) - 0.5 * (1000.0 * PI / 2.0).sqrt()).abs() < 1e-3);
        // chord 25 π mm: s / (s/v + v/a)
        let s = 25.0 * PI;
        assert!((attained(&rate, square(100.0)) - s / (s / 100.0 + 0.1)).abs() < 1e-3);
    }

    /// The difference of areas is that of the regions, in pockets with islands and open sides.
    #[test]
    fn what_a_smaller_cutter_adds_is_the_difference_of_the_areas() {
        let ring = |x: f64, y: f64, w: f64, h: f64| {
            vec![[x, y], [x + w, y], [x + w, y + h], [x, y + h], [x, y]]
        };
        let (outside, island) = (ring(0.0, 0.0, 60.0, 40.0), ring(24.0, 9.0, 9.0, 14.0));
        let region = Region::of_loops(&[outside[..4].to_vec(), island[..4].to_vec()]);
        let closed = Outline {
            region: region.clone(),
            walls: vec![outside.clone(), island.clone()],
            open: Vec::new(),
        };
        let wall = vec![[60.0, 40.0], [0.0, 40.0], [0.0, 0.0], [60.0, 0.0]];
        let open = Outline {
            region,
            walls: vec![wall, island],
            open: vec![vec![[60.0, 0.0], [60.0, 40.0]]],
        };
        let radii = [10.0, 7.4, 6.0, 4.0, 2.5, 1.0];
        for outline in [&closed, &open] {
            let reached: Vec<Reach> = radii.iter().map(|r| reach(outline, *r)).collect();
            for (k, small) in reached.iter().enumerate() {
                for large in &reached[..k] {
                    let left = small.covered.less(&large.covered).area_mm2();
                    let by_areas = small.covered.area_mm2() - large.covered.area_mm2();
                    assert!((left - by_areas).abs() < 0.01 * left.max(10.0), "{left} {by_areas}");
                }
            }
        }
    }
}
