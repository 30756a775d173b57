//! Pockets: flat floors that rising walls shut in on all sides.
//!
//! 1. A floor is a flat face from whose border most of the length turns up: sharply, or smoothly
//!    into a hollow face (a floor radius).
//! 2. From the floor the walls are followed over hollow and smooth edges, never over the rim.
//! 3. It is a pocket if rays just above the floor meet those walls in nearly every direction; if
//!    the walls are one round hole, it is a bore.

use super::face::FaceFacts;
use super::neighbour::{Meeting, Neighbours};
use crate::{FaceKind, Part};
use geom::tolerance::COINCIDENT_MM;
use geom::{Vec3, triangle};
use std::collections::BTreeSet;

/// Share of a floor's border that must turn up.
const TURNED_UP: f64 = 0.5;
/// Rays by which a floor is found shut in, and how many must meet a wall.
const RAYS: (usize, usize) = (32, 28);
/// A face stands upright where its normals keep to the floor's plane within this (sine).
const UPRIGHT: f64 = 0.02;

/// A recess with a flat floor.
#[derive(Debug, Clone, PartialEq)]
pub struct Pocket {
    /// The floor's face.
    pub floor: usize,
    /// Every face of the pocket, ascending, the floor among them.
    pub faces: Vec<usize>,
    /// Height of the walls over the floor, mm.
    pub depth_mm: f64,
    /// Smallest radius of its upright corners, mm; `None` where they are sharp or none is round.
    pub corner_radius_min_mm: Option<f64>,
    /// Smallest radius between floor and walls, mm; `None` where they meet sharply.
    pub floor_radius_min_mm: Option<f64>,
    /// Direction in which it opens, unit.
    pub axis: Vec3,
    /// Area of the floor's face, mm².
    pub floor_area_mm2: f64,
    /// Whether it is one round hole.
    pub is_bore: bool,
}

/// The pockets and bores with a floor, in the order of their floors' faces.
pub fn pockets(part: &Part, facts: &[FaceFacts], neighbours: &Neighbours) -> Vec<Pocket> {
    let mut triangles: Vec<Vec<u32>> = vec![Vec::new(); part.faces.len()];
    for (t, face) in part.mesh.face_of.iter().enumerate() {
        triangles[*face as usize].push(t as u32);
    }
    let search = Search { part, facts, neighbours, triangles };
    let floors = part.faces.iter().filter(|f| f.kind == FaceKind::Plane);
    floors.filter_map(|f| search.pocket(f.index)).collect()
}

struct Search<'a> {
    part: &'a Part,
    facts: &'a [FaceFacts],
    neighbours: &'a Neighbours,
    triangles: Vec<Vec<u32>>,
}

impl Search<'_> {
    fn pocket(&self, floor: usize) -> Option<Pocket> {
        let axis = self.mean_normal(floor)?;
        let rising: Vec<usize> = self.rising(floor)?;
        let faces = self.follow(floor, &rising, axis);
        let walls: Vec<usize> =
            faces.iter().copied().filter(|f| self.is_upright(*f, axis)).collect();
        let (_, level) = self.heights(&[floor], axis)?;
        let (_, top) = self.heights(&faces, axis)?;
        if walls.is_empty() || top - level <= COINCIDENT_MM || !self.shut_in(floor, &faces, axis) {
            return None;
        }
        let hollow = |f: &usize| self.facts[*f].concave_radius_min_mm;
        let fillets = faces.iter().filter(|f| !walls.contains(f) && **f != floor);
        Some(Pocket {
            floor,
            depth_mm: top - level,
            corner_radius_min_mm: walls.iter().filter_map(hollow).min_by(f64::total_cmp),
            floor_radius_min_mm: fillets.filter_map(hollow).min_by(f64::total_cmp),
            axis,
            floor_area_mm2: self.part.faces[floor].area_mm2,
            is_bore: walls.iter().all(|f| self.part.faces[*f].kind == FaceKind::Cylinder),
            faces,
        })
    }

    /// The neighbours to which a floor turns up; `None` where too little of its border does.
    fn rising(&self, floor: usize) -> Option<Vec<usize>> {
        let meetings = self.neighbours.of(floor);
        let border: f64 = meetings.values().map(Meeting::length_mm).sum();
        let up = |face: usize, m: &Meeting| {
            let hollow = self.facts[face].concave_radius_min_mm.is_some();
            m.concave_mm + if hollow { m.smooth_mm } else { 0.0 }
        };
        let turned: f64 = meetings.iter().map(|(f, m)| up(*f, m)).sum();
        let rising = meetings.iter().filter(|(f, m)| up(**f, m) > m.convex_mm).map(|(f, _)| *f);
        (turned > TURNED_UP * border).then(|| rising.collect())
    }

    /// Walls and fillets reached from the floor without crossing the rim, ascending.
    fn follow(&self, floor: usize, rising: &[usize], axis: Vec3) -> Vec<usize> {
        let mut found: BTreeSet<usize> = rising.iter().copied().chain([floor]).collect();
        let mut open: Vec<usize> = rising.to_vec();
        while let Some(face) = open.pop() {
            for (next, meeting) in self.neighbours.of(face) {
                let joined = meeting.concave_mm + meeting.smooth_mm > meeting.convex_mm;
                let belongs = self.is_upright(*next, axis) || self.is_fillet(*next, axis);
                if joined && belongs && found.insert(*next) {
                    open.push(*next);
                }
            }
        }
        found.into_iter().collect()
    }

    fn is_upright(&self, face: usize, axis: Vec3) -> bool {
        self.normals(face).all(|n| n.dot(axis).abs() <= UPRIGHT)
    }

    /// A hollow face that nowhere looks down.
    fn is_fillet(&self, face: usize, axis: Vec3) -> bool {
        let hollow = self.facts[face].concave_radius_min_mm.is_some();
        hollow && self.normals(face).all(|n| n.dot(axis) >= -UPRIGHT)
    }

    fn normals(&self, face: usize) -> impl Iterator<Item = Vec3> + '_ {
        self.triangles[face].iter().map(|t| {
            let [a, b, c] = self.part.mesh.corners(*t as usize);
            (b - a).cross(c - a).normalize_or_zero()
        })
    }

    fn mean_normal(&self, face: usize) -> Option<Vec3> {
        let sum = self.triangles[face].iter().map(|t| {
            let [a, b, c] = self.part.mesh.corners(*t as usize);
            (b - a).cross(c - a)
        });
        sum.sum::<Vec3>().try_normalize()
    }

    fn heights(&self, faces: &[usize], axis: Vec3) -> Option<(f64, f64)> {
        let corners = faces.iter().flat_map(|f| &self.triangles[*f]);
        let corners = corners.flat_map(|t| self.part.mesh.corners(*t as usize));
        let heights = corners.map(|p| p.dot(axis));
        units::Interval::hull(heights).map(|i| (i.low, i.high))
    }

    /// Whether rays from the largest triangle of the floor, just above it, meet the pocket's own
    /// walls nearly all round.
    fn shut_in(&self, floor: usize, faces: &[usize], axis: Vec3) -> bool {
        let Some(from) = self.lifted(floor, faces, axis) else { return false };
        let along = axis.any_orthonormal_vector();
        let across = axis.cross(along);
        let meets = |i: usize| {
            let (sin, cos) = (std::f64::consts::TAU * i as f64 / RAYS.0 as f64).sin_cos();
            let hit =
                self.part.bvh.ray(&self.part.mesh, from, along * cos + across * sin, f64::MAX);
            hit.is_some_and(|h| {
                faces.contains(&(self.part.mesh.face_of[h.triangle as usize] as usize))
            })
        };
        (0..RAYS.0).filter(|i| meets(*i)).count() >= RAYS.1
    }

    /// A point over the middle of the floor's largest triangle, half-way up the walls.
    fn lifted(&self, floor: usize, faces: &[usize], axis: Vec3) -> Option<Vec3> {
        let mesh = &self.part.mesh;
        let area = |t: &u32| mesh.triangle_area_mm2(*t as usize);
        let largest = self.triangles[floor].iter().max_by(|a, b| area(a).total_cmp(&area(b)))?;
        let (_, level) = self.heights(&[floor], axis)?;
        let (_, top) = self.heights(faces, axis)?;
        let middle = triangle::at(mesh.corners(*largest as usize), [1.0 / 3.0; 3]);
        Some(middle + axis * (0.5 * (top - level)))
    }
}

#[cfg(test)]
mod tests {
    use crate::{ReadOptions, fact, read};

    /// A block of 40 × 30 × 20 mm with an open-topped recess of 20 × 10 × 8 mm in its top.
    const RECESSED: &str = "\
v 0 0 0\nv 40 0 0\nv 40 30 0\nv 0 30 0\nv 0 0 20\nv 40 0 20\nv 40 30 20\nv 0 30 20
v 10 10 20\nv 30 10 20\nv 30 20 20\nv 10 20 20\nv 10 10 12\nv 30 10 12\nv 30 20 12\nv 10 20 12
f 4 3 2 1\nf 1 2 6 5\nf 2 3 7 6\nf 3 4 8 7\nf 4 1 5 8
f 5 6 10 9\nf 6 7 11 10\nf 7 8 12 11\nf 8 5 9 12
f 9 10 14 13\nf 10 11 15 14\nf 11 12 16 15\nf 12 9 13 16\nf 13 14 15 16\n";

    #[test]
    fn a_recess_is_a_pocket_of_its_depth_and_the_outside_is_none() {
        let part = read(RECESSED.as_bytes(), "recess.obj", &ReadOptions::default()).unwrap();
        let facts = fact::of_faces(&part);
        let found = fact::pockets(&part, &facts, &fact::Neighbours::new(&part));
        assert_eq!(found.len(), 1, "{found:?}");
        assert!((found[0].depth_mm - 8.0).abs() < 1e-9);
        assert!((found[0].floor_area_mm2 - 200.0).abs() < 1e-9);
        assert_eq!((found[0].corner_radius_min_mm, found[0].is_bore), (None, false));
        assert_eq!(found[0].faces.len(), 5);
    }
}
