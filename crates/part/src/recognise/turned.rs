//! Refines cones and cylinders: a cylinder is a cone whose angle is held at zero.

use super::{Region, frame_along};
use geom::Vec3;
use geom::lsq::LeastSquares;
use geom::surface::Frame;

/// Unknowns of a cylinder: two shifts, two tilts, the radius.
pub(super) const CYLINDER: usize = 5;
/// Unknowns of a cone: the angle too.
pub(super) const CONE: usize = 6;

/// A cone or cylinder.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Turned {
    pub(super) origin: Vec3,
    pub(super) axis: Vec3,
    /// Radius at the origin, mm.
    pub(super) radius_mm: f64,
    pub(super) half_angle_rad: f64,
}

impl Turned {
    /// A frame on the axis, at the origin.
    pub(super) fn frame(&self) -> Option<Frame> {
        frame_along(self.origin, self.axis)
    }

    /// One Gauss–Newton step on the distances of the vertices, in the first `N` unknowns:
    /// [`CYLINDER`] or [`CONE`].
    pub(super) fn refined<const N: usize>(&self, region: &Region) -> Option<Self> {
        let x = self.axis.any_orthonormal_vector();
        let (u, v) = (x, self.axis.cross(x));
        let (sin, cos) = self.half_angle_rad.sin_cos();
        let mut problem = LeastSquares::<N>::default();
        for p in region.sample() {
            let d = p - self.origin;
            let h = d.dot(self.axis);
            let across = d - self.axis * h;
            let r = across.length();
            if r == 0.0 {
                continue;
            }
            let (eu, ev) = (across.dot(u) / r, across.dot(v) / r);
            let tilt = h * cos + r * sin;
            let turn = (r - self.radius_mm) * sin + h * cos;
            let row = [eu * cos, ev * cos, eu * tilt, ev * tilt, cos, turn];
            problem.add(&std::array::from_fn(|k| row[k]), (r - self.radius_mm) * cos - h * sin);
        }
        let s = problem.solve()?.x;
        Some(Self {
            origin: self.origin + u * s[0] + v * s[1],
            axis: (self.axis + u * s[2] + v * s[3]).try_normalize()?,
            radius_mm: self.radius_mm + s[4],
            half_angle_rad: self.half_angle_rad + s.get(5).copied().unwrap_or(0.0),
        })
    }
}
