//! Surfaces swept by a curve: along a direction, or about an axis.

use super::{Curve, Jet, Jet3};
use crate::{Affine3, Vec3};

/// `C(u) + v D`.
#[derive(Debug, Clone, PartialEq)]
pub struct Extrusion {
    /// The curve.
    pub curve: Curve,
    /// The direction, unit.
    pub direction: Vec3,
}

impl Extrusion {
    pub(super) fn jet3(&self, u: f64, v: f64) -> Jet3 {
        let c = self.curve.jet(u);
        Jet3 {
            duuu: c.d3,
            ..Jet3::of_second_order(Jet {
                p: c.p + self.direction * v,
                du: c.d1,
                dv: self.direction,
                duu: c.d2,
                duv: Vec3::ZERO,
                dvv: Vec3::ZERO,
            })
        }
    }

    pub(super) fn moved(&self, motion: &Affine3) -> Self {
        Self {
            curve: self.curve.moved(motion),
            direction: motion.transform_vector3(self.direction),
        }
    }
}

/// `C(v)` turned by `u` about an axis, right-handed.
#[derive(Debug, Clone, PartialEq)]
pub struct Revolution {
    /// The curve.
    pub curve: Curve,
    /// A point of the axis, mm.
    pub origin: Vec3,
    /// Direction of the axis, unit.
    pub axis: Vec3,
}

impl Revolution {
    pub(super) fn jet3(&self, u: f64, v: f64) -> Jet3 {
        let c = self.curve.jet(v);
        let turn = Turn::new(self.axis, u);
        let q = c.p - self.origin;
        Jet3 {
            jet: Jet {
                p: self.origin + turn.apply(q),
                du: turn.d1(q),
                dv: turn.apply(c.d1),
                duu: turn.d2(q),
                duv: turn.d1(c.d1),
                dvv: turn.apply(c.d2),
            },
            duuu: -turn.d1(q),
            duuv: turn.d2(c.d1),
            duvv: turn.d1(c.d2),
            dvvv: turn.apply(c.d3),
        }
    }

    pub(super) fn moved(&self, motion: &Affine3) -> Self {
        Self {
            curve: self.curve.moved(motion),
            origin: motion.transform_point3(self.origin),
            axis: motion.transform_vector3(self.axis),
        }
    }
}

/// A turn about an axis and its derivatives with respect to the angle.
struct Turn {
    axis: Vec3,
    sin: f64,
    cos: f64,
}

impl Turn {
    fn new(axis: Vec3, angle_rad: f64) -> Self {
        let (sin, cos) = angle_rad.sin_cos();
        Self { axis, sin, cos }
    }

    fn apply(&self, w: Vec3) -> Vec3 {
        let along = self.axis * self.axis.dot(w);
        along + (w - along) * self.cos + self.axis.cross(w) * self.sin
    }

    fn d1(&self, w: Vec3) -> Vec3 {
        let across = w - self.axis * self.axis.dot(w);
        self.axis.cross(w) * self.cos - across * self.sin
    }

    fn d2(&self, w: Vec3) -> Vec3 {
        let across = w - self.axis * self.axis.dot(w);
        -across * self.cos - self.axis.cross(w) * self.sin
    }
}
