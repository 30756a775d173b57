//! Convex polygons in space.

use crate::Vec3;

/// What of a convex polygon lies where `depth`, which grows evenly in every direction, is not negative.
pub fn beyond(polygon: &[Vec3], depth: impl Fn(&Vec3) -> f64) -> Vec<Vec3> {
    let mut out = Vec::with_capacity(polygon.len() + 1);
    for (p, q) in polygon.iter().zip(polygon.iter().cycle().skip(1)) {
        let (a, b) = (depth(p), depth(q));
        if a >= 0.0 {
            out.push(*p);
        }
        if (a > 0.0 && b < 0.0) || (a < 0.0 && b > 0.0) {
            out.push(p.lerp(*q, a / (a - b)));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_corner_is_cut_off() {
        let triangle = [Vec3::ZERO, Vec3::X * 2.0, Vec3::Y * 2.0];
        let left = beyond(&triangle, |p| 1.0 - p.x);
        assert_eq!(left, [Vec3::ZERO, Vec3::X, Vec3::new(1.0, 1.0, 0.0), Vec3::Y * 2.0]);
        assert_eq!(beyond(&triangle, |p| p.x + 1.0), triangle);
        assert!(beyond(&triangle, |p| p.x - 3.0).is_empty());
    }
}
