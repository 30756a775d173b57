//! A triangle of the mesh refined onto the exact surface that it stands for.

use crate::obstacle::Exact;
use geom::{Vec3, triangle};

/// Deepest refinement: `4^LEVELS` facets of one triangle.
const LEVELS: u32 = 6;

/// A tree of triangles with corners on the exact surface, each split at the middles of its sides;
/// the children of node `i` are `4 i + 1 …`.
#[derive(Debug, Clone)]
pub struct Patch {
    nodes: Vec<Node>,
}

/// One triangle of the tree.
#[derive(Debug, Clone, Copy)]
pub struct Node {
    /// Corners on the exact surface, mm.
    pub corners: [Vec3; 3],
    /// The exact surface over this triangle lies within this distance of it, mm.
    pub deviation_mm: f64,
}

impl Patch {
    /// Refines until the exact surface lies within `target_mm` of the facets, or as deep as it may.
    /// `None` where the exact surface cannot be evaluated.
    pub fn new(exact: &dyn Exact, triangle: u32, target_mm: f64) -> Option<Self> {
        let mut levels = vec![vec![corner_weights()]];
        let mut points = vec![place(exact, triangle, &levels[0])?];
        let mut own = Vec::new();
        for level in 0..LEVELS {
            let finer = split(&levels[level as usize]);
            let placed = place(exact, triangle, &finer)?;
            // middles of the sides against the coarser triangle, whose smooth bulge they measure
            let off = bulges(&points[level as usize], &placed);
            levels.push(finer);
            points.push(placed);
            own.push(off);
            // A bulge falls to a quarter with each split; its largest value is 4/3 of that over the
            // middle of a side. Half of the last bulge is one and a half times what is expected.
            if level >= 1 && 0.5 * off <= target_mm {
                break;
            }
        }
        let finest = 0.5 * own.last().copied().unwrap_or(0.0);
        Some(Self { nodes: deviations(&points, finest) })
    }

    /// The node with a number.
    pub fn node(&self, index: usize) -> &Node {
        &self.nodes[index]
    }

    /// Number of the first of the four children of node `index`, if it has any.
    pub fn children(&self, index: usize) -> Option<usize> {
        let first = 4 * index + 1;
        (first < self.nodes.len()).then_some(first)
    }
}

type Weights = [[f64; 3]; 3];

fn corner_weights() -> Weights {
    [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]
}

fn split(coarse: &[Weights]) -> Vec<Weights> {
    let mid = |a: [f64; 3], b: [f64; 3]| std::array::from_fn(|i| 0.5 * (a[i] + b[i]));
    coarse
        .iter()
        .flat_map(|&[a, b, c]| {
            let (ab, bc, ca) = (mid(a, b), mid(b, c), mid(c, a));
            [[a, ab, ca], [ab, b, bc], [ca, bc, c], [ab, bc, ca]]
        })
        .collect()
}

fn place(exact: &dyn Exact, triangle: u32, list: &[Weights]) -> Option<Vec<[Vec3; 3]>> {
    list.iter()
        .map(|w| {
            let [a, b, c] = w.map(|w| exact.point(triangle, w));
            Some([a?, b?, c?]).filter(|t| t.iter().all(|p| p.is_finite()))
        })
        .collect()
}

/// Largest distance of the finer corners from the coarser triangle that they split.
fn bulges(coarse: &[[Vec3; 3]], finer: &[[Vec3; 3]]) -> f64 {
    let mut largest: f64 = 0.0;
    for (t, middle) in coarse.iter().zip(finer.iter().skip(3).step_by(4)) {
        for p in middle {
            largest = largest.max(distance(*t, *p));
        }
    }
    largest
}

fn distance(t: [Vec3; 3], p: Vec3) -> f64 {
    triangle::at(t, triangle::closest_weights(t, p)).distance(p)
}

/// Nodes with their deviations: a facet whose corners all lie within some distance of a coarser
/// triangle lies within it as a whole, because what is near a convex set is convex.
fn deviations(points: &[Vec<[Vec3; 3]>], finest: f64) -> Vec<Node> {
    let Some(last) = points.last() else { return Vec::new() };
    let mut nodes = Vec::with_capacity(last.len() * 4 / 3 + 1);
    for (level, list) in points.iter().enumerate() {
        let below = 4_usize.pow((points.len() - 1 - level) as u32);
        for (i, &corners) in list.iter().enumerate() {
            let facets = &last[i * below..(i + 1) * below];
            let off = facets.iter().flatten().fold(0.0_f64, |d, &p| d.max(distance(corners, p)));
            nodes.push(Node { corners, deviation_mm: off + finest });
        }
    }
    nodes
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The triangle in the plane, lifted onto a sphere of radius 50.
    fn sphere(_: u32, w: [f64; 3]) -> Option<Vec3> {
        let (x, y) = (3.0 * w[1], 4.0 * w[2]);
        Some(Vec3::new(x, y, (2500.0 - x * x - y * y).sqrt()))
    }

    #[test]
    fn every_node_holds_the_surface_over_it() {
        let patch = Patch::new(&sphere, 0, 1e-4).expect("smooth");
        let finest = patch.nodes.last().expect("nodes").deviation_mm;
        assert!(finest <= 1e-4 && finest > 0.0);
        for i in 0..=60 {
            for j in 0..=60 - i {
                let w = [0.0, f64::from(i) / 60.0, f64::from(j) / 60.0];
                let p = sphere(0, w).expect("inside");
                // near the root, and near the best of the finest facets
                assert!(distance(patch.nodes[0].corners, p) <= patch.nodes[0].deviation_mm);
                let near = patch
                    .nodes
                    .iter()
                    .filter(|n| n.deviation_mm <= 1.0001e-4)
                    .map(|n| distance(n.corners, p))
                    .fold(f64::INFINITY, f64::min);
                assert!(near <= 1e-4);
            }
        }
    }

    #[test]
    fn a_flat_face_is_not_split_far() {
        let flat = |_: u32, w: [f64; 3]| Some(Vec3::new(w[1], w[2], 0.0));
        let patch = Patch::new(&flat, 0, 1e-4).expect("smooth");
        assert_eq!(patch.nodes.len(), 21);
        assert!(patch.nodes[0].deviation_mm < 1e-15);
        assert!(Patch::new(&|_: u32, _: [f64; 3]| None, 0, 1e-4).is_none());
    }
}
