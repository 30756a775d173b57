//! Flat: bottom, sharp corner, cylinder.

use super::{Dims, line};
use crate::error::CutterError;
use crate::profile::Element;

pub(super) fn chain(d: &Dims) -> Result<Vec<Element>, CutterError> {
    d.no_barrel_numbers()?;
    d.unused(&[(d.corner, "corner_radius_mm"), (d.taper, "taper_deg")])?;
    Ok(line((0.0, 0.0), (d.radius, 0.0)).into_iter().collect())
}
