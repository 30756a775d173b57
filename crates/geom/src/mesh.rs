//! Triangle meshes with the face that each triangle came from.

use crate::Vec3;

/// A triangle mesh; corners run counter-clockwise seen from outside the material.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct TriMesh {
    /// Vertex positions, mm.
    pub vertices: Vec<Vec3>,
    /// Three vertex numbers each.
    pub triangles: Vec<[u32; 3]>,
    /// The face that each triangle belongs to; as long as `triangles`.
    pub face_of: Vec<u32>,
}

impl TriMesh {
    /// The three corners of triangle `t`.
    pub fn corners(&self, t: usize) -> [Vec3; 3] {
        self.triangles[t].map(|i| self.vertices[i as usize])
    }

    /// Smallest and largest corner of the box round all vertices; `None` without vertices.
    pub fn bounds(&self) -> Option<(Vec3, Vec3)> {
        let first = *self.vertices.first()?;
        Some(self.vertices.iter().fold((first, first), |(lo, hi), v| (lo.min(*v), hi.max(*v))))
    }

    /// Volume enclosed, mm³, by the divergence theorem; meaningful only for a closed mesh.
    pub fn volume_mm3(&self) -> f64 {
        let origin = self.vertices.first().copied().unwrap_or_default();
        let six: f64 = (0..self.triangles.len())
            .map(|t| {
                let [a, b, c] = self.corners(t).map(|p| p - origin);
                a.dot(b.cross(c))
            })
            .sum();
        six / 6.0
    }

    /// Area of triangle `t`, mm².
    pub fn triangle_area_mm2(&self, t: usize) -> f64 {
        let [a, b, c] = self.corners(t);
        0.5 * (b - a).cross(c - a).length()
    }
}
