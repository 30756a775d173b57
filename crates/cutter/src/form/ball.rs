//! Ball: half ball of the cutter's own radius, cylinder.

use super::{Dims, arc};
use crate::error::CutterError;
use crate::profile::Element;
use std::f64::consts::FRAC_PI_2;
use units::RangeCheck;

pub(super) fn chain(d: &Dims) -> Result<Vec<Element>, CutterError> {
    d.no_barrel_numbers()?;
    d.unused(&[(d.taper, "taper_deg")])?;
    let r = d.radius;
    if let Some(rc) = d.corner {
        let slack = geom::tolerance::COINCIDENT_MM;
        rc.within("corner_radius_mm of a ball cutter (half its diameter)", r - slack, r + slack)?;
    }
    Ok(arc((0.0, r), r, 0.0, FRAC_PI_2).into_iter().collect())
}
