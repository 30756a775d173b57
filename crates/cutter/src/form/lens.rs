//! Lens: bottom arc centred on the axis, corner, cylinder.

use super::{Dims, arc};
use crate::error::CutterError;
use crate::profile::Element;
use std::f64::consts::FRAC_PI_2;

pub(super) fn chain(d: &Dims) -> Result<Vec<Element>, CutterError> {
    d.unused(&[(d.taper, "taper_deg"), (d.offset, "corner_offset_mm")])?;
    let bottom = d.need(d.arc, "arc_radius_mm")?;
    let rc = d.corner.unwrap_or(0.0);
    if rc >= d.radius {
        return Err(CutterError::CornerTooLarge {
            corner_radius_mm: rc,
            largest_mm: d.radius,
            why: "half the diameter, with room for the bottom arc",
        });
    }
    if bottom <= d.radius {
        return Err(CutterError::ArcDoesNotMeetShank {
            arc_radius_mm: bottom,
            why: format!("expected more than half the diameter, {} mm", d.radius),
        });
    }
    // tangent from inside: the centres are the difference of the radii apart
    let kappa = ((d.radius - rc) / (bottom - rc)).asin();
    let centre = (d.radius - rc, bottom - (bottom - rc) * kappa.cos());
    let corner = arc(centre, rc, kappa, FRAC_PI_2);
    Ok(arc((0.0, bottom), bottom, 0.0, kappa).into_iter().chain(corner).collect())
}
