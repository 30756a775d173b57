//! Looks for defects in a mesh.

use super::{Defect, DefectKind};
use geom::cross::{fans_cross, triangles_cross};
use geom::tolerance::COINCIDENT_MM;
use geom::{Bvh, MeshEdges, TriMesh, Vec3};
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Neighbours that one triangle is tested against at most; more than this meet only in a mesh
/// that is one heap.
const MOST_CANDIDATES: usize = 4096;

/// What was found.
#[derive(Debug, Clone, Default)]
pub struct Examined {
    /// One entry for each kind and set of faces.
    pub defects: Vec<Defect>,
    /// What could not be looked at.
    pub notes: Vec<String>,
}

/// Looks for open and non-manifold edges, mixed orientation, duplicate triangles and
/// self-intersections. `solid_of` gives the solid of each triangle: solids may touch each other.
pub fn examine(mesh: &TriMesh, edges: &MeshEdges, bvh: &Bvh, solid_of: &[u32]) -> Examined {
    let mut findings = Findings::default();
    edge_defects(mesh, edges, &mut findings);
    let duplicates = duplicates(mesh, &mut findings);
    let (pairs, capped) = crossings(mesh, bvh, solid_of, &duplicates);
    for (a, b) in pairs {
        let faces = [mesh.face_of[a as usize], mesh.face_of[b as usize]];
        findings.add(DefectKind::SelfIntersection, &faces, centre(mesh, a));
    }
    let mut notes = Vec::new();
    if capped > 0 {
        notes.push(format!(
            "{capped} triangles lie among more than {MOST_CANDIDATES} others: self-intersections were looked for only among those"
        ));
    }
    Examined { defects: findings.list(), notes }
}

/// Defects by kind and faces, in that order.
#[derive(Default)]
struct Findings(BTreeMap<(DefectKind, Vec<usize>), (usize, Vec3)>);

impl Findings {
    fn add(&mut self, kind: DefectKind, faces: &[u32], place: Vec3) {
        let mut faces: Vec<usize> = faces.iter().map(|&f| f as usize).collect();
        faces.sort_unstable();
        faces.dedup();
        self.0.entry((kind, faces)).or_insert((0, place)).0 += 1;
    }

    fn list(self) -> Vec<Defect> {
        let entry = |((kind, faces), (count, place))| Defect {
            kind,
            faces,
            count,
            place: Some(place),
            detail: String::new(),
        };
        self.0.into_iter().map(entry).collect()
    }
}

fn centre(mesh: &TriMesh, t: u32) -> Vec3 {
    let [a, b, c] = mesh.corners(t as usize);
    (a + b + c) / 3.0
}

fn edge_defects(mesh: &TriMesh, edges: &MeshEdges, findings: &mut Findings) {
    for e in 0..edges.len() {
        let sides = edges.sides(e);
        let kind = match sides {
            [_] => DefectKind::Open,
            [a, b] if a.forward == b.forward => DefectKind::MixedOrientation,
            [_, _] => continue,
            _ => DefectKind::NonManifold,
        };
        let faces: Vec<u32> = sides.iter().map(|s| mesh.face_of[s.triangle as usize]).collect();
        let [a, b] = edges.ends(e).map(|v| mesh.vertices[v as usize]);
        findings.add(kind, &faces, 0.5 * (a + b));
    }
}

/// Marks triangles that have the same three corners as one before them.
fn duplicates(mesh: &TriMesh, findings: &mut Findings) -> Vec<bool> {
    let mut keyed: Vec<([u32; 3], u32)> = mesh
        .triangles
        .iter()
        .enumerate()
        .map(|(t, corners)| {
            let mut key = *corners;
            key.sort_unstable();
            (key, t as u32)
        })
        .collect();
    keyed.sort_unstable();
    let mut marked = vec![false; mesh.triangles.len()];
    for pair in keyed.windows(2) {
        if pair[0].0 == pair[1].0 {
            let (first, second) = (pair[0].1, pair[1].1);
            marked[second as usize] = true;
            let faces = [mesh.face_of[first as usize], mesh.face_of[second as usize]];
            findings.add(DefectKind::Duplicate, &faces, centre(mesh, second));
        }
    }
    marked
}

/// Pairs of triangles of one solid that run through each other, ordered, and how many triangles
/// had too many neighbours to look at all.
fn crossings(
    mesh: &TriMesh,
    bvh: &Bvh,
    solid_of: &[u32],
    duplicate: &[bool],
) -> (Vec<(u32, u32)>, usize) {
    let largest = mesh.bounds().map_or(0.0, |(lo, hi)| lo.abs().max(hi.abs()).max_element());
    // coordinates of many mesh files are 32-bit numbers
    let slack = COINCIDENT_MM.max(4.0 * largest * f64::from(f32::EPSILON));
    let found: Vec<(Vec<(u32, u32)>, bool)> = (0..mesh.triangles.len() as u32)
        .into_par_iter()
        .filter(|&t| !duplicate[t as usize])
        .map(|t| crossings_of(mesh, bvh, solid_of, duplicate, t, slack))
        .collect();
    let capped = found.iter().filter(|f| f.1).count();
    (found.into_iter().flat_map(|f| f.0).collect(), capped)
}

fn crossings_of(
    mesh: &TriMesh,
    bvh: &Bvh,
    solid_of: &[u32],
    duplicate: &[bool],
    t: u32,
    slack: f64,
) -> (Vec<(u32, u32)>, bool) {
    let corners = mesh.corners(t as usize);
    let lo = corners[0].min(corners[1]).min(corners[2]);
    let hi = corners[0].max(corners[1]).max(corners[2]);
    let mut pairs = Vec::new();
    let mut seen = 0;
    let tested = std::cell::Cell::new(0_usize);
    bvh.visit(
        |l, h| tested.get() < MOST_CANDIDATES && l.cmple(hi).all() && h.cmpge(lo).all(),
        |other| {
            let (i, j) = (t as usize, other as usize);
            if other <= t || solid_of[i] != solid_of[j] || duplicate[j] {
                return;
            }
            seen += 1;
            tested.set(seen);
            if cross(mesh, i, j, slack) {
                pairs.push((t, other));
            }
        },
    );
    (pairs, seen >= MOST_CANDIDATES)
}

fn cross(mesh: &TriMesh, i: usize, j: usize, slack: f64) -> bool {
    let (a, b) = (mesh.triangles[i], mesh.triangles[j]);
    let shared: Vec<(usize, usize)> =
        (0..3).filter_map(|k| b.iter().position(|v| *v == a[k]).map(|m| (k, m))).collect();
    let (pa, pb) = (mesh.corners(i), mesh.corners(j));
    match shared.as_slice() {
        [] => triangles_cross(pa, pb, slack),
        [(k, m)] => fans_cross(from_corner(pa, *k), from_corner(pb, *m), slack),
        [_, _] => folded(pa, pb, &shared, slack),
        _ => false,
    }
}

fn from_corner(t: [Vec3; 3], k: usize) -> [Vec3; 3] {
    [t[k], t[(k + 1) % 3], t[(k + 2) % 3]]
}

/// Two triangles on one edge lie on each other: both in one plane and on the same side of the edge.
fn folded(a: [Vec3; 3], b: [Vec3; 3], shared: &[(usize, usize)], slack: f64) -> bool {
    let (k, l) = (shared[0].0, shared[1].0);
    let (pa, pb) = (a[3 - k - l], b[3 - shared[0].1 - shared[1].1]);
    let along = (a[l] - a[k]).normalize_or_zero();
    let off = |p: Vec3| (p - a[k]) - along * (p - a[k]).dot(along);
    let (oa, ob) = (off(pa), off(pb));
    let height = oa.length().min(ob.length());
    let side = oa.normalize_or_zero().cross(ob.normalize_or_zero()).length() * height;
    height > slack && oa.dot(ob) > 0.0 && side <= slack
}
