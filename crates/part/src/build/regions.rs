//! Faces of a mesh: regions between sharp edges, flat parts by themselves.
//!
//! (1) Triangles in one plane make *facets*. (2) Facets join across edges that turn less than the
//! threshold, and across those that turn more but belong to a row of equal turns (a coarse
//! cylinder). (3) Within such a smooth region a facet that is flat where its neighbours are curved
//! (the wall beside a rounded corner) is a face of its own.

use geom::{MeshEdges, TriMesh, Vec3};

/// Largest turn that a row of equal turns may have and still be one smooth surface, rad.
const SMOOTH_ROW_RAD: f64 = 0.7;
/// Two turns are equal within this share.
const EQUAL_TURNS: f64 = 0.15;
/// Two edges of a row are parallel within this sine.
const PARALLEL_EDGES: f64 = 0.17;
/// Turn that two triangles of one plane may have besides rounding, rad.
const COPLANAR_RAD: f64 = 3e-4;
/// How many times the sagitta of its neighbours a facet must stand for, if it were curved as its
/// borders say, to be taken as flat.
const FLAT_FACTOR: f64 = 8.0;

/// The regions found: number of each triangle's, and how many there are.
pub(super) struct Regions {
    pub(super) region_of: Vec<u32>,
    pub(super) count: usize,
}

/// Splits the mesh into faces. Regions never cross an edge where not exactly two triangles meet,
/// nor a border between groups or solids, and are numbered by their first triangle.
pub(super) fn find(
    mesh: &TriMesh,
    edges: &MeshEdges,
    group_of: &[u32],
    solid_of: &[u32],
    sharp_deg: f64,
) -> Regions {
    let alike = |a: usize, b: usize| group_of[a] == group_of[b] && solid_of[a] == solid_of[b];
    let turns = Turns::new(mesh, edges);
    let (facet_of, count) = flood(mesh, edges, |t, n, e| turns.coplanar[e] && alike(t, n));
    let facets = Facets::new(mesh, edges, &turns, &facet_of, count);
    let limit = sharp_deg.to_radians();
    let soft: Vec<bool> = (0..edges.len())
        .map(|e| {
            let turn = turns.turn[e];
            turn.abs() <= limit + turns.doubt[e]
                || (turn.abs() <= SMOOTH_ROW_RAD && facets.in_a_row(mesh, edges, &turns, e))
        })
        .collect();
    let flat = facets.flat(edges, &turns, &soft);
    let (region_of, count) = flood(mesh, edges, |t, n, e| {
        let (a, b) = (facet_of[t], facet_of[n]);
        soft[e] && alike(t, n) && (a == b || !(flat[a as usize] || flat[b as usize]))
    });
    Regions { region_of, count }
}

/// Numbers the sets of triangles that `joined` (triangle, neighbour, edge) connects.
fn flood(
    mesh: &TriMesh,
    edges: &MeshEdges,
    joined: impl Fn(usize, usize, usize) -> bool,
) -> (Vec<u32>, usize) {
    let mut set_of = vec![u32::MAX; mesh.triangles.len()];
    let mut count = 0;
    let mut work = Vec::new();
    for seed in 0..mesh.triangles.len() {
        if set_of[seed] != u32::MAX {
            continue;
        }
        set_of[seed] = count;
        work.push(seed);
        while let Some(t) = work.pop() {
            for k in 0..3 {
                let Some(side) = edges.across(t, k) else { continue };
                let n = side.triangle as usize;
                if set_of[n] == u32::MAX && joined(t, n, edges.of_triangle(t)[k] as usize) {
                    set_of[n] = count;
                    work.push(n);
                }
            }
        }
        count += 1;
    }
    (set_of, count as usize)
}

/// The turn of every edge and how far rounding of the coordinates may have falsified it.
struct Turns {
    turn: Vec<f64>,
    doubt: Vec<f64>,
    coplanar: Vec<bool>,
}

impl Turns {
    fn new(mesh: &TriMesh, edges: &MeshEdges) -> Self {
        let largest = mesh.bounds().map_or(0.0, |(lo, hi)| lo.abs().max(hi.abs()).max_element());
        // coordinates of many mesh files are 32-bit numbers
        let rounding = largest * f64::from(f32::EPSILON);
        let height: Vec<f64> = (0..mesh.triangles.len())
            .map(|t| {
                let [a, b, c] = mesh.corners(t);
                let longest = (b - a).length().max((c - b).length()).max((a - c).length());
                2.0 * mesh.triangle_area_mm2(t) / longest
            })
            .collect();
        let mut turns = Self { turn: Vec::new(), doubt: Vec::new(), coplanar: Vec::new() };
        for e in 0..edges.len() {
            let turn = edges.turn_rad(mesh, e).unwrap_or(f64::INFINITY);
            let low = |s: &geom::edges::Side| height[s.triangle as usize];
            let lowest = edges.sides(e).iter().map(low).fold(f64::INFINITY, f64::min);
            let doubt = 2.0 * rounding / lowest;
            turns.turn.push(turn);
            turns.doubt.push(doubt);
            turns.coplanar.push(turn.abs() <= COPLANAR_RAD + doubt);
        }
        turns
    }
}

/// Sets of triangles in one plane.
struct Facets<'a> {
    facet_of: &'a [u32],
    triangles: Vec<u32>,
    /// Edges on the border of each facet.
    border: Vec<Vec<u32>>,
    /// Area over the longest extent along the border, mm.
    width: Vec<f64>,
}

impl<'a> Facets<'a> {
    fn new(
        mesh: &TriMesh,
        edges: &MeshEdges,
        turns: &Turns,
        facet_of: &'a [u32],
        count: usize,
    ) -> Self {
        let mut border = vec![Vec::new(); count];
        for e in 0..edges.len() {
            if let Some([s, t]) = edges.pair(e) {
                let (a, b) = (facet_of[s.triangle as usize], facet_of[t.triangle as usize]);
                if a != b && turns.turn[e].is_finite() {
                    border[a as usize].push(e as u32);
                    border[b as usize].push(e as u32);
                }
            }
        }
        let mut area = vec![0.0; count];
        let mut triangles = vec![0; count];
        let mut bounds: Vec<Option<(Vec3, Vec3)>> = vec![None; count];
        for (t, &f) in facet_of.iter().enumerate() {
            let f = f as usize;
            area[f] += mesh.triangle_area_mm2(t);
            triangles[f] += 1;
            for p in mesh.corners(t) {
                let (lo, hi) = bounds[f].unwrap_or((p, p));
                bounds[f] = Some((lo.min(p), hi.max(p)));
            }
        }
        let width = (0..count)
            .map(|f| area[f] / bounds[f].map_or(1.0, |(lo, hi)| (hi - lo).length()))
            .collect();
        Self { facet_of, triangles, border, width }
    }

    fn sides(&self, edges: &MeshEdges, e: usize) -> Option<[usize; 2]> {
        let facet = |s: geom::edges::Side| self.facet_of[s.triangle as usize] as usize;
        edges.pair(e).map(|p| p.map(facet))
    }

    /// Whether the facets on both sides of edge `e` turn about as much again at an edge parallel
    /// to it.
    fn in_a_row(&self, mesh: &TriMesh, edges: &MeshEdges, turns: &Turns, e: usize) -> bool {
        let along = |e: usize| {
            let [a, b] = edges.ends(e).map(|v| mesh.vertices[v as usize]);
            (b - a).normalize_or_zero()
        };
        let like = |o: usize| {
            o != e
                && (turns.turn[o] - turns.turn[e]).abs() <= EQUAL_TURNS * turns.turn[e].abs()
                && along(o).cross(along(e)).length() <= PARALLEL_EDGES
        };
        let again = |f: usize| self.border[f].iter().any(|&o| like(o as usize));
        self.sides(edges, e).is_some_and(|[a, b]| a != b && again(a) && again(b))
    }

    /// The sagitta that the facet would stand for if it were curved as it turns at its soft
    /// borders, mm; zero where it has none.
    fn sagitta(&self, turns: &Turns, soft: &[bool], f: usize) -> f64 {
        let soft_turns = self.border[f].iter().map(|&e| e as usize).filter(|&e| soft[e]);
        let most = soft_turns.map(|e| turns.turn[e].abs()).fold(0.0, f64::max);
        most * self.width[f] / 8.0
    }

    /// Facets that are flat where the facets beside them are curved: two triangles at least, and a
    /// sagitta far above that of the neighbours.
    fn flat(&self, edges: &MeshEdges, turns: &Turns, soft: &[bool]) -> Vec<bool> {
        let count = self.border.len();
        let sagitta: Vec<f64> = (0..count).map(|f| self.sagitta(turns, soft, f)).collect();
        (0..count)
            .map(|f| {
                let mut beside: Vec<f64> = self.border[f]
                    .iter()
                    .filter(|&&e| soft[e as usize])
                    .filter_map(|&e| self.sides(edges, e as usize))
                    .map(|[a, b]| sagitta[if a == f { b } else { a }])
                    .collect();
                beside.sort_by(f64::total_cmp);
                let median = beside.get(beside.len() / 2);
                self.triangles[f] >= 2 && median.is_some_and(|m| sagitta[f] > FLAT_FACTOR * m)
            })
            .collect()
    }
}
