//! Nearest point and rays on a tree of boxes.

use super::{Bvh, Node};
use crate::triangle::{self, Ray};
use crate::{TriMesh, Vec3};

/// The point of a mesh nearest to a given one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Closest {
    /// Triangle that holds the point.
    pub triangle: u32,
    /// The point, mm.
    pub point: Vec3,
    /// Its barycentric weights in the triangle.
    pub barycentric: [f64; 3],
    /// Distance, mm.
    pub distance_mm: f64,
}

/// Where a ray meets a triangle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RayHit {
    /// Triangle that was hit.
    pub triangle: u32,
    /// Place along the ray, in lengths of its direction.
    pub t: f64,
    /// Barycentric weights in the triangle.
    pub barycentric: [f64; 3],
}

impl Bvh {
    /// The point of the mesh nearest to `p`, if it is nearer than `within_mm` (or as near). Of
    /// equally near triangles the one with the lowest number.
    pub fn closest(&self, mesh: &TriMesh, p: Vec3, within_mm: f64) -> Option<Closest> {
        let mut best: Option<(u32, [f64; 3], Vec3)> = None;
        let mut best_squared = within_mm * within_mm;
        let mut stack = Stack::new();
        stack.push(0.0, 0, !self.nodes.is_empty() && p.is_finite());
        while let Some((low, n)) = stack.pop() {
            if low > best_squared {
                continue;
            }
            let node = &self.nodes[n];
            if node.count > 0 {
                for &t in self.triangles(node) {
                    let corners = mesh.corners(t as usize);
                    let w = triangle::closest_weights(corners, p);
                    let point = triangle::at(corners, w);
                    let d = (point - p).length_squared();
                    let earlier = best.is_none_or(|b| t < b.0);
                    if d < best_squared || (d == best_squared && earlier) {
                        best_squared = d;
                        best = Some((t, w, point));
                    }
                }
                continue;
            }
            let (l, r) = (n + 1, node.first as usize);
            let (dl, dr) = (box_squared(&self.nodes[l], p), box_squared(&self.nodes[r], p));
            if dl <= dr {
                stack.push(dr, r, dr <= best_squared);
                stack.push(dl, l, dl <= best_squared);
            } else {
                stack.push(dl, l, dl <= best_squared);
                stack.push(dr, r, dr <= best_squared);
            }
        }
        best.map(|(triangle, barycentric, point)| Closest {
            triangle,
            point,
            barycentric,
            distance_mm: best_squared.sqrt(),
        })
    }

    /// First triangle on the ray with 0 ≤ t ≤ `t_max`, from either side.
    pub fn ray(&self, mesh: &TriMesh, origin: Vec3, direction: Vec3, t_max: f64) -> Option<RayHit> {
        let mut best: Option<RayHit> = None;
        let ray = Ray::new(origin, direction)?;
        let slabs = Slabs::new(&ray);
        let mut limit = t_max;
        let mut stack = Stack::new();
        stack.push(0.0, 0, !self.nodes.is_empty());
        while let Some((low, n)) = stack.pop() {
            if low > limit {
                continue;
            }
            let node = &self.nodes[n];
            if node.count > 0 {
                for &t in self.triangles(node) {
                    let hit = hit(&ray, mesh, t).filter(|h| h.t >= 0.0 && h.t <= limit);
                    if let Some(h) = hit.filter(|h| best.is_none_or(|b| nearer(h, &b))) {
                        limit = h.t;
                        best = Some(h);
                    }
                }
                continue;
            }
            let (l, r) = (n + 1, node.first as usize);
            let (tl, tr) = (slabs.enter(&self.nodes[l]), slabs.enter(&self.nodes[r]));
            if tl <= tr {
                stack.push(tr, r, tr <= limit);
                stack.push(tl, l, tl <= limit);
            } else {
                stack.push(tl, l, tl <= limit);
                stack.push(tr, r, tr <= limit);
            }
        }
        best
    }

    /// All triangles on the ray with 0 ≤ t ≤ `t_max`, sorted by `t` and then by number. A ray
    /// through an edge meets both triangles of the edge.
    pub fn ray_all(
        &self,
        mesh: &TriMesh,
        origin: Vec3,
        direction: Vec3,
        t_max: f64,
    ) -> Vec<RayHit> {
        let mut hits = Vec::new();
        let Some(ray) = Ray::new(origin, direction) else { return hits };
        let slabs = Slabs::new(&ray);
        self.visit(
            |lo, hi| slabs.enter_box(lo, hi) <= t_max,
            |t| hits.extend(hit(&ray, mesh, t).filter(|h| h.t >= 0.0 && h.t <= t_max)),
        );
        hits.sort_by(|a, b| a.t.total_cmp(&b.t).then(a.triangle.cmp(&b.triangle)));
        hits
    }

    /// Whether a point lies inside the closed surface: an odd number of crossings along two at least of
    /// three directions, as a ray through an edge meets both its triangles.
    pub fn holds(&self, mesh: &TriMesh, p: Vec3) -> bool {
        let odd = |d: &Vec3| self.ray_all(mesh, p, *d, f64::INFINITY).len() % 2 == 1;
        let (first, second) = (odd(&ASKEW[0]), odd(&ASKEW[1]));
        if first == second { first } else { odd(&ASKEW[2]) }
    }
}

/// Directions that run along no edge of what people draw.
const ASKEW: [Vec3; 3] = [
    Vec3::new(0.573, 0.618, 0.538),
    Vec3::new(-0.271, 0.841, -0.468),
    Vec3::new(0.151, -0.344, 0.927),
];

fn hit(ray: &Ray, mesh: &TriMesh, triangle: u32) -> Option<RayHit> {
    let (t, barycentric) = ray.meet(mesh.corners(triangle as usize))?;
    Some(RayHit { triangle, t, barycentric })
}

fn nearer(a: &RayHit, b: &RayHit) -> bool {
    a.t < b.t || (a.t == b.t && a.triangle < b.triangle)
}

fn box_squared(node: &Node, p: Vec3) -> f64 {
    (node.lo - p).max(p - node.hi).max(Vec3::ZERO).length_squared()
}

/// The nodes that wait, nearest on top. Trees of this kind stay far below 64 levels on real
/// meshes, so the vector hardly ever grows.
struct Stack(Vec<(f64, u32)>);

impl Stack {
    fn new() -> Self {
        Self(Vec::with_capacity(64))
    }

    fn push(&mut self, low: f64, node: usize, wanted: bool) {
        if wanted {
            self.0.push((low, node as u32));
        }
    }

    fn pop(&mut self) -> Option<(f64, usize)> {
        self.0.pop().map(|(low, n)| (low, n as usize))
    }
}

/// Slab test of boxes against a ray, made generous by a few rounding errors so that no triangle
/// that is hit is lost.
struct Slabs {
    origin: Vec3,
    inverse: Vec3,
}

impl Slabs {
    fn new(ray: &Ray) -> Self {
        Self { origin: ray.origin, inverse: ray.direction.recip() }
    }

    fn enter(&self, node: &Node) -> f64 {
        self.enter_box(node.lo, node.hi)
    }

    /// Parameter at which the ray enters the box, infinite where it misses. A direction without
    /// a component along an axis gives 0 · ∞ there, which `min` and `max` pass over.
    fn enter_box(&self, lo: Vec3, hi: Vec3) -> f64 {
        let (mut enter, mut leave) = (0.0_f64, f64::INFINITY);
        for axis in 0..3 {
            let a = (lo[axis] - self.origin[axis]) * self.inverse[axis];
            let b = (hi[axis] - self.origin[axis]) * self.inverse[axis];
            if a.is_nan() || b.is_nan() {
                continue;
            }
            enter = enter.max(a.min(b));
            leave = leave.min(a.max(b));
        }
        if enter <= leave + leave.abs() * (8.0 * f64::EPSILON) { enter } else { f64::INFINITY }
    }
}
