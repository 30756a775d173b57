//! Fits a cylinder.

use super::turned::{CYLINDER, Turned};
use super::{Recognised, Region, judge};
use crate::model::FaceKind;
use geom::Vec3;
use geom::lsq::{LeastSquares, symmetric_eigen};
use geom::surface::Surface;

/// Steps of refining.
const STEPS: usize = 4;

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
        fit = fit.refined::<CYLINDER>(region)?;
    }
    let surface = Surface::cylinder(fit.frame()?, fit.radius_mm);
    judge(region, FaceKind::Cylinder, surface)
}

/// Circle through the vertices seen along the axis: |q|² = 2 c·q + k.
fn circle_across(region: &Region, axis: Vec3) -> Option<Turned> {
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
    (squared > 0.0).then(|| Turned {
        origin,
        axis,
        radius_mm: squared.sqrt() * region.size,
        half_angle_rad: 0.0,
    })
}
