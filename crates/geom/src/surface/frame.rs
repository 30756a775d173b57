//! Placements of elementary surfaces: an origin and three axes, either-handed.

use super::Jet;
use crate::{Affine3, Vec3};

/// Origin and orthonormal axes. CAD files may place a surface in a left-handed frame, so the
/// second axis is kept and not computed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// Origin, mm.
    pub origin: Vec3,
    /// First axis, unit.
    pub x: Vec3,
    /// Second axis, unit.
    pub y: Vec3,
    /// Third axis, unit.
    pub z: Vec3,
}

impl Frame {
    /// The part's own frame.
    pub const WORLD: Self = Self { origin: Vec3::ZERO, x: Vec3::X, y: Vec3::Y, z: Vec3::Z };

    /// The same frame moved by a rigid motion.
    pub fn moved(&self, motion: &Affine3) -> Self {
        Self {
            origin: motion.transform_point3(self.origin),
            x: motion.transform_vector3(self.x),
            y: motion.transform_vector3(self.y),
            z: motion.transform_vector3(self.z),
        }
    }

    /// Coordinates of `p` in this frame, mm.
    pub fn local(&self, p: Vec3) -> Vec3 {
        let q = p - self.origin;
        Vec3::new(q.dot(self.x), q.dot(self.y), q.dot(self.z))
    }

    pub(super) fn plane_jet(&self, u: f64, v: f64) -> Jet {
        Jet {
            p: self.origin + self.x * u + self.y * v,
            du: self.x,
            dv: self.y,
            duu: Vec3::ZERO,
            duv: Vec3::ZERO,
            dvv: Vec3::ZERO,
        }
    }
}
