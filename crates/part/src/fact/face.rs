//! Curvature range of every face, and the largest arc that lies on it without gouging.

use crate::Part;
use geom::tolerance::FLAT_PER_MM;
use rayon::prelude::*;
use units::Interval;

/// Distance between the points of a face at which its curvature is taken, mm.
const SPACING_MM: f64 = 1.0;
/// Parts into which the edges of one triangle are divided at most.
const MOST_PARTS: usize = 12;

/// What is known about the curvature of a face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FaceFacts {
    /// Smallest and largest principal curvature, 1/mm, positive where concave; `None` where the
    /// surface has no curvature anywhere (a face without mesh).
    pub curvature_per_mm: Option<Interval>,
    /// Largest error of those figures, 1/mm; zero for exact faces.
    pub error_per_mm: f64,
    /// Radius of the sharpest hollow, mm; `None` where the face is nowhere concave.
    pub concave_radius_min_mm: Option<f64>,
    /// Largest radius of an arc that may lie on the face in any direction without gouging beside
    /// its contact, mm; `None` where every radius may.
    pub arc_radius_max_mm: Option<f64>,
}

/// Facts about every face, in the order of the faces.
///
/// Curvature is evaluated at points about 1 mm apart and at every vertex of the mesh; an extreme
/// between them is missed by a second-order amount.
pub fn of_faces(part: &Part) -> Vec<FaceFacts> {
    let mut triangles: Vec<Vec<u32>> = vec![Vec::new(); part.faces.len()];
    for (t, face) in part.mesh.face_of.iter().enumerate() {
        triangles[*face as usize].push(t as u32);
    }
    let each = triangles.par_iter().enumerate();
    each.map(|(face, triangles)| facts(part, face, triangles)).collect()
}

fn facts(part: &Part, face: usize, triangles: &[u32]) -> FaceFacts {
    let error_per_mm = part.curvature_error_per_mm(face);
    let ranges = triangles.iter().filter_map(|t| range_in(part, *t));
    let range = Interval::hull(ranges.flat_map(|r| [r.low, r.high]));
    let hollow = range.map(|r| r.high).filter(|k| *k > FLAT_PER_MM.max(error_per_mm));
    FaceFacts {
        curvature_per_mm: range,
        error_per_mm,
        concave_radius_min_mm: hollow.map(|k| 1.0 / k),
        arc_radius_max_mm: hollow.map(|k| 1.0 / k),
    }
}

/// Range of the principal curvatures over the points of one triangle.
fn range_in(part: &Part, t: u32) -> Option<Interval> {
    let [a, b, c] = part.mesh.corners(t as usize);
    let longest = a.distance(b).max(b.distance(c)).max(c.distance(a));
    let parts = ((longest / SPACING_MM).ceil() as usize).clamp(1, MOST_PARTS);
    let mut range: Option<Interval> = None;
    for i in 0..=parts {
        for j in 0..=parts - i {
            let (u, v) = (i as f64 / parts as f64, j as f64 / parts as f64);
            let Some(site) = part.site(t, [1.0 - u - v, u, v]) else { continue };
            let eigen = site.curvature.entries.eigen();
            let (low, high) = (eigen.small, eigen.large);
            if low.is_finite() && high.is_finite() {
                let here = range.unwrap_or(Interval { low, high });
                range = Some(Interval { low: here.low.min(low), high: here.high.max(high) });
            }
        }
    }
    range
}

#[cfg(test)]
mod tests {
    use crate::{ReadOptions, fact, read};

    /// A box of 20 × 12 × 6 mm with a hollow half-cylinder of radius 3 mm milled along its top.
    fn grooved_box() -> String {
        let steps = 64;
        let profile: Vec<(f64, f64)> = [(-6.0, 0.0), (6.0, 0.0), (6.0, 6.0)]
            .into_iter()
            .chain((0..=steps).map(|i| {
                let angle = std::f64::consts::PI * f64::from(i) / f64::from(steps);
                (3.0 * angle.cos(), 6.0 - 3.0 * angle.sin())
            }))
            .chain([(-6.0, 6.0)])
            .collect();
        let mut text = String::new();
        for x in [0.0, 20.0] {
            for (y, z) in &profile {
                text.push_str(&format!("v {x} {y} {z}\n"));
            }
        }
        let n = profile.len();
        let caps = |from: usize, turned: bool| {
            let mut ring: Vec<String> = (0..n).map(|i| (from + i + 1).to_string()).collect();
            if turned {
                ring.reverse();
            }
            format!("f {}\n", ring.join(" "))
        };
        text.push_str(&caps(0, true));
        text.push_str(&caps(n, false));
        for i in 0..n {
            let j = (i + 1) % n;
            text.push_str(&format!("f {} {} {} {}\n", i + 1, j + 1, n + j + 1, n + i + 1));
        }
        text
    }

    #[test]
    fn the_hollow_bounds_the_arc_and_flat_faces_do_not() {
        let part = read(grooved_box().as_bytes(), "groove.obj", &ReadOptions::default()).unwrap();
        let facts = fact::of_faces(&part);
        let radii: Vec<f64> = facts.iter().filter_map(|f| f.arc_radius_max_mm).collect();
        assert_eq!(radii.len(), 1, "{facts:?}");
        assert!((radii[0] / 3.0 - 1.0).abs() < 0.02, "{radii:?}");
        assert!(facts.iter().filter(|f| f.arc_radius_max_mm.is_none()).count() >= 6);
    }
}
