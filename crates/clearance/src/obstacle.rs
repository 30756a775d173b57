//! What the assembly must keep clear of: meshes with their trees and, where known, exact surfaces.

use crate::patch::Patch;
use geom::bvh::Bvh;
use geom::{TriMesh, Vec3};
use std::sync::OnceLock;

/// Points of the exact surface that a triangle of the mesh stands for.
pub trait Exact: Sync {
    /// The exact point at barycentric weights of a triangle, mm; `None` where it is not known.
    /// Weights of a corner must give the same surface as weights inside.
    fn point(&self, triangle: u32, barycentric: [f64; 3]) -> Option<Vec3>;
}

impl<F: Fn(u32, [f64; 3]) -> Option<Vec3> + Sync> Exact for F {
    fn point(&self, triangle: u32, barycentric: [f64; 3]) -> Option<Vec3> {
        self(triangle, barycentric)
    }
}

/// A mesh to keep clear of.
pub struct Obstacle<'a> {
    /// Its name in messages: the part's, the fixture's.
    pub name: &'a str,
    /// Its triangles.
    pub mesh: &'a TriMesh,
    /// The tree over them.
    pub bvh: &'a Bvh,
    /// How far the true surface may lie from the mesh, mm; 0 where the mesh is the true surface.
    pub deviation_mm: f64,
    exact: Option<Refined<'a>>,
}

struct Refined<'a> {
    surface: &'a dyn Exact,
    target_mm: f64,
    patches: Vec<OnceLock<Option<Box<Patch>>>>,
}

impl<'a> Obstacle<'a> {
    /// A mesh whose true surface lies within `deviation_mm` of it.
    pub fn new(name: &'a str, mesh: &'a TriMesh, bvh: &'a Bvh, deviation_mm: f64) -> Self {
        Self { name, mesh, bvh, deviation_mm, exact: None }
    }

    /// Refines triangles that the cutter comes close to onto their exact surface, down to a
    /// deviation of `target_mm`; each when it is first needed, once.
    pub fn with_exact(mut self, surface: &'a dyn Exact, target_mm: f64) -> Self {
        let patches = self.mesh.triangles.iter().map(|_| OnceLock::new()).collect();
        self.exact = Some(Refined { surface, target_mm, patches });
        self
    }

    /// The refined triangle, where its exact surface is known.
    pub(crate) fn patch(&self, triangle: u32) -> Option<&Patch> {
        let refined = self.exact.as_ref()?;
        refined
            .patches
            .get(triangle as usize)?
            .get_or_init(|| Patch::new(refined.surface, triangle, refined.target_mm).map(Box::new))
            .as_deref()
    }
}
