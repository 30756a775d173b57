//! Point, normal and curvature anywhere on the part's mesh.

use crate::{Face, Part};
use geom::{Site, Vec2, Vec3};

impl Part {
    /// The face that triangle `t` belongs to.
    pub fn face_of(&self, t: u32) -> &Face {
        &self.faces[self.mesh.face_of[t as usize] as usize]
    }

    /// Point, normal and curvature inside triangle `t`: on the exact surface at the parameters
    /// interpolated between the corners, or estimated from the mesh. `None` only where the surface
    /// has no normal.
    pub fn site(&self, t: u32, barycentric: [f64; 3]) -> Option<Site> {
        match self.exact_at(t, barycentric) {
            Some((face, uv)) => face.surface.as_ref()?.site(uv, face.flip),
            None => self.estimates.as_ref()?.site(&self.mesh, t as usize, barycentric),
        }
    }

    /// Point, normal and curvature where `p` falls on the surface of the face that triangle `t`
    /// belongs to: the nearest point of the exact surface, or of that triangle of the mesh.
    pub fn site_near(&self, t: u32, p: Vec3) -> Option<Site> {
        let weights = geom::triangle::closest_weights(self.mesh.corners(t as usize), p);
        match self.exact_at(t, weights) {
            Some((face, guess)) => {
                let surface = face.surface.as_ref()?;
                surface.site(surface.project(p, guess).unwrap_or(guess), face.flip)
            }
            None => self.estimates.as_ref()?.site(&self.mesh, t as usize, weights),
        }
    }

    /// Largest error of curvature to be expected on a face, 1/mm: zero where it is exact.
    pub fn curvature_error_per_mm(&self, face: usize) -> f64 {
        let exact = self.faces[face].surface.is_some();
        let estimates = self.estimates.as_ref().filter(|_| !exact);
        estimates.map_or(0.0, |e| e.worst_error(|t| self.mesh.face_of[t] as usize == face))
    }

    /// Face and surface parameters inside triangle `t`, where the face is exact.
    fn exact_at(&self, t: u32, w: [f64; 3]) -> Option<(&Face, Vec2)> {
        let uv = self.corner_uv.get(t as usize)?;
        let face = self.face_of(t);
        face.surface.as_ref()?;
        Some((face, uv[0] * w[0] + uv[1] * w[1] + uv[2] * w[2]))
    }
}
