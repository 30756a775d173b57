//! Fits a sphere and a cone.

use super::turned::{CONE, Turned};
use super::{Recognised, Region, frame_along, judge};
use crate::model::FaceKind;
use geom::Vec3;
use geom::lsq::{LeastSquares, symmetric_eigen};
use geom::surface::Surface;

/// Steps of refining.
const STEPS: usize = 6;

/// The sphere through the vertices: |q|² = 2 c·q + k.
pub(super) fn sphere(region: &Region) -> Option<Recognised> {
    let mut problem = LeastSquares::<4>::default();
    for p in region.sample() {
        let q = (p - region.middle) / region.size;
        problem.add(&[2.0 * q.x, 2.0 * q.y, 2.0 * q.z, 1.0], q.length_squared());
    }
    let s = problem.solve()?.x;
    let c = Vec3::new(s[0], s[1], s[2]);
    let squared = s[3] + c.length_squared();
    if squared.is_nan() || squared <= 0.0 {
        return None;
    }
    let mut centre = region.middle + c * region.size;
    let mut radius = squared.sqrt() * region.size;
    for _ in 0..2 {
        let mut problem = LeastSquares::<4>::default();
        for p in region.sample() {
            let e = (p - centre).normalize_or_zero();
            problem.add(&[e.x, e.y, e.z, 1.0], (p - centre).length() - radius);
        }
        let s = problem.solve()?.x;
        centre += Vec3::new(s[0], s[1], s[2]);
        radius += s[3];
    }
    let surface = Surface::sphere(frame_along(centre, Vec3::Z)?, radius);
    judge(region, FaceKind::Sphere, surface)
}

/// The cone that the region lies on. Its normals lie on a circle of the unit sphere, whose axis
/// is the cone's; apex and angle follow, and all are then refined together.
pub(super) fn cone(region: &Region) -> Option<Recognised> {
    let total: f64 = region.facets.iter().map(|f| f.1).sum();
    let mean = region.mean_normal() / total;
    let (values, vectors) = symmetric_eigen(region.normal_matrix(mean));
    if values[0] > 0.05 * values[2] {
        return None;
    }
    let axis = vectors[0];
    let sine = mean.dot(axis);
    if sine.abs() >= 1.0 {
        return None;
    }
    // every facet's plane passes through the apex
    let mut problem = LeastSquares::<3>::default();
    for (n, _, p) in &region.facets {
        problem.add(&n.to_array(), n.dot(*p - region.middle));
    }
    let apex = region.middle + Vec3::from_array(problem.solve()?.x);
    // the axis runs from the apex into the region, the frame stands in the region's middle
    let axis = if (region.middle - apex).dot(axis) < 0.0 { -axis } else { axis };
    let height = (region.middle - apex).dot(axis);
    let half_angle_rad = sine.abs().asin();
    let mut fit = Turned {
        origin: apex + axis * height,
        axis,
        radius_mm: height * half_angle_rad.tan(),
        half_angle_rad,
    };
    for _ in 0..STEPS {
        fit = fit.refined::<CONE>(region)?;
    }
    if !(fit.radius_mm > 0.0 && fit.half_angle_rad > 0.0 && fit.half_angle_rad < 1.55) {
        return None;
    }
    judge(region, FaceKind::Cone, Surface::cone(fit.frame()?, fit.radius_mm, fit.half_angle_rad))
}
