//! Faces that lie on one round surface are one face.
//!
//! A strip of a cylinder beside a bore is one wide facet among narrow ones and looks flat by itself.
//! Its corners tell: they lie on the cylinder beside it, and its middle stands no further off than
//! the middles of the cylinder's own facets. (A flat milled on a round shaft fails the second.)

use super::split::Found;
use crate::model::FaceKind;
use crate::recognise::{Region, recognise};
use geom::{MeshEdges, TriMesh};
use std::collections::BTreeSet;

/// How much further off than those of the round face the middles of a joining face's facets may lie.
const AS_FAR: f64 = 2.0;

/// Joins faces that border each other (`alike`: and belong together) into the round faces on whose
/// surfaces they lie; the order of the first triangles is kept.
pub(super) fn join(
    mesh: &TriMesh,
    edges: &MeshEdges,
    alike: impl Fn(u32, u32) -> bool,
    mut found: Vec<Found>,
) -> Vec<Found> {
    let mut face_of = vec![0_usize; mesh.triangles.len()];
    for (i, f) in found.iter().enumerate() {
        f.triangles.iter().for_each(|&t| face_of[t as usize] = i);
    }
    let mut rounds: Vec<usize> = (0..found.len()).filter(|&i| is_round(&found[i])).collect();
    rounds.sort_by_key(|&i| (std::cmp::Reverse(found[i].triangles.len()), i));
    for round in rounds {
        let Some(grown) = grown(mesh, edges, &alike, &found, &face_of, round) else { continue };
        let region = Region::new(mesh, &grown);
        let fitted = recognise(&region).filter(|s| s.kind != FaceKind::Plane);
        found[round].surface = fitted.or(found[round].surface.take());
        for &t in &grown {
            let old = std::mem::replace(&mut face_of[t as usize], round);
            if old != round {
                found[old].triangles.clear();
            }
        }
        found[round].triangles = grown;
    }
    found.retain(|f| !f.triangles.is_empty());
    found.sort_by_key(|f| f.triangles[0]);
    found
}

fn is_round(face: &Found) -> bool {
    face.surface.as_ref().is_some_and(|s| s.kind != FaceKind::Plane)
}

/// The triangles of a round face with those of the faces that lie on its surface, ascending; `None`
/// where it stays as it is.
fn grown(
    mesh: &TriMesh,
    edges: &MeshEdges,
    alike: &impl Fn(u32, u32) -> bool,
    found: &[Found],
    face_of: &[usize],
    round: usize,
) -> Option<Vec<u32>> {
    let own = &found[round].triangles;
    let surface = found[round].surface.as_ref()?;
    let region = Region::new(mesh, own);
    let far_mm = AS_FAR * surface.worst_middle_mm(&region);
    let mut all = own.clone();
    let mut tried = BTreeSet::from([round]);
    let mut next = 0;
    while next < all.len() {
        let t = all[next];
        next += 1;
        for k in 0..3 {
            let Some(side) = edges.across(t as usize, k) else { continue };
            let other = face_of[side.triangle as usize];
            if !alike(t, side.triangle) || !tried.insert(other) {
                continue;
            }
            let triangles = &found[other].triangles;
            let candidate = Region::new(mesh, triangles);
            if surface.holds(&region, &candidate, far_mm) {
                all.extend(triangles);
            }
        }
    }
    all.sort_unstable();
    (all.len() > own.len()).then_some(all)
}

#[cfg(test)]
mod tests {
    use super::*;
    use geom::Vec3;

    /// Strips of a cylinder of radius 40 mm as three faces: those before the middle one, that one by
    /// itself, `steps` wide, and those after it.
    fn joined(steps: f64) -> Vec<FaceKind> {
        let mut vertices = Vec::new();
        let mut angle = -0.3_f64;
        for i in 0..=12 {
            let at = |x: f64| Vec3::new(x, 40.0 * angle.sin(), 40.0 * angle.cos());
            vertices.extend([at(0.0), at(60.0)]);
            angle += 0.05 * if i == 6 { steps } else { 1.0 };
        }
        let strip = |i: u32| [[2 * i, 2 * i + 1, 2 * i + 3], [2 * i, 2 * i + 3, 2 * i + 2]];
        let triangles: Vec<[u32; 3]> = (0..12).flat_map(strip).collect();
        let mesh = TriMesh { vertices, face_of: vec![0; triangles.len()], triangles };
        let faces = [0..12, 12..14, 14..24].map(|range| {
            let triangles: Vec<u32> = range.collect();
            Found { surface: recognise(&Region::new(&mesh, &triangles)), triangles }
        });
        let found = join(&mesh, &MeshEdges::new(&mesh), |_, _| true, faces.into());
        found.iter().map(|f| f.surface.as_ref().map_or(FaceKind::Freeform, |s| s.kind)).collect()
    }

    #[test]
    fn a_strip_of_a_cylinder_joins_it_and_a_flat_on_it_does_not() {
        assert_eq!(joined(1.0), [FaceKind::Cylinder]);
        assert_eq!(joined(5.0), [FaceKind::Cylinder, FaceKind::Plane, FaceKind::Cylinder]);
    }
}
