//! Straight segments in space or, with the same questions, in the plane.

use crate::{Vec2, Vec3};

/// Share in 0..=1 of the way from `a` to `b` at which a segment comes closest to `p`.
pub fn closest(p: Vec3, [a, b]: [Vec3; 2]) -> f64 {
    let along = b - a;
    let length_squared = along.length_squared();
    if length_squared > 0.0 { ((p - a).dot(along) / length_squared).clamp(0.0, 1.0) } else { 0.0 }
}

/// Distance of a point from a segment.
pub fn distance(p: Vec3, [a, b]: [Vec3; 2]) -> f64 {
    (p - a - (b - a) * closest(p, [a, b])).length()
}

/// Square of the distance of a point from a segment, in the plane.
pub fn distance_squared_in_plane(p: Vec2, [a, b]: [Vec2; 2]) -> f64 {
    let (along, to) = (b - a, p - a);
    let length_squared = along.length_squared();
    let share = if length_squared > 0.0 { to.dot(along) / length_squared } else { 0.0 };
    (to - along * share.clamp(0.0, 1.0)).length_squared()
}

/// Distance of a point from a segment, in the plane.
pub fn distance_in_plane(p: Vec2, side: [Vec2; 2]) -> f64 {
    distance_squared_in_plane(p, side).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn beside_beyond_and_at_a_single_point() {
        let side = [Vec3::ZERO, Vec3::X * 4.0];
        assert_eq!(closest(Vec3::new(1.0, 5.0, 0.0), side), 0.25);
        assert_eq!(distance(Vec3::new(7.0, 0.0, 4.0), side), 5.0);
        assert_eq!(distance(Vec3::Y * 2.0, [Vec3::ZERO; 2]), 2.0);
        assert_eq!(
            distance_squared_in_plane(Vec2::new(2.0, 3.0), [Vec2::ZERO, Vec2::X * 4.0]),
            9.0
        );
        assert_eq!(distance_squared_in_plane(Vec2::Y * 2.0, [Vec2::ZERO; 2]), 4.0);
    }
}
