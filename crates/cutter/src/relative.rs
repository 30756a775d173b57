//! Relative curvature of a cutter on a surface: gouge test, what a pass leaves, cusp and step-over.
//!
//! Near the contact the gap above the surface is `½ uᵀ M u` with `M = T - S`, the tool's curvature
//! tensor less the surface's (osculating contact). A pass along the unit tangent `t` leaves the
//! curvature `det M / (tᵀ M t)` across the feed: the least of the gap over all shifts along `t`.

use crate::contact::{Contact, kappa_between};
use geom::circle::{CircleError, Section};
use geom::{Site, Sym2, Vec3};

/// Curvature of a cutter relative to the surface it touches.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Relative {
    /// `M = T - S` in the basis (`along_profile`, `around`), 1/mm.
    pub m: Sym2,
    /// The surface's tensor in the same basis, 1/mm, positive where it rises towards the tool.
    pub surface: Sym2,
    /// Unit tangent along the profile, towards the shank.
    pub along_profile: Vec3,
    /// Unit tangent around the axis.
    pub around: Vec3,
    /// Shorter side of the arc left at the contact, mm.
    pub side_mm: f64,
    /// Principal curvature of the tool around the axis and along the profile, 1/mm.
    pub tool: Sym2,
}

impl Relative {
    /// At a site, for a unit axis and the contact at their angle. `None` where the axis points
    /// into the part along the normal or anything is not a number.
    pub fn at(site: &Site, axis: Vec3, contact: &Contact) -> Option<Self> {
        let (n, kappa) = (site.normal, kappa_between(site.normal, axis));
        let sin = kappa.sin();
        let (along_profile, around) = if sin > geom::tolerance::PARALLEL_RAD {
            let around = axis.cross(n).normalize();
            (n.cross(around), around)
        } else {
            (site.curvature.e1, site.curvature.e2)
        };
        let (profile, round) = contact.curvatures_per_mm();
        let tool = Sym2::diagonal(profile, round);
        let surface = site.curvature.in_basis(along_profile, around);
        let m = tool - surface;
        let ok = n.dot(axis) > -1.0 && m.det().is_finite() && m.trace().is_finite();
        ok.then_some(Self {
            m,
            surface,
            along_profile,
            around,
            side_mm: contact.shorter_side_mm(),
            tool,
        })
    }

    /// Whether the cutter is free of the surface near the contact: both eigenvalues positive.
    pub fn is_free(&self) -> bool {
        self.m.det() > 0.0 && self.m.trace() > 0.0
    }

    /// Curvature of the surface on which the cutter's tip stays while the cutter, its axis steady,
    /// moves over the surface in touch with it: `S + S M⁻¹ S`, in the basis (`along_profile`,
    /// `around`), 1/mm. From the least over `v` of `½ vᵀ T v − ½ (u + v)ᵀ S (u + v)`. `None` where
    /// the cutter is not free of the surface.
    pub fn climb(&self) -> Option<Sym2> {
        let inverse = self.m.inverse().filter(|_| self.is_free())?;
        Some(self.surface + inverse.congruent(self.surface))
    }

    /// Components of a direction's unit tangent along (profile, around).
    fn components(&self, direction: Vec3) -> Option<(f64, f64)> {
        let (x, y) = (direction.dot(self.along_profile), direction.dot(self.around));
        let length = x.hypot(y);
        (length > geom::tolerance::PARALLEL_RAD * direction.length())
            .then(|| (x / length, y / length))
    }

    /// Curvature that a pass along `feed` leaves across it, `det M / (tᵀ M t)`, 1/mm; `None` for a
    /// feed along the normal and where the cutter gouges along the feed.
    pub fn residual(&self, feed: Vec3) -> Option<f64> {
        let (x, y) = self.components(feed)?;
        let along = self.m.form(x, y);
        (along > 0.0).then(|| self.m.det() / along)
    }

    /// The largest residual-free step: the direction of feed that leaves the least curvature, unit.
    pub fn best_feed(&self) -> Vec3 {
        let (s, c) = self.m.eigen().angle_rad.sin_cos();
        self.along_profile * c + self.around * s
    }

    /// Step-over at this feed over the best step-over of any feed, `sqrt(k_best / k)`.
    pub fn share_of_best(&self, feed: Vec3) -> Option<f64> {
        self.residual(feed).map(|k| (self.m.eigen().small / k).sqrt())
    }

    /// Circles that stand for tool and surface in the plane across the feed: `R = 1/(k + S)` and
    /// `rho = -1/S`, with `S` the surface's curvature across the feed.
    pub fn section(&self, feed: Vec3) -> Result<Section, CircleError> {
        let gouges = |relative_per_mm| CircleError::GougesBeside { relative_per_mm };
        let (x, y) = self.components(feed).ok_or(gouges(0.0))?;
        if !self.is_free() {
            return Err(gouges(self.m.eigen().small));
        }
        let k = self.residual(feed).ok_or(gouges(0.0))?;
        Section::from_curvatures(k, self.surface.form(-y, x))
    }

    /// Cusp that passes along `feed`, `stepover_mm` apart along the surface, leave, mm. The arc is
    /// taken as endless: see [`Relative::band_stepover_mm`].
    pub fn cusp_for_stepover(&self, feed: Vec3, stepover_mm: f64) -> Result<f64, CircleError> {
        self.section(feed)?.cusp_mm(stepover_mm)
    }

    /// Step along the surface that leaves a cusp of `cusp_mm`, mm. The arc is taken as endless:
    /// see [`Relative::band_stepover_mm`].
    pub fn stepover_for_cusp(&self, feed: Vec3, cusp_mm: f64) -> Result<f64, CircleError> {
        self.section(feed)?.stepover_mm(cusp_mm)
    }

    /// Widest step at which the peak between two passes is still cut by the arc that touches, mm.
    /// The grazing point `w` beside the pass lies at `w (n - (M_tn / M_tt) t)`; what counts is its
    /// distance along the profile.
    pub fn band_stepover_mm(&self, feed: Vec3) -> Result<f64, CircleError> {
        let section = self.section(feed)?;
        let Some((x, y)) = self.components(feed) else {
            return Ok(0.0);
        };
        let along = self.m.form(x, y);
        let mixed = -x * y * self.m.xx + (x * x - y * y) * self.m.xy + x * y * self.m.yy;
        let per_width = (-y - mixed / along * x).abs();
        if self.side_mm.is_infinite() || per_width <= geom::tolerance::PARALLEL_RAD {
            return Ok(section.widest_stepover_mm());
        }
        Ok(section.band_stepover_mm(self.side_mm / per_width))
    }

    /// Step that leaves at most `cusp_mm` and keeps the peak on the arc, mm.
    pub fn usable_stepover_mm(&self, feed: Vec3, cusp_mm: f64) -> Result<f64, CircleError> {
        Ok(self.stepover_for_cusp(feed, cusp_mm)?.min(self.band_stepover_mm(feed)?))
    }

    /// How far the contact moves across the feed when the axis errs by `error_rad` about the feed,
    /// mm: `d / M_nn`.
    pub fn migration_mm(&self, feed: Vec3, error_rad: f64) -> Option<f64> {
        let (x, y) = self.components(feed)?;
        let across = self.m.form(-y, x);
        (across > 0.0).then(|| error_rad / across)
    }

    /// Height of the marks of single teeth along the feed, `feed_per_tooth_mm` apart, mm. With
    /// runout a cutter leaves one mark a revolution: then pass the feed per revolution.
    pub fn tooth_mark_mm(&self, feed: Vec3, feed_per_tooth_mm: f64) -> Result<f64, CircleError> {
        let (x, y) =
            self.components(feed).ok_or(CircleError::GougesBeside { relative_per_mm: 0.0 })?;
        let (k, s) = (self.m.form(x, y), self.surface.form(x, y));
        Section::from_curvatures(k, s)?.cusp_mm(feed_per_tooth_mm)
    }
}

/// Height by which an axis error lifts or sinks the surface, mm: the distance along the tangent
/// from the point that the rotation keeps to the contact, times the error.
pub fn lever_mm(kept_point: Vec3, contact: Vec3, normal: Vec3, error_rad: f64) -> f64 {
    let arm = contact - kept_point;
    (arm - normal * arm.dot(normal)).length() * error_rad.abs()
}
