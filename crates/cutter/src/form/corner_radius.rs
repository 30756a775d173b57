//! Corner-radius: bottom, rounded corner, cylinder.

use super::{Dims, arc, line};
use crate::error::CutterError;
use crate::profile::Element;
use std::f64::consts::FRAC_PI_2;

pub(super) fn chain(d: &Dims) -> Result<Vec<Element>, CutterError> {
    d.no_barrel_numbers()?;
    d.unused(&[(d.taper, "taper_deg")])?;
    let rc = d.need(d.corner, "corner_radius_mm")?;
    if rc > d.radius {
        return Err(CutterError::CornerTooLarge {
            corner_radius_mm: rc,
            largest_mm: d.radius,
            why: "half the diameter",
        });
    }
    let r = d.radius - rc;
    Ok(line((0.0, 0.0), (r, 0.0)).into_iter().chain(arc((r, rc), rc, 0.0, FRAC_PI_2)).collect())
}
