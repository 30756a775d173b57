//! What the search for pockets asks of faces: how they stand, how high, and what they shut in.

use super::Pocket;
use crate::fact::face::FaceFacts;
use crate::fact::neighbour::Neighbours;
use crate::{FaceKind, Part};
use geom::{Vec3, triangle};

/// A face stands upright where its normals keep to the plane across the axis within this (sine).
const UPRIGHT: f64 = 0.02;
/// Largest sine of a wall's draft.
const DRAFT: f64 = 0.342_020_143_325_668_7;
/// Rays by which a place is found shut in.
const RAYS: usize = 32;
/// How many of the rays must meet a wall for a pocket to be closed all round.
const ALL_ROUND: usize = 28;
/// How many of the pairs of opposite rays must meet a wall at both ends for a pocket with open sides.
const OPPOSITE: usize = 4;
/// Radii of one bore differ by this share at most.
const ONE_RADIUS: f64 = 1e-3;

pub(super) struct Search<'a> {
    pub(super) part: &'a Part,
    pub(super) facts: &'a [FaceFacts],
    pub(super) neighbours: &'a Neighbours,
    triangles: Vec<Vec<u32>>,
}

/// On which sides of a place the walls of a pocket stand.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sides {
    /// Nearly all round.
    pub(super) all_round: bool,
    /// On opposite sides.
    pub(super) opposite: bool,
}

impl<'a> Search<'a> {
    pub(super) fn new(part: &'a Part, facts: &'a [FaceFacts], neighbours: &'a Neighbours) -> Self {
        let mut triangles: Vec<Vec<u32>> = vec![Vec::new(); part.faces.len()];
        for (t, face) in part.mesh.face_of.iter().enumerate() {
            triangles[*face as usize].push(t as u32);
        }
        Self { part, facts, neighbours, triangles }
    }

    /// The pocket as data.
    pub(super) fn describe(
        &self,
        floor: Option<usize>,
        faces: Vec<usize>,
        walls: Vec<usize>,
        axis: Vec3,
        depth_mm: f64,
    ) -> Pocket {
        let leans =
            |f: &usize| self.true_normals(*f).map(|n| n.dot(axis).abs()).fold(0.0, f64::max);
        // a corner of radius R across its own surface stands with R cos(draft) in plan
        let corner = |f: &usize| {
            let radius = self.facts[*f].concave_radius_min_mm?;
            Some(radius * (1.0 - leans(f).powi(2)).max(0.0).sqrt())
        };
        let fillets = faces.iter().filter(|f| !walls.contains(f) && Some(**f) != floor);
        let hollow = |f: &usize| self.facts[*f].concave_radius_min_mm;
        let corner_radius_min_mm = walls.iter().filter_map(corner).min_by(f64::total_cmp);
        let round = |f: &usize| {
            let same = |r: f64| corner_radius_min_mm.is_some_and(|m| r <= m * (1.0 + ONE_RADIUS));
            self.part.faces[*f].kind == FaceKind::Cylinder && corner(f).is_some_and(same)
        };
        Pocket {
            floor,
            depth_mm,
            corner_radius_min_mm,
            floor_radius_min_mm: fillets.filter_map(hollow).min_by(f64::total_cmp),
            draft_rad: walls.iter().map(leans).fold(0.0, f64::max).min(1.0).asin(),
            axis,
            floor_area_mm2: floor.map_or(0.0, |f| self.part.faces[f].area_mm2),
            is_bore: walls.iter().all(round),
            walls,
            faces,
        }
    }

    pub(super) fn is_upright(&self, face: usize, axis: Vec3) -> bool {
        self.normals(face).all(|n| n.dot(axis).abs() <= UPRIGHT)
    }

    /// A face that stands upright or leans outwards by a draft.
    pub(super) fn is_wall(&self, face: usize, axis: Vec3) -> bool {
        self.normals(face).all(|n| (-UPRIGHT..=DRAFT).contains(&n.dot(axis)))
    }

    /// A hollow face that nowhere looks down.
    pub(super) fn is_fillet(&self, face: usize, axis: Vec3) -> bool {
        let hollow = self.facts[face].concave_radius_min_mm.is_some();
        hollow && self.normals(face).all(|n| n.dot(axis) >= -UPRIGHT)
    }

    fn normals(&self, face: usize) -> impl Iterator<Item = Vec3> + '_ {
        self.triangles[face].iter().map(|t| self.area_vector(*t).normalize_or_zero())
    }

    /// Normals of the surface, not of its chords, in the corners of the triangles.
    fn true_normals(&self, face: usize) -> impl Iterator<Item = Vec3> + '_ {
        let corners = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
        let at = move |t: &u32| corners.map(|at| self.part.site(*t, at).map(|s| s.normal));
        self.triangles[face].iter().flat_map(at).flatten()
    }

    fn area_vector(&self, t: u32) -> Vec3 {
        let [a, b, c] = self.part.mesh.corners(t as usize);
        (b - a).cross(c - a)
    }

    pub(super) fn mean_normal(&self, face: usize) -> Option<Vec3> {
        self.triangles[face].iter().map(|t| self.area_vector(*t)).sum::<Vec3>().try_normalize()
    }

    /// The direction across all normals of a curved face.
    pub(super) fn across(&self, face: usize) -> Option<Vec3> {
        let first = self.normals(face).find(|n| *n != Vec3::ZERO)?;
        let crosses = self.normals(face).map(|n| first.cross(n));
        let widest = crosses.max_by(|a, b| a.length_squared().total_cmp(&b.length_squared()))?;
        widest.try_normalize()
    }

    /// Lowest and highest along the axis, mm.
    pub(super) fn heights(&self, faces: &[usize], axis: Vec3) -> Option<(f64, f64)> {
        let corners = faces.iter().flat_map(|f| &self.triangles[*f]);
        let corners = corners.flat_map(|t| self.part.mesh.corners(*t as usize));
        units::Interval::hull(corners.map(|p| p.dot(axis))).map(|i| (i.low, i.high))
    }

    fn largest(&self, face: usize) -> Option<u32> {
        let area = |t: &u32| self.part.mesh.triangle_area_mm2(*t as usize);
        self.triangles[face].iter().copied().max_by(|a, b| area(a).total_cmp(&area(b)))
    }

    /// The middle of a face's largest triangle.
    pub(super) fn middle(&self, face: usize) -> Option<Vec3> {
        let t = self.largest(face)?;
        Some(triangle::at(self.part.mesh.corners(t as usize), [1.0 / 3.0; 3]))
    }

    /// The outward normal there.
    pub(super) fn normal_at_middle(&self, face: usize) -> Option<Vec3> {
        self.area_vector(self.largest(face)?).try_normalize()
    }

    /// How far a ray goes to the part, mm, and the face that it meets.
    pub(super) fn ray(&self, from: Vec3, along: Vec3) -> Option<(f64, usize)> {
        let hit = self.part.bvh.ray(&self.part.mesh, from, along, f64::MAX)?;
        Some((hit.t, self.part.mesh.face_of[hit.triangle as usize] as usize))
    }

    /// On which sides of a place faces stand, by rays across the axis.
    pub(super) fn sides(&self, faces: &[usize], from: Vec3, axis: Vec3) -> Sides {
        let along = axis.any_orthonormal_vector();
        let across = axis.cross(along);
        let meets = |i: usize| {
            let (sin, cos) = (std::f64::consts::TAU * i as f64 / RAYS as f64).sin_cos();
            self.ray(from, along * cos + across * sin).is_some_and(|(_, f)| faces.contains(&f))
        };
        let met: Vec<bool> = (0..RAYS).map(meets).collect();
        let half = RAYS / 2;
        let pairs = (0..half).filter(|i| met[*i] && met[i + half]).count();
        Sides {
            all_round: met.iter().filter(|m| **m).count() >= ALL_ROUND,
            opposite: pairs >= OPPOSITE,
        }
    }
}
