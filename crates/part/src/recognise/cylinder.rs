//! Fits a cylinder.

use super::{Recognised, Region, frame_along, judge};
use crate::model::FaceKind;
use geom::Vec3;
use geom::lsq::{LeastSquares, symmetric_eigen};
use geom::surface::Surface;

/// Steps of refining.
const STEPS: usize = 4;

struct Cylinder {
    origin: Vec3,
    axis: Vec3,
    radius_mm: f64,
}

/// The cylinder that the region lies on. The axis is the direction that the normals avoid; the
/// circle across it is fitted to the vertices; both are then refined together.
pub(super) fn cylinder(region: &Region) -> Option<Recognised> {
    let (values, vectors) = symmetric_eigen(region.normal_matrix(Vec3::ZERO));
    // normals of a cylinder lie in one plane
    if values[0] > 0.02 * values[2] {
        return None;
    }
    let mut fit = circle_across(region, vectors[0])?;
    for _ in 0..STEPS {
        fit = refined(region, &fit)?;
    }
    let surface = Surface::cylinder(frame_along(fit.origin, fit.axis)?, fit.radius_mm);
    judge(region, FaceKind::Cylinder, surface)
}

/// Circle through the vertices seen along the axis: |q|² = 2 c·q + k.
fn circle_across(region: &Region, axis: Vec3) -> Option<Cylinder> {
    let (u, v) = (axis.any_orthonormal_vector(), axis.cross(axis.any_orthonormal_vector()));
    let mut problem = LeastSquares::<3>::default();
    for p in region.sample() {
        let q = (p - region.middle) / region.size;
        let (x, y) = (q.dot(u), q.dot(v));
        problem.add(&[2.0 * x, 2.0 * y, 1.0], x * x + y * y);
    }
    let s = problem.solve()?.x;
    let squared = s[2] + s[0] * s[0] + s[1] * s[1];
    let origin = region.middle + (u * s[0] + v * s[1]) * region.size;
    (squared > 0.0).then(|| Cylinder { origin, axis, radius_mm: squared.sqrt() * region.size })
}

/// One Gauss–Newton step on the distances of the vertices.
fn refined(region: &Region, c: &Cylinder) -> Option<Cylinder> {
    let (u, v) = (c.axis.any_orthonormal_vector(), c.axis.cross(c.axis.any_orthonormal_vector()));
    let mut problem = LeastSquares::<5>::default();
    for p in region.sample() {
        let d = p - c.origin;
        let h = d.dot(c.axis);
        let across = d - c.axis * h;
        let r = across.length();
        if r == 0.0 {
            continue;
        }
        let (eu, ev) = (across.dot(u) / r, across.dot(v) / r);
        problem.add(&[eu, ev, h * eu, h * ev, 1.0], r - c.radius_mm);
    }
    let s = problem.solve()?.x;
    Some(Cylinder {
        origin: c.origin + u * s[0] + v * s[1],
        axis: (c.axis + u * s[2] + v * s[3]).try_normalize()?,
        radius_mm: c.radius_mm + s[4],
    })
}
