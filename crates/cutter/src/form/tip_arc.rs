//! The tip arc that a flank arc runs down into, tangent to it from inside.

use super::{Dims, arc, line};
use crate::error::CutterError;
use crate::profile::Element;
use std::f64::consts::FRAC_PI_2;

/// Tip arc and flank arc of a barrel-like cutter.
pub(super) struct Flank {
    /// Radius of the flank arc, mm.
    pub(super) arc_radius: f64,
    /// Distance of its centre from the axis, mm.
    pub(super) r0: f64,
    /// Radius of the tip arc, mm.
    pub(super) corner: f64,
    /// Distance of the tip arc's centre from the axis, mm.
    pub(super) offset: f64,
}

impl Flank {
    /// Normal angle at the junction and height of the flank arc's centre: the centres of two
    /// circles that touch from inside are the difference of the radii apart.
    pub(super) fn junction(&self) -> Result<(f64, f64), CutterError> {
        let between = self.arc_radius - self.corner;
        let sin = (self.offset - self.r0) / between;
        if between <= 0.0 || sin <= 0.0 || sin >= 1.0 {
            return Err(self.misfit());
        }
        let kappa = sin.asin();
        Ok((kappa, self.corner + between * kappa.cos()))
    }

    fn misfit(&self) -> CutterError {
        let why = if self.corner >= self.arc_radius {
            format!("expected an arc larger than the corner of {} mm", self.corner)
        } else if self.offset <= self.r0 {
            "expected an arc larger than half the diameter".to_owned()
        } else {
            format!(
                "a corner of {} mm whose centre is {} mm from the axis reaches past the flank; make the corner or its offset smaller",
                self.corner, self.offset
            )
        };
        CutterError::ArcDoesNotMeetShank { arc_radius_mm: self.arc_radius, why }
    }

    /// Bottom, tip arc and flank arc up to the normal angle `end_rad`.
    pub(super) fn chain(&self, end_rad: f64) -> Result<Vec<Element>, CutterError> {
        let (kappa, z0) = self.junction()?;
        if end_rad <= kappa {
            return Err(CutterError::ArcDoesNotMeetShank {
                arc_radius_mm: self.arc_radius,
                why: format!(
                    "it begins at {:.4}° from the tip and would have to end at {:.4}°; make the corner, its offset or the taper smaller",
                    kappa.to_degrees(),
                    end_rad.to_degrees()
                ),
            });
        }
        let bottom = line((0.0, 0.0), (self.offset, 0.0));
        let tip = arc((self.offset, self.corner), self.corner, 0.0, kappa);
        let flank = arc((self.r0, z0), self.arc_radius, kappa, end_rad);
        Ok([bottom, tip, flank].into_iter().flatten().collect())
    }
}

/// Refuses a corner that half the diameter has no room for.
pub(super) fn check_corner(d: &Dims, corner: f64, offset: f64) -> Result<(), CutterError> {
    if corner + offset < d.radius {
        return Ok(());
    }
    Err(CutterError::CornerTooLarge {
        corner_radius_mm: corner,
        largest_mm: (d.radius - offset).max(0.0),
        why: "half the diameter less the corner's offset, with room for the flank arc",
    })
}

/// Normal angle on the cylinder.
pub(super) const CYLINDER: f64 = FRAC_PI_2;
