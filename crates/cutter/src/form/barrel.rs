//! Barrel: corner, flank arc past its belly; the belly is the largest diameter.
//!
//! Where the corner's offset is given the corner places the belly, and the flutes cut the arc off
//! above it. Where only the flute length is given the belly stands at mid-flute and places the
//! corner.

use super::Dims;
use super::tip_arc::{Flank, check_corner};
use crate::error::CutterError;
use crate::profile::Element;

pub(super) fn chain(d: &Dims) -> Result<Vec<Element>, CutterError> {
    d.unused(&[(d.taper, "taper_deg")])?;
    let arc_radius = d.need(d.arc, "arc_radius_mm")?;
    let corner = d.corner.unwrap_or(0.0);
    let r0 = d.radius - arc_radius;
    check_corner(d, corner, d.offset.unwrap_or(0.0))?;
    let offset = match (d.offset, d.flutes) {
        (Some(offset), _) => offset,
        (None, Some(flutes)) => offset_for_belly(arc_radius, r0, corner, 0.5 * flutes)?,
        (None, None) => 0.0,
    };
    let flank = Flank { arc_radius, r0, corner, offset };
    let (_, belly) = flank.junction()?;
    let top = d.flutes.unwrap_or(2.0 * belly);
    if top <= belly {
        return Err(CutterError::FlutesTooShort {
            flute_length_mm: top,
            needed_mm: belly,
            why: "they end below the belly, where the diameter is measured; leave corner_offset_mm out to put the belly at mid-flute",
        });
    }
    let cos = (belly - top) / arc_radius;
    let end_rad = cos.max(-1.0).acos();
    if r0 + arc_radius * end_rad.sin() <= 0.0 {
        return Err(CutterError::ArcDoesNotMeetShank {
            arc_radius_mm: arc_radius,
            why: format!("it meets the axis before the flutes end at {top} mm"),
        });
    }
    flank.chain(end_rad)
}

/// Distance of the corner's centre from the axis that puts the belly at a height, mm.
fn offset_for_belly(arc_radius: f64, r0: f64, corner: f64, belly: f64) -> Result<f64, CutterError> {
    let cos = (belly - corner) / (arc_radius - corner);
    if cos <= 0.0 {
        return Err(CutterError::FlutesTooShort {
            flute_length_mm: 2.0 * belly,
            needed_mm: 2.0 * corner,
            why: "half of them must hold the corner",
        });
    }
    let offset = r0 + (arc_radius - corner) * (1.0 - cos * cos).max(0.0).sqrt();
    if cos >= 1.0 || offset < 0.0 {
        return Err(CutterError::ArcDoesNotMeetShank {
            arc_radius_mm: arc_radius,
            why: format!(
                "with its belly at mid-flute, {belly} mm above the tip, it meets the axis before the tip; shorten the flutes or enlarge the arc"
            ),
        });
    }
    Ok(offset)
}
