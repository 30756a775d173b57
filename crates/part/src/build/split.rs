//! A smooth region that runs on from one simple surface into the next is parted into them.
//!
//! Rounded corners meet floor fillets without an edge. Where a region as a whole fits no simple
//! surface, cylinders are grown in it from pairs of facets; what is left over is parted into its
//! connected pieces.

use crate::model::FaceKind;
use crate::recognise::{Recognised, Region, recognise};
use geom::surface::Surface;
use geom::{MeshEdges, TriMesh, Vec3};
use units::Interval;

/// Least bend of a cylinder that is parted off, rad.
const LEAST_BEND_RAD: f64 = 0.3;
/// Least number of triangles of one.
const LEAST_TRIANGLES: usize = 6;
/// Least turn between the two facets that a cylinder starts from, rad.
const LEAST_TURN_RAD: f64 = 2e-3;

/// Share of the two facets' width by which a vertex may miss the cylinder that they start.
const SLACK_SHARE: f64 = 1e-3;

/// Share of its arc up to which a cylinder may be a mere slice of a ring surface.
const SLICE_SHARE: f64 = 0.5;

/// A face of the mesh: its triangles, ascending, and its surface where one was recognised.
pub(super) struct Found {
    pub(super) triangles: Vec<u32>,
    pub(super) surface: Option<Recognised>,
}

/// Recognises the regions, parts those that fit nothing, and gives the faces in the order of their
/// first triangles.
pub(super) fn recognise_all(
    mesh: &TriMesh,
    edges: &MeshEdges,
    region_of: &[u32],
    count: usize,
) -> Vec<Found> {
    let mut regions = vec![Vec::new(); count];
    region_of.iter().enumerate().for_each(|(t, &r)| regions[r as usize].push(t as u32));
    let mut owner: Vec<u32> = region_of.to_vec();
    let mut found = Vec::with_capacity(count);
    for triangles in regions {
        match recognise(&Region::new(mesh, &triangles)) {
            None => part(mesh, edges, triangles, &mut owner, &mut found),
            surface => found.push(Found { triangles, surface }),
        }
    }
    found.sort_by_key(|f| f.triangles.first().copied());
    found
}

/// Owner of triangles that a cylinder has taken.
const TAKEN: u32 = u32::MAX;

fn part(
    mesh: &TriMesh,
    edges: &MeshEdges,
    triangles: Vec<u32>,
    owner: &mut [u32],
    found: &mut Vec<Found>,
) {
    let before = found.len();
    let home = owner[triangles[0] as usize];
    let mut tried = vec![false; owner.len()];
    for &t in &triangles {
        for k in 0..3 {
            if owner[t as usize] != home || tried[t as usize] {
                break;
            }
            let grown = grow(mesh, edges, owner, t as usize, k);
            if grown.len() < LEAST_TRIANGLES {
                continue;
            }
            match bent_cylinder(mesh, &grown) {
                Some(surface) => {
                    grown.iter().for_each(|&t| owner[t as usize] = TAKEN);
                    found.push(Found { triangles: grown, surface: Some(surface) });
                }
                // what grew and is none is none from its other triangles either
                None => grown.iter().for_each(|&t| tried[t as usize] = true),
            }
        }
    }
    let mut grown = found.split_off(before);
    give_up_slices(mesh, edges, &triangles, &mut grown, owner, home);
    found.append(&mut grown);
    if found.len() == before {
        found.push(Found { triangles, surface: None });
        return;
    }
    for rest in pieces(edges, &triangles, owner, home) {
        let surface = recognise(&Region::new(mesh, &rest));
        found.push(Found { triangles: rest, surface });
    }
}

/// Gives back the cylinders that are slices of a ring surface (the fillet in a rounded corner): short
/// for their arc, and the region runs on smoothly past both of their ends.
fn give_up_slices(
    mesh: &TriMesh,
    edges: &MeshEdges,
    triangles: &[u32],
    found: &mut Vec<Found>,
    owner: &mut [u32],
    number: u32,
) {
    let home = |t: u32| triangles.binary_search(&t).is_ok();
    let is_slice = |f: &Found| {
        let Some(Surface::Cylinder(round)) = f.surface.as_ref().map(|s| &s.surface) else {
            return false;
        };
        let height = |p: Vec3| (p - round.frame.origin).dot(round.frame.z);
        let corners = f.triangles.iter().flat_map(|t| mesh.corners(*t as usize));
        let Some(ends) = Interval::hull(corners.map(height)) else { return false };
        let arc_mm = round.radius_mm() * Region::new(mesh, &f.triangles).spread_rad();
        let past = f.triangles.iter().flat_map(|t| (0..3).map(|k| (*t as usize, k)));
        let past: Vec<f64> = past
            .filter(|&(t, k)| {
                let beside = edges.across(t, k).map(|s| s.triangle);
                beside.is_some_and(|n| home(n) && f.triangles.binary_search(&n).is_err())
            })
            .map(|(t, k)| {
                let c = mesh.corners(t);
                height(c[k].midpoint(c[(k + 1) % 3]))
            })
            .collect();
        let near = |end: f64| past.iter().any(|h| (h - end).abs() < 0.25 * ends.width());
        ends.width() < SLICE_SHARE * arc_mm && near(ends.low) && near(ends.high)
    };
    found.retain(|f| {
        let slice = is_slice(f);
        if slice {
            f.triangles.iter().for_each(|&t| owner[t as usize] = number);
        }
        !slice
    });
}

/// The connected pieces of what `home` still owns of a region.
fn pieces(edges: &MeshEdges, triangles: &[u32], owner: &mut [u32], home: u32) -> Vec<Vec<u32>> {
    let mut pieces = Vec::new();
    for &seed in triangles {
        if owner[seed as usize] != home {
            continue;
        }
        owner[seed as usize] = TAKEN;
        let mut piece = vec![seed];
        let mut next = 0;
        while next < piece.len() {
            let t = piece[next] as usize;
            next += 1;
            for k in 0..3 {
                let Some(side) = edges.across(t, k) else { continue };
                if owner[side.triangle as usize] == home {
                    owner[side.triangle as usize] = TAKEN;
                    piece.push(side.triangle);
                }
            }
        }
        piece.sort_unstable();
        pieces.push(piece);
    }
    pieces
}

/// The triangles of the largest cylinder that grows from the two at side `k` of triangle `t`,
/// ascending; none where they start no cylinder.
fn grow(mesh: &TriMesh, edges: &MeshEdges, owner: &[u32], t: usize, k: usize) -> Vec<u32> {
    let side = edges.across(t, k).filter(|s| owner[s.triangle as usize] == owner[t]);
    let seed = side.and_then(|s| Seed::new(mesh, t, k, s.triangle as usize, s.side as usize));
    let Some(seed) = seed else { return Vec::new() };
    let mut grown = vec![t as u32];
    let mut next = 0;
    let mut taken = std::collections::BTreeSet::from([t as u32]);
    while next < grown.len() {
        let t = grown[next] as usize;
        next += 1;
        for k in 0..3 {
            let Some(side) = edges.across(t, k) else { continue };
            let n = side.triangle;
            if owner[n as usize] == owner[t] && !taken.contains(&n) && seed.holds(mesh, n) {
                taken.insert(n);
                grown.push(n);
            }
        }
    }
    grown.sort_unstable();
    grown
}

/// The cylinder that the triangles lie on, if they bend far enough round it.
fn bent_cylinder(mesh: &TriMesh, triangles: &[u32]) -> Option<Recognised> {
    let region = Region::new(mesh, triangles);
    let surface = recognise(&region).filter(|s| s.kind == FaceKind::Cylinder)?;
    (region.spread_rad() >= LEAST_BEND_RAD).then_some(surface)
}

/// The cylinder through two facets that meet in an edge along its axis.
struct Seed {
    origin: Vec3,
    axis: Vec3,
    radius_mm: f64,
    slack_mm: f64,
}

impl Seed {
    fn new(mesh: &TriMesh, t: usize, k: usize, n: usize, m: usize) -> Option<Self> {
        let (a, b) = (mesh.corners(t), mesh.corners(n));
        let (na, nb) = (normal(a)?, normal(b)?);
        let cross = na.cross(nb);
        if cross.length() < LEAST_TURN_RAD {
            return None;
        }
        let axis = cross.normalize();
        let along = (a[(k + 1) % 3] - a[k]).try_normalize()?;
        if along.cross(axis).length() > LEAST_TURN_RAD {
            return None;
        }
        // seen along the axis: the common edge is a point, each far corner another
        let flat = |p: Vec3| p - axis * (p - a[k]).dot(axis);
        let (p, q, r) = (a[k], flat(a[(k + 2) % 3]), flat(b[(m + 2) % 3]));
        let centre = circumcentre(p, q, r)?;
        let radius_mm = (p - centre).length();
        let largest = [p, q, r].iter().map(|p| p.abs().max_element()).fold(0.0, f64::max);
        let wide = (q - r).length();
        let slack_mm = 16.0 * largest * f64::from(f32::EPSILON) + SLACK_SHARE * wide;
        Some(Self { origin: centre, axis, radius_mm, slack_mm })
    }

    fn holds(&self, mesh: &TriMesh, t: u32) -> bool {
        mesh.corners(t as usize).iter().all(|p| {
            let d = *p - self.origin;
            let r = (d - self.axis * d.dot(self.axis)).length();
            (r - self.radius_mm).abs() <= self.slack_mm
        }) && normal(mesh.corners(t as usize)).is_some_and(|n| n.dot(self.axis).abs() < 0.05)
    }
}

fn normal([a, b, c]: [Vec3; 3]) -> Option<Vec3> {
    (b - a).cross(c - a).try_normalize()
}

fn circumcentre(a: Vec3, b: Vec3, c: Vec3) -> Option<Vec3> {
    let (u, v) = (b - a, c - a);
    let w = u.cross(v);
    let twice = 2.0 * w.length_squared();
    let to = (w.cross(u) * v.length_squared() + v.cross(w) * u.length_squared()) / twice;
    to.is_finite().then_some(a + to)
}

#[cfg(test)]
mod tests {
    use crate::{FaceKind, ReadOptions, read};
    use std::fmt::Write;

    /// An open shell: a fillet of radius 3 mm along a straight wall of 20 mm, then round a corner.
    fn fillet_round_a_corner() -> String {
        let (steps, major) = (8, 8.0);
        let quarter = std::f64::consts::FRAC_PI_2;
        let mut rows: Vec<Vec<[f64; 3]>> = Vec::new();
        let around = |v: f64| (major - 3.0 * v.cos(), 3.0 - 3.0 * v.sin());
        let angle = |j: usize| quarter * j as f64 / steps as f64;
        rows.push((0..=steps).map(|j| around(angle(j))).map(|(r, z)| [r, -20.0, z]).collect());
        for i in 0..=steps {
            let (sin, cos) = angle(i).sin_cos();
            let ring = (0..=steps).map(|j| around(angle(j)));
            rows.push(ring.map(|(r, z)| [r * cos, r * sin, z]).collect());
        }
        let mut text = String::new();
        rows.iter().flatten().for_each(|[x, y, z]| writeln!(text, "v {x} {y} {z}").unwrap());
        let n = steps + 1;
        for i in 0..rows.len() - 1 {
            for j in 0..steps {
                let (a, b) = (i * n + j + 1, i * n + j + 2);
                writeln!(text, "f {a} {b} {}\nf {a} {} {}", b + n, b + n, a + n).unwrap();
            }
        }
        text
    }

    #[test]
    fn a_fillet_round_a_corner_is_not_cut_into_slices() {
        let part = read(fillet_round_a_corner().as_bytes(), "fillet.obj", &ReadOptions::default());
        let part = part.unwrap();
        let kinds: Vec<FaceKind> = part.faces.iter().map(|f| f.kind).collect();
        assert_eq!(kinds, [FaceKind::Cylinder, FaceKind::Freeform], "{:#?}", part.faces);
    }
}
