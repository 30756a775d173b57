//! One triangle: closest point, distance, and the ray through it.

use crate::{Vec3, segment};

/// The point of a triangle closest to `p`, as barycentric weights of its corners.
///
/// Voronoi regions of corners and edges first, then the inside. A triangle without area is treated
/// as its three edges. Source: C. Ericson, Real-Time Collision Detection (2005), 5.1.5, from memory.
pub fn closest_weights([a, b, c]: [Vec3; 3], p: Vec3) -> [f64; 3] {
    let (ab, ac, ap) = (b - a, c - a, p - a);
    let (d1, d2) = (ab.dot(ap), ac.dot(ap));
    if d1 <= 0.0 && d2 <= 0.0 {
        return [1.0, 0.0, 0.0];
    }
    let bp = p - b;
    let (d3, d4) = (ab.dot(bp), ac.dot(bp));
    if d3 >= 0.0 && d4 <= d3 {
        return [0.0, 1.0, 0.0];
    }
    let vc = d1 * d4 - d3 * d2;
    if vc <= 0.0 && d1 >= 0.0 && d3 <= 0.0 && d1 > d3 {
        let v = d1 / (d1 - d3);
        return [1.0 - v, v, 0.0];
    }
    let cp = p - c;
    let (d5, d6) = (ab.dot(cp), ac.dot(cp));
    if d6 >= 0.0 && d5 <= d6 {
        return [0.0, 0.0, 1.0];
    }
    let vb = d5 * d2 - d1 * d6;
    if vb <= 0.0 && d2 >= 0.0 && d6 <= 0.0 && d2 > d6 {
        let w = d2 / (d2 - d6);
        return [1.0 - w, 0.0, w];
    }
    let va = d3 * d6 - d5 * d4;
    let (e4, e5) = (d4 - d3, d5 - d6);
    if va <= 0.0 && e4 >= 0.0 && e5 >= 0.0 && e4 + e5 > 0.0 {
        let w = e4 / (e4 + e5);
        return [0.0, 1.0 - w, w];
    }
    let sum = va + vb + vc;
    if sum > 0.0 && sum.is_finite() {
        return [1.0 - vb / sum - vc / sum, vb / sum, vc / sum];
    }
    closest_edge_weights([a, b, c], p)
}

/// Closest point on the three edges only, for triangles without area.
fn closest_edge_weights(corners: [Vec3; 3], p: Vec3) -> [f64; 3] {
    let mut best = ([1.0, 0.0, 0.0], f64::INFINITY);
    for i in 0..3 {
        let j = (i + 1) % 3;
        let w = segment::closest(p, [corners[i], corners[j]]);
        let distance = (corners[i].lerp(corners[j], w) - p).length_squared();
        if distance < best.1 {
            let mut weights = [0.0; 3];
            weights[i] = 1.0 - w;
            weights[j] = w;
            best = (weights, distance);
        }
    }
    best.0
}

/// The point with barycentric weights `w`.
pub fn at([a, b, c]: [Vec3; 3], w: [f64; 3]) -> Vec3 {
    a * w[0] + b * w[1] + c * w[2]
}

/// A ray made ready for many triangles: axes permuted and sheared so that it runs along +z.
///
/// Two triangles that share an edge cannot both be missed by a ray through that edge. Source:
/// S. Woop, C. Benthin, I. Wald, Watertight Ray/Triangle Intersection (2013), from memory.
#[derive(Debug, Clone, Copy)]
pub struct Ray {
    /// Start of the ray, mm.
    pub origin: Vec3,
    /// Direction, of any length but zero; `t` counts in its lengths.
    pub direction: Vec3,
    axes: [usize; 3],
    shear: [f64; 3],
}

impl Ray {
    /// A ray; `None` where the direction is zero or anything is not finite.
    pub fn new(origin: Vec3, direction: Vec3) -> Option<Self> {
        if !origin.is_finite() || !direction.is_finite() || direction == Vec3::ZERO {
            return None;
        }
        let size = direction.abs();
        let z = if size.x >= size.y && size.x >= size.z {
            0
        } else if size.y >= size.z {
            1
        } else {
            2
        };
        let (x, y) = ((z + 1) % 3, (z + 2) % 3);
        let (x, y) = if direction[z] < 0.0 { (y, x) } else { (x, y) };
        let dz = direction[z];
        let shear = [direction[x] / dz, direction[y] / dz, 1.0 / dz];
        Some(Self { origin, direction, axes: [x, y, z], shear })
    }

    /// Parameter and barycentric weights where the ray meets the triangle, from either side;
    /// a ray in the triangle's plane misses it.
    pub fn meet(&self, corners: [Vec3; 3]) -> Option<(f64, [f64; 3])> {
        let [x, y, z] = self.axes;
        let [sx, sy, sz] = self.shear;
        let flat = corners.map(|c| {
            let c = c - self.origin;
            (c[x] - sx * c[z], c[y] - sy * c[z], sz * c[z])
        });
        let [a, b, c] = flat;
        let u = c.0 * b.1 - c.1 * b.0;
        let v = a.0 * c.1 - a.1 * c.0;
        let w = b.0 * a.1 - b.1 * a.0;
        if (u < 0.0 || v < 0.0 || w < 0.0) && (u > 0.0 || v > 0.0 || w > 0.0) {
            return None;
        }
        let sum = u + v + w;
        if sum == 0.0 || !sum.is_finite() {
            return None;
        }
        let weights = [u / sum, v / sum, w / sum];
        let t = weights[0] * a.2 + weights[1] * b.2 + weights[2] * c.2;
        Some((t, weights))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const T: [Vec3; 3] = [Vec3::ZERO, Vec3::new(4.0, 0.0, 0.0), Vec3::new(0.0, 4.0, 0.0)];

    #[test]
    fn closest_point_falls_into_every_region() {
        let at_p = |x, y, z| at(T, closest_weights(T, Vec3::new(x, y, z)));
        assert_eq!(at_p(-1.0, -1.0, 1.0), Vec3::ZERO);
        assert_eq!(at_p(6.0, -1.0, 0.0), T[1]);
        assert_eq!(at_p(-1.0, 6.0, 0.0), T[2]);
        assert_eq!(at_p(1.0, -2.0, 0.0), Vec3::new(1.0, 0.0, 0.0));
        assert_eq!(at_p(-2.0, 1.0, 0.0), Vec3::new(0.0, 1.0, 0.0));
        assert_eq!(at_p(4.0, 4.0, 3.0), Vec3::new(2.0, 2.0, 0.0));
        assert_eq!(at_p(1.0, 1.0, -5.0), Vec3::new(1.0, 1.0, 0.0));
    }

    #[test]
    fn a_triangle_without_area_is_its_longest_edge() {
        let line = [Vec3::ZERO, Vec3::new(1.0, 0.0, 0.0), Vec3::new(3.0, 0.0, 0.0)];
        let p = at(line, closest_weights(line, Vec3::new(2.0, 1.0, 0.0)));
        assert!((p - Vec3::new(2.0, 0.0, 0.0)).length() < 1e-15);
        let point = [T[1]; 3];
        assert_eq!(at(point, closest_weights(point, Vec3::ZERO)), T[1]);
    }

    #[test]
    fn a_ray_through_a_shared_edge_meets_one_side_at_least() {
        let other = [T[1], T[0], Vec3::new(0.3, -3.7, 0.1)];
        let mut missed = 0;
        for i in 1..1000 {
            let on_edge = T[0].lerp(T[1], f64::from(i) / 1000.0);
            let from = Vec3::new(0.3, 0.7, 5.0);
            let ray = Ray::new(from, on_edge - from).expect("a direction");
            missed += usize::from(ray.meet(T).is_none() && ray.meet(other).is_none());
        }
        assert_eq!(missed, 0);
    }
}
