//! Tapered ball: tip ball, cone up to the largest diameter, then a cylinder.

use super::{Dims, arc, line};
use crate::error::CutterError;
use crate::profile::Element;
use std::f64::consts::FRAC_PI_2;
use units::RangeCheck;

pub(super) fn chain(d: &Dims) -> Result<Vec<Element>, CutterError> {
    d.no_barrel_numbers()?;
    let rb = d.need(d.corner, "corner_radius_mm")?.positive("corner_radius_mm")?;
    let taper = d.need(d.taper, "taper_deg")?;
    taper.positive("taper_deg")?;
    if rb > d.radius {
        return Err(CutterError::CornerTooLarge {
            corner_radius_mm: rb,
            largest_mm: d.radius,
            why: "half the diameter, which the cone reaches at its upper end",
        });
    }
    let hi = FRAC_PI_2 - taper;
    let (sin, cos) = taper.sin_cos();
    let start = (rb * cos, rb * (1.0 - sin));
    let end = (d.radius, start.1 + (d.radius - start.0) * cos / sin);
    Ok(arc((0.0, rb), rb, 0.0, hi).into_iter().chain(line(start, end)).collect())
}
