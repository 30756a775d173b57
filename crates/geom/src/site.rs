//! A point of the part's surface with all that contact needs: position, normal, curvature.

use crate::{Sym2, Vec3};

/// A symmetric tensor of the tangent plane, in an orthonormal tangent basis held in 3-D.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TangentTensor {
    /// First tangent unit vector.
    pub e1: Vec3,
    /// Second tangent unit vector; `e1 × e2` is the normal.
    pub e2: Vec3,
    /// Entries in that basis, 1/mm.
    pub entries: Sym2,
}

impl TangentTensor {
    /// Curvature along a tangent unit vector.
    pub fn along(&self, direction: Vec3) -> f64 {
        self.entries.form(direction.dot(self.e1), direction.dot(self.e2))
    }

    /// Entries in another orthonormal basis of the same tangent plane.
    pub fn in_basis(&self, a: Vec3, b: Vec3) -> Sym2 {
        let (a1, a2) = (a.dot(self.e1), a.dot(self.e2));
        let (b1, b2) = (b.dot(self.e1), b.dot(self.e2));
        let t = self.entries;
        Sym2::new(
            t.form(a1, a2),
            a1 * b1 * t.xx + (a1 * b2 + a2 * b1) * t.xy + a2 * b2 * t.yy,
            t.form(b1, b2),
        )
    }

    /// Direction of the larger eigenvalue and of the smaller one, unit vectors.
    pub fn directions(&self) -> (Vec3, Vec3) {
        let (s, c) = self.entries.eigen().angle_rad.sin_cos();
        (self.e1 * c + self.e2 * s, self.e2 * c - self.e1 * s)
    }
}

/// A point on a face, its outward normal and its curvature tensor (positive: rises towards the
/// tool, that is, concave).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Site {
    /// Position in the part's frame, mm.
    pub point: Vec3,
    /// Unit normal out of the material.
    pub normal: Vec3,
    /// Curvature tensor, 1/mm.
    pub curvature: TangentTensor,
}
