//! Tangent barrel: tip arc, flank arc that runs out in the cylinder.

use super::Dims;
use super::tip_arc::{CYLINDER, Flank, check_corner};
use crate::error::CutterError;
use crate::profile::Element;

pub(super) fn chain(d: &Dims) -> Result<Vec<Element>, CutterError> {
    d.unused(&[(d.taper, "taper_deg")])?;
    let arc_radius = d.need(d.arc, "arc_radius_mm")?;
    let corner = d.need(d.corner, "corner_radius_mm")?;
    let offset = d.offset.unwrap_or(0.0);
    check_corner(d, corner, offset)?;
    Flank { arc_radius, r0: d.radius - arc_radius, corner, offset }.chain(CYLINDER)
}
