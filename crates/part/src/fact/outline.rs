//! A pocket's outline in plan: what its walls and open sides leave to a cutter.
//!
//! The plan is floor and fillets seen along the pocket's axis, out to the walls; of a pocket that goes
//! through, what its walls leave open at their lower end. A border edge from which the next face rises
//! is a wall; over any other a cutter may leave the pocket.

use super::pocket::Pocket;
use crate::Part;
use geom::Vec3;
use geom::edges::MeshEdges;
use geom::tolerance::COINCIDENT_MM;
use planar::{Outline, Region};
use std::collections::BTreeMap;

/// Sine above which a triangle of floor or fillet looks up at all.
const UPWARDS: f64 = 1e-6;
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
    let mesh = &part.mesh;
    let flat = |p: u32| [mesh.vertices[p as usize].dot(u), mesh.vertices[p as usize].dot(v)];
    let edges = MeshEdges::new(mesh);
    let lines = |edges: Vec<[u32; 2]>| -> Vec<Vec<[f64; 2]>> {
        chains(edges).into_iter().map(|l| l.into_iter().map(flat).collect()).collect()
    };
    let outline = match pocket.floor {
        Some(_) => {
            let floor = Floor::new(part, pocket);
            let (walls, open) = floor.border(part, &edges, pocket.axis);
            let region = Region::of_pieces(&floor.pieces(part, flat));
            Outline { region, walls: lines(walls), open: lines(open) }
        }
        None => {
            let walls = lines(lower_rim(part, &edges, pocket));
            Outline { region: Region::of_loops(&walls), walls, open: Vec::new() }
        }
    };
    let has_sharp_corner = outline.walls.iter().any(|l| sharp(l));
    Plan { outline, has_sharp_corner }
}

impl Plan {
    /// Length of border over which a cutter may leave the pocket, mm.
    pub fn open_mm(&self) -> f64 {
        let length = |l: &Vec<[f64; 2]>| {
            l.windows(2).map(|w| (w[1][0] - w[0][0]).hypot(w[1][1] - w[0][1])).sum::<f64>()
        };
        self.outline.open.iter().map(length).sum()
    }

    /// Walls that close round something inside the pocket.
    pub fn islands(&self) -> usize {
        let closed = |l: &&Vec<[f64; 2]>| l.first() == l.last();
        self.outline.walls.iter().filter(closed).filter(|l| turned_area(l) < 0.0).count()
    }
}

/// Which triangles of the part are floor and fillets of a pocket.
struct Floor(Vec<bool>);

impl Floor {
    fn new(part: &Part, pocket: &Pocket) -> Self {
        let mesh = &part.mesh;
        let is_floor = |f: usize| pocket.faces.contains(&f) && !pocket.walls.contains(&f);
        let triangle = |t: usize| {
            let [a, b, c] = mesh.corners(t);
            let up = (b - a).cross(c - a).normalize_or_zero().dot(pocket.axis);
            up > UPWARDS && is_floor(mesh.face_of[t] as usize)
        };
        Self((0..mesh.face_of.len()).map(triangle).collect())
    }

    fn pieces(&self, part: &Part, flat: impl Fn(u32) -> [f64; 2]) -> Vec<Vec<[f64; 2]>> {
        let triangles = (0..self.0.len()).filter(|t| self.0[*t]);
        triangles.map(|t| part.mesh.triangles[t].map(&flat).to_vec()).collect()
    }

    /// The directed edges from which walls rise, and those that are open.
    fn border(&self, part: &Part, edges: &MeshEdges, axis: Vec3) -> (Vec<[u32; 2]>, Vec<[u32; 2]>) {
        let mesh = &part.mesh;
        let (mut walls, mut open) = (Vec::new(), Vec::new());
        for e in 0..edges.len() {
            let [one, other] = edges.sides(e) else { continue };
            let (inner, outer) =
                match (self.0[one.triangle as usize], self.0[other.triangle as usize]) {
                    (true, false) => (one, other),
                    (false, true) => (other, one),
                    _ => continue,
                };
            let [a, b] = edges.ends(e);
            let edge = if inner.forward { [a, b] } else { [b, a] };
            let height = |p: Vec3| p.dot(axis);
            let level = edge.map(|p| height(mesh.vertices[p as usize]));
            let corners = mesh.corners(outer.triangle as usize).map(height);
            let top = corners.into_iter().fold(f64::MIN, f64::max);
            if top > level[0].max(level[1]) + COINCIDENT_MM {
                walls.push(edge)
            } else {
                open.push(edge)
            }
        }
        (walls, open)
    }
}

/// The directed edges at which the walls of a pocket that goes through end below, the pocket on their
/// left seen along its axis.
fn lower_rim(part: &Part, edges: &MeshEdges, pocket: &Pocket) -> Vec<[u32; 2]> {
    let mesh = &part.mesh;
    let height = |p: u32| mesh.vertices[p as usize].dot(pocket.axis);
    let is_wall = |t: u32| pocket.faces.contains(&(mesh.face_of[t as usize] as usize));
    let mut rim = Vec::new();
    for e in 0..edges.len() {
        let [one, other] = edges.sides(e) else { continue };
        let inner = match (is_wall(one.triangle), is_wall(other.triangle)) {
            (true, false) => one,
            (false, true) => other,
            _ => continue,
        };
        let [a, b] = edges.ends(e);
        let corners = mesh.triangles[inner.triangle as usize];
        let mean = corners.iter().map(|p| height(*p)).sum::<f64>() / 3.0;
        // the rest of the triangle stands over an edge of the lower rim; seen from within, its own
        // direction has the pocket on the right
        if 0.5 * (height(a) + height(b)) < mean {
            rim.push(if inner.forward { [b, a] } else { [a, b] });
        }
    }
    rim
}

/// Area within a closed line in plan, mm², positive where it turns to the left.
fn turned_area(line: &[[f64; 2]]) -> f64 {
    line.windows(2).map(|w| 0.5 * (w[0][0] * w[1][1] - w[1][0] * w[0][1])).sum()
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
