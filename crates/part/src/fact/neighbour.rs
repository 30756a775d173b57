//! Which faces meet, and how.

use crate::Part;
use geom::Vec3;
use geom::edges::MeshEdges;
use std::collections::BTreeMap;

/// Sine of the turn between two triangles up to which their faces count as meeting smoothly.
const SMOOTH_SINE: f64 = 0.17;

/// How two faces meet.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Meeting {
    /// Length of edge where the part is hollow between them, mm.
    pub concave_mm: f64,
    /// Length of edge where one face runs smoothly into the other, mm.
    pub smooth_mm: f64,
    /// Length of edge where the part sticks out between them, mm.
    pub convex_mm: f64,
}

/// Every pair of faces that share an edge.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Neighbours {
    of: Vec<BTreeMap<usize, Meeting>>,
}

impl Neighbours {
    /// The meetings of all faces of a part.
    pub fn new(part: &Part) -> Self {
        let mesh = &part.mesh;
        let edges = MeshEdges::new(mesh);
        let mut of = vec![BTreeMap::<usize, Meeting>::new(); part.faces.len()];
        for e in 0..edges.len() {
            let [one, other] = edges.sides(e) else { continue };
            let (s, t) = (one.triangle as usize, other.triangle as usize);
            let (f, g) = (mesh.face_of[s] as usize, mesh.face_of[t] as usize);
            if f == g {
                continue;
            }
            let [a, b] = edges.ends(e).map(|v| mesh.vertices[v as usize]);
            let (n, m) = (normal(part, s), normal(part, t));
            // along the edge as the first triangle runs: a turn of the normals about it is convex
            let along = if one.forward { b - a } else { a - b };
            let sine = n.cross(m).dot(along.normalize_or_zero());
            for (from, to) in [(f, g), (g, f)] {
                of[from].entry(to).or_default().add(sine, along.length());
            }
        }
        Self { of }
    }

    /// The faces that meet `face`, by number.
    pub fn of(&self, face: usize) -> &BTreeMap<usize, Meeting> {
        &self.of[face]
    }
}

impl Meeting {
    fn add(&mut self, sine: f64, length_mm: f64) {
        if sine.abs() <= SMOOTH_SINE {
            self.smooth_mm += length_mm;
        } else if sine < 0.0 {
            self.concave_mm += length_mm;
        } else {
            self.convex_mm += length_mm;
        }
    }

    /// Whole length of the shared edge, mm.
    pub fn length_mm(&self) -> f64 {
        self.concave_mm + self.smooth_mm + self.convex_mm
    }
}

fn normal(part: &Part, t: usize) -> Vec3 {
    let [a, b, c] = part.mesh.corners(t);
    (b - a).cross(c - a).normalize_or_zero()
}
