//! The curves that extrusions and revolutions stand on.

use super::{Frame, NurbsCurve};
use crate::{Affine3, Vec3};

/// A curve in space, mm. Parameters follow ISO 10303-42.
#[derive(Debug, Clone, PartialEq)]
pub enum Curve {
    /// `O + t D`.
    Line {
        /// Origin, mm.
        origin: Vec3,
        /// Direction, unit.
        direction: Vec3,
    },
    /// `O + a cos t X + b sin t Y`: a circle where both are equal.
    Ellipse {
        /// Placement.
        frame: Frame,
        /// Half axis along x, mm.
        a_mm: f64,
        /// Half axis along y, mm.
        b_mm: f64,
    },
    /// `O + a cosh t X + b sinh t Y`.
    Hyperbola {
        /// Placement.
        frame: Frame,
        /// Half axis along x, mm.
        a_mm: f64,
        /// Half axis along y, mm.
        b_mm: f64,
    },
    /// `O + t²/(4 f) X + t Y`.
    Parabola {
        /// Placement.
        frame: Frame,
        /// Focal length, mm.
        focal_mm: f64,
    },
    /// B-spline, rational or not.
    Nurbs(NurbsCurve),
}

/// Position and derivatives up to the third order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CurveJet {
    /// Position, mm.
    pub p: Vec3,
    /// First derivative.
    pub d1: Vec3,
    /// Second derivative.
    pub d2: Vec3,
    /// Third derivative.
    pub d3: Vec3,
}

impl Curve {
    /// Position and derivatives at `t`.
    pub fn jet(&self, t: f64) -> CurveJet {
        match self {
            Self::Line { origin, direction } => CurveJet {
                p: *origin + *direction * t,
                d1: *direction,
                d2: Vec3::ZERO,
                d3: Vec3::ZERO,
            },
            Self::Ellipse { frame, a_mm, b_mm } => {
                let (s, c) = t.sin_cos();
                let (out, round) = (
                    frame.x * (a_mm * c) + frame.y * (b_mm * s),
                    frame.y * (b_mm * c) - frame.x * (a_mm * s),
                );
                CurveJet { p: frame.origin + out, d1: round, d2: -out, d3: -round }
            }
            Self::Hyperbola { frame, a_mm, b_mm } => {
                let (s, c) = (t.sinh(), t.cosh());
                let (out, along) = (
                    frame.x * (a_mm * c) + frame.y * (b_mm * s),
                    frame.x * (a_mm * s) + frame.y * (b_mm * c),
                );
                CurveJet { p: frame.origin + out, d1: along, d2: out, d3: along }
            }
            Self::Parabola { frame, focal_mm } => CurveJet {
                p: frame.origin + frame.x * (t * t / (4.0 * focal_mm)) + frame.y * t,
                d1: frame.x * (t / (2.0 * focal_mm)) + frame.y,
                d2: frame.x / (2.0 * focal_mm),
                d3: Vec3::ZERO,
            },
            Self::Nurbs(n) => n.jet(t),
        }
    }

    /// Natural parameter range.
    pub fn domain(&self) -> [f64; 2] {
        match self {
            Self::Ellipse { .. } => [0.0, std::f64::consts::TAU],
            Self::Nurbs(n) => n.domain(),
            _ => [f64::NEG_INFINITY, f64::INFINITY],
        }
    }

    /// Period, where the curve closes on itself.
    pub fn period(&self) -> Option<f64> {
        match self {
            Self::Ellipse { .. } => Some(std::f64::consts::TAU),
            Self::Nurbs(n) => n.period(),
            _ => None,
        }
    }

    pub(super) fn moved(&self, motion: &Affine3) -> Self {
        match self.clone() {
            Self::Line { origin, direction } => Self::Line {
                origin: motion.transform_point3(origin),
                direction: motion.transform_vector3(direction),
            },
            Self::Ellipse { frame, a_mm, b_mm } => {
                Self::Ellipse { frame: frame.moved(motion), a_mm, b_mm }
            }
            Self::Hyperbola { frame, a_mm, b_mm } => {
                Self::Hyperbola { frame: frame.moved(motion), a_mm, b_mm }
            }
            Self::Parabola { frame, focal_mm } => {
                Self::Parabola { frame: frame.moved(motion), focal_mm }
            }
            Self::Nurbs(n) => Self::Nurbs(n.moved(motion)),
        }
    }
}
