//! Taper barrel: tip arc, flank arc that ends at the largest diameter with the taper.

use super::Dims;
use super::tip_arc::{CYLINDER, Flank, check_corner};
use crate::error::CutterError;
use crate::profile::Element;
use units::RangeCheck;

pub(super) fn chain(d: &Dims) -> Result<Vec<Element>, CutterError> {
    let arc_radius = d.need(d.arc, "arc_radius_mm")?;
    let corner = d.need(d.corner, "corner_radius_mm")?;
    let taper = d.need(d.taper, "taper_deg")?;
    taper.positive("taper_deg")?;
    let offset = d.offset.unwrap_or(0.0);
    check_corner(d, corner, offset)?;
    let r0 = d.radius - arc_radius * taper.cos();
    Flank { arc_radius, r0, corner, offset }.chain(CYLINDER - taper)
}
