//! The vertices of each face by itself, and the rings of them round one another.

use geom::{TriMesh, Vec3};

/// A vertex as one face sees it: a vertex on a border between faces is one node for each.
#[derive(Debug, Clone, Default)]
pub(crate) struct Nodes {
    /// Vertex and face of each node.
    of: Vec<(u32, u32)>,
    corner: Vec<[u32; 3]>,
    first: Vec<u32>,
    neighbours: Vec<u32>,
}

impl Nodes {
    /// The nodes of all faces of a mesh.
    pub(crate) fn new(mesh: &TriMesh) -> Self {
        let mut keyed: Vec<(u32, u32, u32)> = Vec::with_capacity(3 * mesh.triangles.len());
        for (t, corners) in mesh.triangles.iter().enumerate() {
            for (k, &v) in corners.iter().enumerate() {
                keyed.push((v, mesh.face_of[t], (3 * t + k) as u32));
            }
        }
        keyed.sort_unstable();
        let mut nodes = Self { corner: vec![[0; 3]; mesh.triangles.len()], ..Self::default() };
        for (v, face, slot) in keyed {
            if nodes.of.last() != Some(&(v, face)) {
                nodes.of.push((v, face));
            }
            nodes.corner[slot as usize / 3][slot as usize % 3] = (nodes.of.len() - 1) as u32;
        }
        nodes.link();
        nodes
    }

    fn link(&mut self) {
        let mut pairs: Vec<(u32, u32)> = Vec::with_capacity(6 * self.corner.len());
        for c in &self.corner {
            for k in 0..3 {
                let (a, b) = (c[k], c[(k + 1) % 3]);
                pairs.extend([(a, b), (b, a)]);
            }
        }
        pairs.sort_unstable();
        pairs.dedup();
        self.first = vec![0; self.of.len() + 1];
        pairs.iter().for_each(|p| self.first[p.0 as usize + 1] += 1);
        for n in 0..self.of.len() {
            self.first[n + 1] += self.first[n];
        }
        self.neighbours = pairs.into_iter().map(|p| p.1).collect();
    }

    pub(crate) fn len(&self) -> usize {
        self.of.len()
    }

    pub(crate) fn vertex(&self, n: usize) -> u32 {
        self.of[n].0
    }

    pub(crate) fn face(&self, n: usize) -> u32 {
        self.of[n].1
    }

    pub(crate) fn corners(&self) -> &[[u32; 3]] {
        &self.corner
    }

    fn around(&self, n: usize) -> &[u32] {
        &self.neighbours[self.first[n] as usize..self.first[n + 1] as usize]
    }

    /// Mean normal at each node, triangles weighted by their angle there over their two sides
    /// (exact for points on a sphere). Source of the weights: N. Max, Weights for computing vertex
    /// normals from facet normals (1999), from memory.
    pub(crate) fn normals(&self, mesh: &TriMesh) -> Vec<Vec3> {
        let mut normals = vec![Vec3::ZERO; self.len()];
        for (t, nodes) in self.corner.iter().enumerate() {
            let p = mesh.corners(t);
            for k in 0..3 {
                let (a, b) = (p[(k + 1) % 3] - p[k], p[(k + 2) % 3] - p[k]);
                let weight = a.length_squared() * b.length_squared();
                if weight > 0.0 {
                    normals[nodes[k] as usize] += a.cross(b) / weight;
                }
            }
        }
        normals.into_iter().map(Vec3::normalize_or_zero).collect()
    }
}

/// Walks rings round a node; holds what it needs so that many walks cost no allocation.
pub(crate) struct Walker {
    stamp: Vec<u32>,
    turn: u32,
    /// The nodes found, the start first.
    pub(crate) found: Vec<u32>,
    ring: usize,
}

impl Walker {
    pub(crate) fn new(nodes: usize) -> Self {
        Self { stamp: vec![0; nodes], turn: 0, found: Vec::new(), ring: 0 }
    }

    /// Begins at node `n`.
    pub(crate) fn start(&mut self, n: usize) {
        self.turn += 1;
        self.found.clear();
        self.found.push(n as u32);
        self.stamp[n] = self.turn;
        self.ring = 0;
    }

    /// Adds one ring of nodes that `wanted` takes; false where there is none.
    pub(crate) fn grow(&mut self, nodes: &Nodes, wanted: impl Fn(u32) -> bool) -> bool {
        let (from, to) = (self.ring, self.found.len());
        for i in from..to {
            for &m in nodes.around(self.found[i] as usize) {
                if self.stamp[m as usize] != self.turn && wanted(m) {
                    self.stamp[m as usize] = self.turn;
                    self.found.push(m);
                }
            }
        }
        self.ring = to;
        self.found.len() > to
    }
}
