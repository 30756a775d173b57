//! A pocket's outline in plan: what its walls and open sides leave to a cutter.
//!
//! The plan is floor and fillets seen along the pocket's axis, out to the upright walls. A border
//! edge from which the next face rises is a wall; over any other a cutter may leave the pocket.

use super::pocket::Pocket;
use crate::Part;
use geom::Vec3;
use geom::edges::MeshEdges;
use geom::tolerance::COINCIDENT_MM;
use planar::{Outline, Region};
use std::collections::BTreeMap;

/// A face stands upright where its normals keep to the floor's plane within this (sine).
const UPRIGHT: f64 = 0.02;
/// A hollow turn of the walls above this is a sharp corner and no chord of an arc, rad; wider than
/// the turns by which arcs are tessellated.
const SHARP_RAD: f64 = 0.6;

/// A pocket in plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Its outline, mm, in the plane across its axis.
    pub outline: Outline,
    /// Whether two walls meet in a hollow corner without a radius.
    pub has_sharp_corner: bool,
}

/// The plan of a pocket of the part. Arcs are the chords of the part's tessellation: off by at most
/// its deviation.
pub fn plan(part: &Part, pocket: &Pocket) -> Plan {
    let u = pocket.axis.any_orthonormal_vector();
    plan_along(part, pocket, [u, pocket.axis.cross(u)])
}

/// The plan in a basis of one's own across the pocket's axis (unit, right-handed with it).
pub fn plan_along(part: &Part, pocket: &Pocket, [u, v]: [Vec3; 2]) -> Plan {
    let flat = |p: Vec3| [p.dot(u), p.dot(v)];
    let mesh = &part.mesh;
    let is_plan: Vec<bool> = (0..mesh.face_of.len())
        .map(|t| {
            let [a, b, c] = mesh.corners(t);
            let up = (b - a).cross(c - a).normalize_or_zero().dot(pocket.axis);
            up > UPRIGHT && pocket.faces.contains(&(mesh.face_of[t] as usize))
        })
        .collect();
    let triangles = (0..is_plan.len()).filter(|t| is_plan[*t]);
    let loops: Vec<_> = triangles.map(|t| mesh.corners(t).map(flat).to_vec()).collect();
    let (mut walls, mut open) = (Vec::new(), Vec::new());
    let edges = MeshEdges::new(mesh);
    for e in 0..edges.len() {
        let [one, other] = edges.sides(e) else { continue };
        let (inner, outer) =
            match (is_plan[one.triangle as usize], is_plan[other.triangle as usize]) {
                (true, false) => (one, other),
                (false, true) => (other, one),
                _ => continue,
            };
        let [a, b] = edges.ends(e);
        let edge = if inner.forward { [a, b] } else { [b, a] };
        let height = |p: Vec3| p.dot(pocket.axis);
        let level = edge.map(|p| height(mesh.vertices[p as usize]));
        let top =
            mesh.corners(outer.triangle as usize).map(height).into_iter().fold(f64::MIN, f64::max);
        if top > level[0].max(level[1]) + COINCIDENT_MM {
            walls.push(edge)
        } else {
            open.push(edge)
        }
    }
    let line = |l: Vec<u32>| l.into_iter().map(|p| flat(mesh.vertices[p as usize])).collect();
    let lines = |edges| chains(edges).into_iter().map(line).collect::<Vec<Vec<[f64; 2]>>>();
    let outline =
        Outline { region: Region::of_pieces(&loops), walls: lines(walls), open: lines(open) };
    let has_sharp_corner = outline.walls.iter().any(|l| sharp(l));
    Plan { outline, has_sharp_corner }
}

/// Directed edges strung together, each used once.
fn chains(edges: Vec<[u32; 2]>) -> Vec<Vec<u32>> {
    let mut from: BTreeMap<u32, Vec<u32>> = BTreeMap::new();
    let mut enters: BTreeMap<u32, usize> = BTreeMap::new();
    for [a, b] in edges {
        from.entry(a).or_default().push(b);
        *enters.entry(b).or_default() += 1;
    }
    // open lines first, from their first points; what is left closes on itself
    let starts = from.keys().filter(|a| !enters.contains_key(a)).chain(from.keys());
    let starts: Vec<u32> = starts.copied().collect();
    let mut lines = Vec::new();
    for start in starts {
        while from.get(&start).is_some_and(|to| !to.is_empty()) {
            let mut line = vec![start];
            let mut at = start;
            while let Some(next) = from.get_mut(&at).and_then(Vec::pop) {
                line.push(next);
                at = next;
            }
            lines.push(line);
        }
    }
    lines
}

/// Whether a wall turns sharply towards the pocket, which lies on its left.
fn sharp(line: &[[f64; 2]]) -> bool {
    let closes = line.first() == line.last();
    let next = line.get(1).filter(|_| closes);
    let points: Vec<[f64; 2]> = line.iter().chain(next).copied().collect();
    points.windows(3).any(|w| {
        let (a, b) =
            ([w[1][0] - w[0][0], w[1][1] - w[0][1]], [w[2][0] - w[1][0], w[2][1] - w[1][1]]);
        (a[0] * b[1] - a[1] * b[0]).atan2(a[0] * b[0] + a[1] * b[1]) > SHARP_RAD
    })
}

#[cfg(test)]
mod tests {
    use crate::{ReadOptions, fact, read};

    /// A block of 40 × 30 × 20 mm with a recess of 20 × 10 × 8 mm in its top.
    const RECESSED: &str = "\
v 0 0 0\nv 40 0 0\nv 40 30 0\nv 0 30 0\nv 0 0 20\nv 40 0 20\nv 40 30 20\nv 0 30 20
v 10 10 20\nv 30 10 20\nv 30 20 20\nv 10 20 20\nv 10 10 12\nv 30 10 12\nv 30 20 12\nv 10 20 12
f 4 3 2 1\nf 1 2 6 5\nf 2 3 7 6\nf 3 4 8 7\nf 4 1 5 8
f 5 6 10 9\nf 6 7 11 10\nf 7 8 12 11\nf 8 5 9 12
f 9 10 14 13\nf 10 11 15 14\nf 11 12 16 15\nf 12 9 13 16\nf 13 14 15 16\n";

    #[test]
    fn a_recess_has_four_sharp_walls_and_no_open_side() {
        let part = read(RECESSED.as_bytes(), "recess.obj", &ReadOptions::default()).unwrap();
        let facts = fact::of_faces(&part);
        let found = fact::pockets(&part, &facts, &fact::Neighbours::new(&part));
        let plan = fact::plan(&part, &found[0]);
        assert!((plan.outline.region.area_mm2() - 200.0).abs() < 1e-3);
        assert_eq!((plan.outline.walls.len(), plan.outline.open.len()), (1, 0));
        assert!(plan.has_sharp_corner);
        let reached = planar::reach(&plan.outline, 2.0).covered.area_mm2();
        assert!((reached - (200.0 - (4.0 - std::f64::consts::PI) * 4.0)).abs() < 0.06, "{reached}");
    }
}
