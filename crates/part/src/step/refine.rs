//! How far the mesh really is from the exact faces, and splitting until that is little enough.
//!
//! Every triangle is measured at its centre, at the middles of its sides and at the centres of
//! its three thirds. Where a side is too far off it is split at a point of the surface (at the
//! common point of both surfaces where it lies on a border); where only the inside is, the longest
//! side. Neighbours split together, so that a closed mesh stays closed.

use super::model::{StepFace, Tessellation};
use geom::surface::Surface;
use geom::{MeshEdges, Vec2, Vec3, tolerance};
use rayon::prelude::*;

/// Deviation over the size of the part below which no mesh is made finer: what is many metres
/// large would not fit into memory otherwise.
pub(super) const COARSEST_SHARE: f64 = 2e-6;
/// Rounds of splitting; each cuts the deviation of what it splits to about a quarter.
const ROUNDS_MAX: usize = 10;
/// After this many rounds the worst distance of a face must have fallen to [`FALL`] of what it was.
const PATIENCE: usize = 3;
/// See [`PATIENCE`].
const FALL: f64 = 0.7;
/// Triangles beyond which splitting stops.
const TRIANGLES_MAX: usize = 8_000_000;
/// Rounds of going from one surface to the other for a point of both.
const BORDER_ROUNDS: usize = 12;
/// A bound below this share of the allowance is as good as the exact distance.
const LOOSE_SHARE: f64 = 0.5;
/// Share of a side's length by which the point half-way in its parameters may lie off its middle.
const ASIDE_SHARE: f64 = 0.03;
/// Barycentric coordinates of the inner points that are measured.
const INSIDE: [[f64; 3]; 4] = [
    [1.0 / 3.0, 1.0 / 3.0, 1.0 / 3.0],
    [2.0 / 3.0, 1.0 / 6.0, 1.0 / 6.0],
    [1.0 / 6.0, 2.0 / 3.0, 1.0 / 6.0],
    [1.0 / 6.0, 1.0 / 6.0, 2.0 / 3.0],
];

/// What was measured on one triangle, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Measured {
    sides: [f64; 3],
    inside: f64,
}

impl Measured {
    const EXACT: Self = Self { sides: [0.0; 3], inside: 0.0 };

    fn largest(&self) -> f64 {
        self.sides.iter().fold(self.inside, |a, b| a.max(*b))
    }
}

/// What splitting came to.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Refined {
    /// Largest distance that is left, mm.
    pub(super) worst_mm: f64,
    /// Faces on which splitting did not help, with what is left there, mm: their borders are not
    /// on their surface.
    pub(super) stuck: Vec<(usize, f64)>,
}

/// Splits `t` until it is nowhere measured farther than `allowed_mm` from its faces, or splitting
/// no longer helps.
pub(super) fn refine(t: &mut Tessellation, faces: &[StepFace], allowed_mm: f64) -> Refined {
    let allowed_mm = allowed_mm.max(COARSEST_SHARE * size_mm(t));
    let mut known: Vec<Option<Measured>> = vec![None; t.mesh.triangles.len()];
    let mut progress = Progress::new(faces.len(), allowed_mm);
    for round in 0.. {
        let measured = measure(t, faces, &known, allowed_mm);
        progress.note(t, &measured);
        let out_of_bounds = round == ROUNDS_MAX || measured.len() > TRIANGLES_MAX;
        if out_of_bounds || !progress.goes_on() {
            break;
        }
        known = split(t, faces, &measured, allowed_mm, &progress.stuck);
    }
    progress.result()
}

/// How the worst distance of each face falls.
struct Progress {
    allowed_mm: f64,
    /// For each face the worst distance after each round, mm.
    worst_mm: Vec<Vec<f64>>,
    stuck: Vec<bool>,
}

impl Progress {
    fn new(faces: usize, allowed_mm: f64) -> Self {
        Self { allowed_mm, worst_mm: vec![Vec::new(); faces], stuck: vec![false; faces] }
    }

    fn note(&mut self, t: &Tessellation, measured: &[Measured]) {
        let mut now = vec![0.0_f64; self.worst_mm.len()];
        for (m, face) in measured.iter().zip(&t.mesh.face_of) {
            let worst = &mut now[*face as usize];
            *worst = worst.max(m.largest());
        }
        for (face, worst) in now.into_iter().enumerate() {
            let before = &mut self.worst_mm[face];
            let held = before.len().checked_sub(PATIENCE).map(|i| before[i]);
            // from one round to the next a sound face falls to about a quarter
            self.stuck[face] |= held.is_some_and(|h| worst > self.allowed_mm && worst > FALL * h);
            before.push(worst);
        }
    }

    fn last(&self, face: usize) -> f64 {
        self.worst_mm[face].last().copied().unwrap_or(0.0)
    }

    fn goes_on(&self) -> bool {
        (0..self.stuck.len()).any(|f| !self.stuck[f] && self.last(f) > self.allowed_mm)
    }

    fn result(&self) -> Refined {
        let faces = 0..self.stuck.len();
        let worst_mm = faces.clone().map(|f| self.last(f)).fold(0.0, f64::max);
        let stuck = faces.filter(|f| self.stuck[*f]).map(|f| (f, self.last(f))).collect();
        Refined { worst_mm, stuck }
    }
}

fn size_mm(t: &Tessellation) -> f64 {
    t.mesh.bounds().map_or(0.0, |(lo, hi)| lo.distance(hi))
}

/// What is known already is not measured again.
fn measure(
    t: &Tessellation,
    faces: &[StepFace],
    known: &[Option<Measured>],
    allowed_mm: f64,
) -> Vec<Measured> {
    known
        .par_iter()
        .enumerate()
        .map(|(i, known)| known.unwrap_or_else(|| measure_one(t, faces, i, allowed_mm)))
        .collect()
}

fn measure_one(t: &Tessellation, faces: &[StepFace], i: usize, allowed_mm: f64) -> Measured {
    let face = &faces[t.mesh.face_of[i] as usize];
    let Some(surface) = face.surface.as_ref().filter(|s| !matches!(s, Surface::Plane(_))) else {
        return Measured::EXACT;
    };
    let (p, uv) = (t.mesh.corners(i), t.corner_uv[i]);
    let at = |w: [f64; 3]| {
        let point = p[0] * w[0] + p[1] * w[1] + p[2] * w[2];
        let place = uv[0] * w[0] + uv[1] * w[1] + uv[2] * w[2];
        distance(surface, point, place, LOOSE_SHARE * allowed_mm)
    };
    Measured {
        sides: [at([0.5, 0.5, 0.0]), at([0.0, 0.5, 0.5]), at([0.5, 0.0, 0.5])],
        inside: INSIDE.iter().fold(0.0, |worst, w| worst.max(at(*w))),
    }
}

/// Distance of `p` from the surface near `guess`; where the distance to the point at `guess` is
/// below `loose_mm` that bound is given instead.
fn distance(surface: &Surface, p: Vec3, guess: Vec2, loose_mm: f64) -> f64 {
    let bound = surface.point(guess.x, guess.y).distance(p);
    if bound <= loose_mm {
        return bound;
    }
    let foot = surface.project(p, guess).map(|f| surface.point(f.x, f.y).distance(p));
    foot.map_or(bound, |d| d.min(bound))
}

/// The new corner on a split side, with its parameters on each triangle that has the side.
struct Cut {
    vertex: u32,
    uv: Vec<(u32, Vec2)>,
}

/// Splits what is too far off; gives for each triangle what is known of it still.
fn split(
    t: &mut Tessellation,
    faces: &[StepFace],
    measured: &[Measured],
    allowed_mm: f64,
    stuck: &[bool],
) -> Vec<Option<Measured>> {
    let edges = MeshEdges::new(&t.mesh);
    let marked = mark(t, &edges, measured, allowed_mm, stuck);
    let wanted: Vec<usize> = (0..edges.len()).filter(|e| marked[*e]).collect();
    let found: Vec<(Vec3, Vec<(u32, Vec2)>)> =
        wanted.par_iter().map(|e| cut_point(t, faces, &edges, *e)).collect();
    let mut cuts: Vec<Option<Cut>> = Vec::new();
    cuts.resize_with(edges.len(), || None);
    for (e, (p, uv)) in wanted.into_iter().zip(found) {
        let vertex = t.mesh.vertices.len() as u32;
        t.mesh.vertices.push(p);
        cuts[e] = Some(Cut { vertex, uv });
    }
    rebuild(t, &edges, &cuts, measured)
}

fn mark(
    t: &Tessellation,
    edges: &MeshEdges,
    measured: &[Measured],
    allowed_mm: f64,
    stuck: &[bool],
) -> Vec<bool> {
    let mut marked = vec![false; edges.len()];
    for (i, m) in measured.iter().enumerate() {
        if stuck[t.mesh.face_of[i] as usize] {
            continue;
        }
        let own = edges.of_triangle(i);
        for k in 0..3 {
            marked[own[k] as usize] |= m.sides[k] > allowed_mm;
        }
        let none_yet = own.iter().all(|e| !marked[*e as usize]);
        if m.inside > allowed_mm && none_yet {
            marked[own[longest_side(t.mesh.corners(i))] as usize] = true;
        }
    }
    marked
}

fn longest_side(p: [Vec3; 3]) -> usize {
    let length = [0, 1, 2].map(|k| p[k].distance_squared(p[(k + 1) % 3]));
    if length[0] >= length[1] && length[0] >= length[2] {
        0
    } else if length[1] >= length[2] {
        1
    } else {
        2
    }
}

/// The point at which edge `e` is split: on the surface, or on all surfaces that meet there.
fn cut_point(
    t: &Tessellation,
    faces: &[StepFace],
    edges: &MeshEdges,
    e: usize,
) -> (Vec3, Vec<(u32, Vec2)>) {
    let [a, b] = edges.ends(e).map(|v| t.mesh.vertices[v as usize]);
    let mut places: Vec<(u32, Vec2)> = edges
        .sides(e)
        .iter()
        .map(|s| {
            let uv = t.corner_uv[s.triangle as usize];
            let k = s.side as usize;
            (s.triangle, 0.5 * (uv[k] + uv[(k + 1) % 3]))
        })
        .collect();
    let surface_of =
        |triangle: u32| faces[t.mesh.face_of[triangle as usize] as usize].surface.as_ref();
    let chord = 0.5 * (a + b);
    let inside = common_place(t, &places)
        .and_then(|(triangle, uv)| cut_inside(surface_of(triangle)?, uv, chord, a.distance(b)));
    if let Some((p, uv)) = inside {
        places.iter_mut().for_each(|place| place.1 = uv);
        return (p, places);
    }
    let solved_mm = tolerance::resolution_mm(chord.abs().max_element());
    let start = places.clone();
    let mut p = chord;
    for _ in 0..BORDER_ROUNDS {
        let before = p;
        for (triangle, uv) in &mut places {
            let Some(surface) = surface_of(*triangle) else { continue };
            let Some(foot) = surface.project(p, *uv) else { continue };
            let on = surface.point(foot.x, foot.y);
            if on.is_finite() {
                (p, *uv) = (on, foot);
            }
        }
        if p.distance(before) <= solved_mm {
            break;
        }
    }
    // a cut that ran away along the border would fold the mesh
    let length = a.distance(b);
    if p.distance(chord) > 0.5 * length { (chord, start) } else { (p, places) }
}

/// The point at which an edge inside a face is split: half-way in the parameters, or over the middle
/// of the chord where that lies far aside of it, as beside a pole. A cut far aside folds the mesh.
fn cut_inside(surface: &Surface, uv: Vec2, chord: Vec3, length: f64) -> Option<(Vec3, Vec2)> {
    let half_way = surface.point(uv.x, uv.y);
    let foot = (half_way.distance(chord) > ASIDE_SHARE * length)
        .then(|| surface.project(chord, uv))
        .flatten()
        .map(|uv| (surface.point(uv.x, uv.y), uv))
        .filter(|(p, _)| p.distance(chord) < half_way.distance(chord));
    foot.or(Some((half_way, uv))).filter(|(p, _)| p.is_finite())
}

/// The place that all sides of an edge agree on: inside a face, not across a seam.
fn common_place(t: &Tessellation, places: &[(u32, Vec2)]) -> Option<(u32, Vec2)> {
    let (first, uv) = *places.first()?;
    let face = t.mesh.face_of[first as usize];
    places
        .iter()
        .all(|(triangle, other)| t.mesh.face_of[*triangle as usize] == face && *other == uv)
        .then_some((first, uv))
}

/// A triangle with the parameters of its corners.
type Piece = [(u32, Vec2); 3];

fn rebuild(
    t: &mut Tessellation,
    edges: &MeshEdges,
    cuts: &[Option<Cut>],
    measured: &[Measured],
) -> Vec<Option<Measured>> {
    let mut known = Vec::with_capacity(measured.len());
    let mut out = Tessellation {
        mesh: geom::TriMesh {
            vertices: std::mem::take(&mut t.mesh.vertices),
            ..geom::TriMesh::default()
        },
        corner_uv: Vec::new(),
    };
    let mut pieces: Vec<Piece> = Vec::with_capacity(4);
    for i in 0..t.mesh.triangles.len() {
        let corner = [0, 1, 2].map(|k| (t.mesh.triangles[i][k], t.corner_uv[i][k]));
        let middle = edges.of_triangle(i).map(|e| {
            let cut = cuts[e as usize].as_ref()?;
            let uv = cut.uv.iter().find(|(triangle, _)| *triangle as usize == i)?.1;
            Some((cut.vertex, uv))
        });
        pieces.clear();
        cut_up(corner, middle, &out.mesh.vertices, &mut pieces);
        for piece in &pieces {
            out.mesh.triangles.push(piece.map(|c| c.0));
            out.corner_uv.push(piece.map(|c| c.1));
            out.mesh.face_of.push(t.mesh.face_of[i]);
            known.push((pieces.len() == 1).then_some(measured[i]));
        }
    }
    *t = out;
    known
}

/// The pieces of a triangle whose sides may have a new corner in the middle.
fn cut_up(
    [a, b, c]: Piece,
    middle: [Option<(u32, Vec2)>; 3],
    vertices: &[Vec3],
    pieces: &mut Vec<Piece>,
) {
    match middle {
        [None, None, None] => pieces.push([a, b, c]),
        [Some(ab), Some(bc), Some(ca)] => {
            pieces.extend([[a, ab, ca], [ab, b, bc], [ca, bc, c], [ab, bc, ca]]);
        }
        [Some(ab), None, None] => pieces.extend([[a, ab, c], [ab, b, c]]),
        [None, Some(bc), None] => pieces.extend([[b, bc, a], [bc, c, a]]),
        [None, None, Some(ca)] => pieces.extend([[c, ca, b], [ca, a, b]]),
        [Some(ab), Some(bc), None] => cut_twice([a, b, c], ab, bc, vertices, pieces),
        [None, Some(bc), Some(ca)] => cut_twice([b, c, a], bc, ca, vertices, pieces),
        [Some(ab), None, Some(ca)] => cut_twice([c, a, b], ca, ab, vertices, pieces),
    }
}

/// Sides ab and bc are cut: the corner at b comes off, the rest is split by its shorter diagonal.
fn cut_twice(
    [a, b, c]: Piece,
    ab: (u32, Vec2),
    bc: (u32, Vec2),
    vertices: &[Vec3],
    pieces: &mut Vec<Piece>,
) {
    let at = |corner: (u32, Vec2)| vertices[corner.0 as usize];
    pieces.push([ab, b, bc]);
    if at(a).distance_squared(at(bc)) <= at(ab).distance_squared(at(c)) {
        pieces.extend([[a, ab, bc], [a, bc, c]]);
    } else {
        pieces.extend([[a, ab, c], [ab, bc, c]]);
    }
}
