//! Whether two triangles run through each other.

use crate::Vec3;

/// How two triangles that share no corner lie to each other.
///
/// True where they cross or, lying in one plane, overlap by more than `slack_mm`; a touch within
/// the slack is none. The test is by sides of planes: an edge of one passes through the inside of
/// the other.
pub fn triangles_cross(a: [Vec3; 3], b: [Vec3; 3], slack_mm: f64) -> bool {
    let (Some(na), Some(nb)) = (unit_normal(a), unit_normal(b)) else { return false };
    let (da, db) = (heights(a, b[0], nb), heights(b, a[0], na));
    if one_sided(da, slack_mm) || one_sided(db, slack_mm) {
        return false;
    }
    if flat(da, slack_mm) || flat(db, slack_mm) {
        return overlap_in_plane(a, b, na, slack_mm);
    }
    edges_pierce(a, da, b, nb, slack_mm) || edges_pierce(b, db, a, na, slack_mm)
}

/// The same for two triangles that share their first corner: true where the edge opposite to it in
/// one passes through the inside of the other.
pub fn fans_cross(a: [Vec3; 3], b: [Vec3; 3], slack_mm: f64) -> bool {
    let (Some(na), Some(nb)) = (unit_normal(a), unit_normal(b)) else { return false };
    let pierces = |from: Vec3, to: Vec3, t: [Vec3; 3], n: Vec3| {
        segment_pierces(from, (from - t[0]).dot(n), to, (to - t[0]).dot(n), t, n, slack_mm)
    };
    pierces(a[1], a[2], b, nb) || pierces(b[1], b[2], a, na)
}

fn unit_normal([a, b, c]: [Vec3; 3]) -> Option<Vec3> {
    (b - a).cross(c - a).try_normalize()
}

fn heights(t: [Vec3; 3], origin: Vec3, normal: Vec3) -> [f64; 3] {
    t.map(|p| (p - origin).dot(normal))
}

fn one_sided(d: [f64; 3], slack: f64) -> bool {
    let touching = d.iter().filter(|x| x.abs() <= slack).count();
    touching < 3 && (d.iter().all(|x| *x > -slack) || d.iter().all(|x| *x < slack))
}

fn flat(d: [f64; 3], slack: f64) -> bool {
    d.iter().all(|x| x.abs() <= slack)
}

fn edges_pierce(a: [Vec3; 3], da: [f64; 3], b: [Vec3; 3], nb: Vec3, slack: f64) -> bool {
    (0..3).any(|k| {
        let m = (k + 1) % 3;
        segment_pierces(a[k], da[k], a[m], da[m], b, nb, slack)
    })
}

/// Whether a segment, with the heights of its ends over the triangle's plane, passes through the
/// inside of the triangle.
fn segment_pierces(
    from: Vec3,
    h_from: f64,
    to: Vec3,
    h_to: f64,
    t: [Vec3; 3],
    normal: Vec3,
    slack: f64,
) -> bool {
    if !((h_from > slack && h_to < -slack) || (h_from < -slack && h_to > slack)) {
        return false;
    }
    let p = from.lerp(to, h_from / (h_from - h_to));
    depth_inside(p, t, normal) > slack
}

/// Distance of a point in the triangle's plane from its nearest edge, negative outside.
fn depth_inside(p: Vec3, t: [Vec3; 3], normal: Vec3) -> f64 {
    (0..3)
        .map(|k| {
            let along = (t[(k + 1) % 3] - t[k]).normalize_or_zero();
            normal.cross(along).dot(p - t[k])
        })
        .fold(f64::INFINITY, f64::min)
}

fn overlap_in_plane(a: [Vec3; 3], b: [Vec3; 3], normal: Vec3, slack: f64) -> bool {
    // separating lines in the plane: the edges of both
    let separated = |p: [Vec3; 3], q: [Vec3; 3]| {
        let middle = (p[0] + p[1] + p[2]) / 3.0;
        (0..3).any(|k| {
            let along = (p[(k + 1) % 3] - p[k]).normalize_or_zero();
            let mut out = along.cross(normal);
            if out.dot(middle - p[k]) > 0.0 {
                out = -out;
            }
            q.iter().all(|v| out.dot(*v - p[k]) > -slack)
        })
    };
    !separated(a, b) && !separated(b, a)
}

#[cfg(test)]
mod tests {
    use super::*;

    const FLAT: [Vec3; 3] = [Vec3::ZERO, Vec3::new(4.0, 0.0, 0.0), Vec3::new(0.0, 4.0, 0.0)];

    fn moved(t: [Vec3; 3], by: Vec3) -> [Vec3; 3] {
        t.map(|p| p + by)
    }

    #[test]
    fn a_blade_through_the_middle_crosses_and_one_beside_does_not() {
        let blade = [Vec3::new(1.0, 1.0, -1.0), Vec3::new(1.0, 1.2, 1.0), Vec3::new(1.2, 1.0, 1.0)];
        assert!(triangles_cross(FLAT, blade, 1e-6) && triangles_cross(blade, FLAT, 1e-6));
        assert!(!triangles_cross(FLAT, moved(blade, Vec3::new(3.0, 3.0, 0.0)), 1e-6));
        assert!(!triangles_cross(FLAT, moved(blade, Vec3::new(0.0, 0.0, 1.0)), 1e-6));
    }

    #[test]
    fn in_one_plane_only_an_overlap_counts() {
        assert!(triangles_cross(FLAT, moved(FLAT, Vec3::new(0.5, 0.5, 0.0)), 1e-6));
        assert!(!triangles_cross(FLAT, moved(FLAT, Vec3::new(4.0, 0.0, 0.0)), 1e-6));
        assert!(!triangles_cross(FLAT, moved(FLAT, Vec3::new(0.0, 0.0, 1e-3)), 1e-6));
    }

    #[test]
    fn a_fan_that_folds_back_through_its_neighbour_crosses() {
        let through = [Vec3::ZERO, Vec3::new(1.0, 1.0, -1.0), Vec3::new(1.0, 1.0, 1.0)];
        let beside = [Vec3::ZERO, Vec3::new(-1.0, 1.0, -1.0), Vec3::new(-1.0, 1.0, 1.0)];
        assert!(fans_cross(FLAT, through, 1e-6));
        assert!(!fans_cross(FLAT, beside, 1e-6));
    }
}
