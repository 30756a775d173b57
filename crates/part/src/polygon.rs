//! A polygon of a mesh file into triangles.

use geom::Vec3;

/// Cuts a polygon, given by its corners in order, into triangles of corner places, keeping its
/// turn. Convex ones become a fan; others are cut ear by ear in the plane of their mean normal.
pub(crate) fn triangulate(corners: &[Vec3]) -> Vec<[usize; 3]> {
    let n = corners.len();
    if n < 3 {
        return Vec::new();
    }
    let normal = newell(corners);
    if n == 3 || is_convex(corners, normal) {
        return (1..n - 1).map(|k| [0, k, k + 1]).collect();
    }
    let mut left: Vec<usize> = (0..n).collect();
    let mut triangles = Vec::with_capacity(n - 2);
    while left.len() > 3 {
        let m = left.len();
        let corner = |k: usize| [left[(k + m - 1) % m], left[k], left[(k + 1) % m]];
        // without an ear (a polygon that crosses itself) the first corner goes
        let ear = (0..m).find(|&k| is_ear(corners, &left, corner(k), normal)).unwrap_or(0);
        triangles.push(corner(ear));
        left.remove(ear);
    }
    triangles.push([left[0], left[1], left[2]]);
    triangles
}

/// Twice the area of the polygon along its mean normal.
fn newell(corners: &[Vec3]) -> Vec3 {
    let origin = corners[0];
    (1..corners.len() - 1).map(|k| (corners[k] - origin).cross(corners[k + 1] - origin)).sum()
}

fn turn(corners: &[Vec3], [a, b, c]: [usize; 3], normal: Vec3) -> f64 {
    (corners[b] - corners[a]).cross(corners[c] - corners[b]).dot(normal)
}

fn is_convex(corners: &[Vec3], normal: Vec3) -> bool {
    let n = corners.len();
    (0..n).all(|k| turn(corners, [k, (k + 1) % n, (k + 2) % n], normal) >= 0.0)
}

fn is_ear(corners: &[Vec3], left: &[usize], ear: [usize; 3], normal: Vec3) -> bool {
    if turn(corners, ear, normal) <= 0.0 {
        return false;
    }
    let [a, b, c] = ear;
    left.iter()
        .filter(|p| !ear.contains(p))
        .all(|&p| [[a, b, p], [b, c, p], [c, a, p]].iter().any(|&t| turn(corners, t, normal) < 0.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn area(corners: &[Vec3]) -> (usize, f64) {
        let cut = triangulate(corners);
        let twice =
            |t: &[usize; 3]| (corners[t[1]] - corners[t[0]]).cross(corners[t[2]] - corners[t[0]]).z;
        assert!(cut.iter().all(|t| twice(t) > 0.0), "a triangle is turned over");
        (cut.len(), cut.iter().map(|t| 0.5 * twice(t)).sum())
    }

    #[test]
    fn an_l_keeps_its_area_and_its_turn() {
        let l: Vec<Vec3> = [(0, 0), (4, 0), (4, 1), (1, 1), (1, 3), (0, 3)]
            .map(|(x, y)| Vec3::new(f64::from(x), f64::from(y), 0.0))
            .to_vec();
        for first in 0..6 {
            let mut turned = l.clone();
            turned.rotate_left(first);
            assert_eq!(area(&turned), (4, 6.0));
        }
    }

    #[test]
    fn fewer_than_three_corners_are_nothing() {
        assert!(triangulate(&[Vec3::ZERO, Vec3::X]).is_empty());
    }
}
