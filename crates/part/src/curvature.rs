//! Normal and curvature of a mesh, estimated at its vertices.
//!
//! At each vertex a polynomial of the fourth order (third or second where there are few points) is
//! fitted to the vertices round it, as a height over the tangent plane, within the vertex's own
//! face only; the tensor follows from its derivatives. The difference to the fit one order lower
//! and the scatter of the points give the error that is stated. The ring round the vertex grows
//! until the scatter no longer spoils the curvature. Source of the method: F. Cazals, M. Pouget,
//! Estimating differential quantities using polynomial fitting of osculating jets (2005), from
//! memory.

mod fit;
mod rings;

use rings::Nodes;

use crate::recognise::Recognised;
use geom::{Mat3, Site, Sym2, TangentTensor, TriMesh, Vec3};
use rayon::prelude::*;

/// What is known of the surface at one vertex of one face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Estimate {
    /// Unit normal out of the material.
    pub(crate) normal: Vec3,
    /// Curvature tensor as a symmetric matrix in space, 1/mm, zero along the normal.
    pub(crate) tensor: Mat3,
    /// Largest error of an entry to be expected, 1/mm.
    pub(crate) error_per_mm: f64,
}

/// Estimates for a mesh: one for each vertex of each face.
#[derive(Debug, Clone, Default)]
pub struct Estimates {
    corner_node: Vec<[u32; 3]>,
    nodes: Vec<Estimate>,
    /// Surface of each face, where one was recognised.
    surfaces: Vec<Option<Recognised>>,
}

/// A tensor of a tangent plane as a matrix in space.
pub(crate) fn matrix_of(t: &TangentTensor) -> Mat3 {
    let outer = |a: Vec3, b: Vec3| Mat3::from_cols(a * b.x, a * b.y, a * b.z);
    outer(t.e1, t.e1) * t.entries.xx
        + (outer(t.e1, t.e2) + outer(t.e2, t.e1)) * t.entries.xy
        + outer(t.e2, t.e2) * t.entries.yy
}

/// The part of a matrix in space that lies in the tangent plane of `normal`.
fn tangent(normal: Vec3, matrix: Mat3) -> TangentTensor {
    let e1 = normal.any_orthonormal_vector();
    let e2 = normal.cross(e1);
    let entry = |a: Vec3, b: Vec3| a.dot(matrix * b);
    TangentTensor { e1, e2, entries: Sym2::new(entry(e1, e1), entry(e1, e2), entry(e2, e2)) }
}

impl Estimates {
    /// Fits every vertex of every face of `mesh` whose surface was not recognised; `surfaces` holds
    /// those that were, by face.
    pub(crate) fn new(mesh: &TriMesh, surfaces: Vec<Option<Recognised>>) -> Self {
        let nodes = &Nodes::new(mesh);
        let normals = nodes.normals(mesh);
        let estimates = (0..nodes.len())
            .into_par_iter()
            .map_init(
                || rings::Walker::new(nodes.len()),
                |walker, n| {
                    let p = mesh.vertices[nodes.vertex(n) as usize];
                    let known = surfaces[nodes.face(n) as usize].as_ref();
                    known
                        .and_then(|s| s.estimate(p))
                        .unwrap_or_else(|| fit::at(mesh, nodes, &normals, n, walker))
                },
            )
            .collect();
        Self { corner_node: nodes.corners().to_vec(), nodes: estimates, surfaces }
    }

    /// Largest error stated at any vertex of the triangles for which `wanted` holds, 1/mm.
    pub(crate) fn worst_error(&self, wanted: impl Fn(usize) -> bool) -> f64 {
        let corners = self.corner_node.iter().enumerate().filter(|(t, _)| wanted(*t));
        corners
            .flat_map(|(_, c)| c)
            .map(|&n| self.nodes[n as usize].error_per_mm)
            .fold(0.0, f64::max)
    }

    /// The three estimates at the corners of triangle `t`.
    pub(crate) fn corners(&self, t: usize) -> [&Estimate; 3] {
        self.corner_node[t].map(|n| &self.nodes[n as usize])
    }

    /// Point, normal and curvature inside triangle `t`: on the face's surface where it was
    /// recognised, else between the surfaces that the three
    /// corners expect there, weighted barycentrically.
    pub(crate) fn site(&self, mesh: &TriMesh, t: usize, w: [f64; 3]) -> Option<Site> {
        let corners = mesh.corners(t);
        let flat = geom::triangle::at(corners, w);
        if let Some(surface) = &self.surfaces[mesh.face_of[t] as usize] {
            return surface.site(flat);
        }
        let (mut point, mut normal) = (Vec3::ZERO, Vec3::ZERO);
        for (k, estimate) in self.corners(t).into_iter().enumerate() {
            let n = estimate.normal;
            let step = flat - corners[k];
            let level = step - n * n.dot(step);
            let height = 0.5 * level.dot(estimate.tensor * level);
            point += (corners[k] + level + n * height) * w[k];
            // the normal turns against the slope of that height
            normal += (n - estimate.tensor * level).normalize_or_zero() * w[k];
        }
        let normal = normal.try_normalize()?;
        // each corner's tensor is turned into the common tangent plane before the mean is taken
        let tensor = self.corners(t).into_iter().zip(w).fold(Mat3::ZERO, |sum, (estimate, w)| {
            let turn = Mat3::from_quat(geom::Quat::from_rotation_arc(estimate.normal, normal));
            sum + turn * estimate.tensor * turn.transpose() * w
        });
        Some(Site { point, normal, curvature: tangent(normal, tensor) })
    }
}
