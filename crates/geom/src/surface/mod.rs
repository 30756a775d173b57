//! Exact surfaces of CAD parts, evaluated to the second order everywhere.
//!
//! | file | holds |
//! | --- | --- |
//! | `jet` | position and derivatives; normal and curvature from them |
//! | `round` | plane, cylinder, cone, sphere, torus |
//! | `basis`, `nurbs` | B-splines and NURBS, curves and surfaces |
//! | `curve` | the curves that swept surfaces stand on |
//! | `swept` | extrusions and revolutions |
//! | `offset` | surfaces at a distance from another |
//! | `project` | closest points |
//!
//! Parameters follow ISO 10303-42, angles in rad. The natural normal is `du × dv`.

mod basis;
mod curve;
mod frame;
mod jet;
mod nurbs;
mod offset;
mod project;
mod round;
mod swept;

pub use curve::{Curve, CurveJet};
pub use frame::Frame;
pub use jet::{Jet, Jet3};
pub use nurbs::{Knots, NurbsCurve, NurbsError, NurbsSurface};
pub use offset::Offset;
pub use round::Round;
pub use swept::{Extrusion, Revolution};

use crate::{Affine3, Site, Vec2, Vec3};

/// Share of the parameter range by which a singular point is avoided when its normal is wanted.
const STEP_OFF_SINGULARITY: f64 = 1e-6;

/// An exact surface in the part's frame, mm.
#[derive(Debug, Clone, PartialEq)]
pub enum Surface {
    /// `O + u X + v Y`.
    Plane(Frame),
    /// Cylinder: `O + R (cos u X + sin u Y) + v Z`.
    Cylinder(Round),
    /// Cone: the radius grows with `v sin α`, the height with `v cos α`.
    Cone(Round),
    /// Sphere; `v` is the latitude.
    Sphere(Round),
    /// Torus; `v` goes round the tube.
    Torus(Round),
    /// B-spline, rational or not, periodic or not.
    Nurbs(Box<NurbsSurface>),
    /// A curve moved along a direction: `C(u) + v D`.
    Extrusion(Box<Extrusion>),
    /// A curve turned about an axis: `C(v)` turned by `u`.
    Revolution(Box<Revolution>),
    /// Another surface moved along its normal.
    Offset(Box<Offset>),
}

impl Surface {
    /// A cylinder of `radius_mm` about the frame's third axis.
    pub fn cylinder(frame: Frame, radius_mm: f64) -> Self {
        Self::Cylinder(Round::cylinder(frame, radius_mm))
    }

    /// A cone whose radius is `radius_mm` at the frame's origin and grows with `half_angle_rad`.
    pub fn cone(frame: Frame, radius_mm: f64, half_angle_rad: f64) -> Self {
        Self::Cone(Round::cone(frame, radius_mm, half_angle_rad))
    }

    /// A sphere about the frame's origin.
    pub fn sphere(frame: Frame, radius_mm: f64) -> Self {
        Self::Sphere(Round::sphere(frame, radius_mm))
    }

    /// A torus about the frame's third axis.
    pub fn torus(frame: Frame, major_mm: f64, minor_mm: f64) -> Self {
        Self::Torus(Round::torus(frame, major_mm, minor_mm))
    }

    /// The surface at `distance_mm` from `base` along its natural normal.
    pub fn offset(base: Self, distance_mm: f64) -> Self {
        Self::Offset(Box::new(Offset::new(base, distance_mm)))
    }

    /// Position and derivatives up to the second order at `(u, v)`, exact.
    pub fn jet(&self, u: f64, v: f64) -> Jet {
        match self {
            Self::Plane(frame) => frame.plane_jet(u, v),
            Self::Cylinder(r) | Self::Cone(r) | Self::Sphere(r) | Self::Torus(r) => {
                r.jet3(u, v).jet
            }
            Self::Nurbs(n) => n.jet(u, v),
            Self::Extrusion(e) => e.jet3(u, v).jet,
            Self::Revolution(r) => r.jet3(u, v).jet,
            Self::Offset(o) => o.jet(u, v),
        }
    }

    /// Position and derivatives up to the third order; `None` for an offset, whose own third
    /// order nothing needs (an offset of an offset is held as one offset).
    pub fn jet3(&self, u: f64, v: f64) -> Option<Jet3> {
        Some(match self {
            Self::Plane(frame) => Jet3::of_second_order(frame.plane_jet(u, v)),
            Self::Cylinder(r) | Self::Cone(r) | Self::Sphere(r) | Self::Torus(r) => r.jet3(u, v),
            Self::Nurbs(n) => n.jet3(u, v),
            Self::Extrusion(e) => e.jet3(u, v),
            Self::Revolution(r) => r.jet3(u, v),
            Self::Offset(_) => return None,
        })
    }

    /// Position at `(u, v)`, mm.
    pub fn point(&self, u: f64, v: f64) -> Vec3 {
        self.jet(u, v).p
    }

    /// Point, normal and curvature at `(u, v)`; `flip` where the face uses the other side.
    ///
    /// At a singular point (pole, apex, collapsed border) normal and curvature are those just
    /// beside it; `None` where there is none there either.
    pub fn site(&self, uv: Vec2, flip: bool) -> Option<Site> {
        let jet = self.jet(uv.x, uv.y);
        jet.site(flip).or_else(|| {
            let aside = self.beside(uv);
            let site = self.jet(aside.x, aside.y).site(flip)?;
            Some(Site { point: jet.p, ..site })
        })
    }

    /// The point a little towards the middle of the parameter range.
    fn beside(&self, uv: Vec2) -> Vec2 {
        let [du, dv] = self.domain();
        let towards = |x: f64, [lo, hi]: [f64; 2]| {
            if lo.is_finite() && hi.is_finite() {
                x + STEP_OFF_SINGULARITY * (0.5 * (lo + hi) - x)
            } else {
                x + STEP_OFF_SINGULARITY
            }
        };
        Vec2::new(towards(uv.x, du), towards(uv.y, dv))
    }

    /// Natural parameter range `[lo, hi]` along u and v; infinite where there is no end.
    pub fn domain(&self) -> [[f64; 2]; 2] {
        const ALL: [f64; 2] = [f64::NEG_INFINITY, f64::INFINITY];
        const TURN: [f64; 2] = [0.0, std::f64::consts::TAU];
        const LATITUDE: [f64; 2] = [-std::f64::consts::FRAC_PI_2, std::f64::consts::FRAC_PI_2];
        match self {
            Self::Plane(_) => [ALL, ALL],
            Self::Cylinder(_) | Self::Cone(_) => [TURN, ALL],
            Self::Sphere(_) => [TURN, LATITUDE],
            Self::Torus(_) => [TURN, TURN],
            Self::Nurbs(n) => n.domain(),
            Self::Extrusion(e) => [e.curve.domain(), ALL],
            Self::Revolution(r) => [TURN, r.curve.domain()],
            Self::Offset(o) => o.base().domain(),
        }
    }

    /// Period along u and v, where the surface closes on itself.
    pub fn period(&self) -> [Option<f64>; 2] {
        const TURN: Option<f64> = Some(std::f64::consts::TAU);
        match self {
            Self::Plane(_) => [None, None],
            Self::Cylinder(_) | Self::Cone(_) | Self::Sphere(_) => [TURN, None],
            Self::Torus(_) => [TURN, TURN],
            Self::Nurbs(n) => n.period(),
            Self::Extrusion(e) => [e.curve.period(), None],
            Self::Revolution(r) => [TURN, r.curve.period()],
            Self::Offset(o) => o.base().period(),
        }
    }

    /// The same surface moved by a rigid motion.
    pub fn moved(&self, motion: &Affine3) -> Self {
        match self {
            Self::Plane(f) => Self::Plane(f.moved(motion)),
            Self::Cylinder(r) => Self::Cylinder(r.moved(motion)),
            Self::Cone(r) => Self::Cone(r.moved(motion)),
            Self::Sphere(r) => Self::Sphere(r.moved(motion)),
            Self::Torus(r) => Self::Torus(r.moved(motion)),
            Self::Nurbs(n) => Self::Nurbs(Box::new(n.moved(motion))),
            Self::Extrusion(e) => Self::Extrusion(Box::new(e.moved(motion))),
            Self::Revolution(r) => Self::Revolution(Box::new(r.moved(motion))),
            Self::Offset(o) => Self::offset(o.base().moved(motion), o.distance_mm()),
        }
    }

    /// Parameters of the point of the surface closest to `p`, searched from `guess`; periodic
    /// parameters come back within half a period of it. `None` where the search fails.
    pub fn project(&self, p: Vec3, guess: Vec2) -> Option<Vec2> {
        project::project(self, p, guess)
    }
}

#[cfg(test)]
mod tests;
