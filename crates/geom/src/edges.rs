//! The edges of a triangle mesh and the triangles that meet in each.

use crate::{TriMesh, Vec3};

/// One side of an edge: the triangle, and which of its edges (corner `side` to the next one).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Side {
    /// Triangle number.
    pub triangle: u32,
    /// 0: corner 0 to 1; 1: corner 1 to 2; 2: corner 2 to 0.
    pub side: u8,
    /// Whether the triangle runs along the edge from its lower to its higher vertex number.
    pub forward: bool,
}

/// All edges of a mesh, sorted by their vertex numbers.
#[derive(Debug, Clone, Default)]
pub struct MeshEdges {
    ends: Vec<[u32; 2]>,
    first: Vec<u32>,
    sides: Vec<Side>,
    of_triangle: Vec<[u32; 3]>,
}

impl MeshEdges {
    /// The edges of all triangles of `mesh`.
    pub fn new(mesh: &TriMesh) -> Self {
        Self::of_triangles(&mesh.triangles)
    }

    /// The edges of triangles given by their corners.
    pub fn of_triangles(triangles: &[[u32; 3]]) -> Self {
        let mut keyed: Vec<(u64, u32)> = Vec::with_capacity(3 * triangles.len());
        for (t, corners) in triangles.iter().enumerate() {
            for k in 0..3 {
                let (a, b) = (corners[k], corners[(k + 1) % 3]);
                let key = (u64::from(a.min(b)) << 32) | u64::from(a.max(b));
                keyed.push((key, (3 * t + k) as u32));
            }
        }
        keyed.sort_unstable();
        let mut table = Self {
            of_triangle: vec![[0; 3]; triangles.len()],
            sides: Vec::with_capacity(keyed.len()),
            ..Self::default()
        };
        let mut last = None;
        for (key, slot) in keyed {
            if last != Some(key) {
                table.ends.push([(key >> 32) as u32, key as u32]);
                table.first.push(table.sides.len() as u32);
                last = Some(key);
            }
            let (t, k) = (slot as usize / 3, slot as usize % 3);
            table.of_triangle[t][k] = (table.ends.len() - 1) as u32;
            let forward = triangles[t][k] == (key >> 32) as u32;
            table.sides.push(Side { triangle: t as u32, side: k as u8, forward });
        }
        table.first.push(table.sides.len() as u32);
        table
    }

    /// How many edges there are.
    pub fn len(&self) -> usize {
        self.ends.len()
    }

    /// Whether there is no edge.
    pub fn is_empty(&self) -> bool {
        self.ends.is_empty()
    }

    /// Vertex numbers of edge `e`, the lower first.
    pub fn ends(&self, e: usize) -> [u32; 2] {
        self.ends[e]
    }

    /// The triangles that meet in edge `e`, by number.
    pub fn sides(&self, e: usize) -> &[Side] {
        &self.sides[self.first[e] as usize..self.first[e + 1] as usize]
    }

    /// The three edges of triangle `t`: from corner 0, 1 and 2 to the next.
    pub fn of_triangle(&self, t: usize) -> [u32; 3] {
        self.of_triangle[t]
    }

    /// The two sides of edge `e` where exactly two triangles meet in it.
    pub fn pair(&self, e: usize) -> Option<[Side; 2]> {
        self.sides(e).try_into().ok()
    }

    /// The triangle across side `k` of triangle `t`, where exactly two meet there.
    pub fn across(&self, t: usize, k: usize) -> Option<Side> {
        let [a, b] = self.pair(self.of_triangle[t][k] as usize)?;
        Some(if a.triangle as usize == t && a.side as usize == k { b } else { a })
    }

    /// Turn of the outward normal across edge `e`, rad: positive where the surface is concave
    /// there (a valley seen from outside), negative where convex, 0 where flat. `None` where not
    /// exactly two triangles meet, or where they run along the edge the same way.
    pub fn turn_rad(&self, mesh: &TriMesh, e: usize) -> Option<f64> {
        let [s, t] = self.pair(e)?;
        if s.forward == t.forward {
            return None;
        }
        let (ns, nt) = (normal(mesh, s.triangle), normal(mesh, t.triangle));
        let [a, b] = self.ends[e].map(|v| mesh.vertices[v as usize]);
        let along = if s.forward { b - a } else { a - b };
        // along × ns points out of triangle s, across the edge, towards t
        let sine = -ns.cross(nt).dot(along.normalize_or_zero());
        Some(sine.atan2(ns.dot(nt)))
    }
}

fn normal(mesh: &TriMesh, t: u32) -> Vec3 {
    let [a, b, c] = mesh.corners(t as usize);
    (b - a).cross(c - a).normalize_or_zero()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hinge(z: f64) -> TriMesh {
        TriMesh {
            vertices: vec![
                Vec3::ZERO,
                Vec3::new(0.0, 1.0, 0.0),
                Vec3::new(-1.0, 0.0, 0.0),
                Vec3::new(1.0, 0.0, z),
            ],
            triangles: vec![[0, 1, 2], [1, 0, 3]],
            face_of: vec![0, 0],
        }
    }

    #[test]
    fn a_valley_turns_positive_and_a_ridge_negative() {
        for (z, expected) in [(1.0, 45.0_f64), (-1.0, -45.0), (0.0, 0.0)] {
            let mesh = hinge(z);
            let edges = MeshEdges::new(&mesh);
            let e = edges.of_triangle(0)[0] as usize;
            let turn = edges.turn_rad(&mesh, e).expect("two triangles");
            assert!((turn.to_degrees() - expected).abs() < 1e-12, "{z}: {turn}");
        }
    }

    #[test]
    fn edges_know_their_triangles() {
        let mesh = hinge(0.0);
        let edges = MeshEdges::new(&mesh);
        assert_eq!(edges.len(), 5);
        assert_eq!(edges.across(0, 0).map(|s| s.triangle), Some(1));
        assert_eq!(edges.across(0, 1), None);
        assert_eq!((0..5).filter(|&e| edges.sides(e).len() == 1).count(), 4);
    }

    #[test]
    fn triangles_that_disagree_have_no_turn() {
        let mut mesh = hinge(1.0);
        mesh.triangles[1] = [0, 1, 3];
        let edges = MeshEdges::new(&mesh);
        let e = edges.of_triangle(0)[0] as usize;
        assert_eq!(edges.turn_rad(&mesh, e), None);
    }
}
