//! A tree of boxes over the triangles of a mesh: nearest point, rays, and searches of one's own.
//!
//! Binary, built top down by the surface-area heuristic over bins, at most four triangles a leaf.
//! The same mesh gives the same tree, and every query visits it in the same order. The tree keeps
//! triangle numbers only: queries take the mesh it was built from.

mod query;

pub use query::{Closest, RayHit};

use crate::{TriMesh, Vec3};

/// Triangles a leaf holds at most.
const LEAF: usize = 4;
/// Bins per axis that the heuristic looks at.
const BINS: usize = 16;
/// Cost of visiting a node in units of testing one triangle.
const NODE_COST: f64 = 1.0;

/// Axis-parallel box.
#[derive(Debug, Clone, Copy)]
struct Box3 {
    lo: Vec3,
    hi: Vec3,
}

impl Box3 {
    const EMPTY: Self = Self { lo: Vec3::splat(f64::INFINITY), hi: Vec3::splat(f64::NEG_INFINITY) };

    fn grow(&mut self, other: &Self) {
        self.lo = self.lo.min(other.lo);
        self.hi = self.hi.max(other.hi);
    }

    fn grow_point(&mut self, p: Vec3) {
        self.lo = self.lo.min(p);
        self.hi = self.hi.max(p);
    }

    fn half_area(&self) -> f64 {
        let d = self.hi - self.lo;
        if d.x < 0.0 { 0.0 } else { d.x * d.y + d.y * d.z + d.z * d.x }
    }
}

/// A node: a leaf where `count > 0` (its triangles start at `first` in the order), else its left
/// child follows it and its right child stands at `first`.
#[derive(Debug, Clone, Copy)]
struct Node {
    lo: Vec3,
    hi: Vec3,
    first: u32,
    count: u32,
}

/// A tree of boxes over the triangles of one mesh.
#[derive(Debug, Clone, Default)]
pub struct Bvh {
    nodes: Vec<Node>,
    order: Vec<u32>,
}

/// A triangle on its way into the tree.
struct Item {
    bounds: Box3,
    centre: Vec3,
    triangle: u32,
}

impl Bvh {
    /// The tree over all triangles of `mesh`. Triangles with a corner that is not finite are left
    /// out: no query can find them.
    pub fn new(mesh: &TriMesh) -> Self {
        Self::over(mesh, 0..mesh.triangles.len())
    }

    /// The tree over some of the triangles of `mesh`, given by their numbers.
    pub fn over(mesh: &TriMesh, triangles: impl IntoIterator<Item = usize>) -> Self {
        let mut items: Vec<Item> = triangles.into_iter().filter_map(|t| item(mesh, t)).collect();
        let mut tree = Self { nodes: Vec::with_capacity(items.len()), order: Vec::new() };
        if !items.is_empty() {
            tree.build(&mut items);
        }
        tree.order.shrink_to_fit();
        tree.nodes.shrink_to_fit();
        tree
    }

    /// How many triangles the tree holds.
    pub fn len(&self) -> usize {
        self.order.len()
    }

    /// Whether the tree holds no triangle.
    pub fn is_empty(&self) -> bool {
        self.order.is_empty()
    }

    /// Box round everything in the tree; `None` for an empty tree.
    pub fn bounds(&self) -> Option<(Vec3, Vec3)> {
        self.nodes.first().map(|n| (n.lo, n.hi))
    }

    fn build(&mut self, items: &mut [Item]) {
        // work list of (range, slot of the parent that waits for its right child's number)
        let mut work = vec![(0, items.len(), None::<usize>)];
        while let Some((from, to, parent)) = work.pop() {
            let here = self.nodes.len();
            if let Some(parent) = parent {
                self.nodes[parent].first = here as u32;
            }
            let range = &mut items[from..to];
            let mut bounds = Box3::EMPTY;
            range.iter().for_each(|i| bounds.grow(&i.bounds));
            match split(range, &bounds) {
                Some(middle) => {
                    self.nodes.push(Node { lo: bounds.lo, hi: bounds.hi, first: 0, count: 0 });
                    work.push((from + middle, to, Some(here)));
                    work.push((from, from + middle, None));
                }
                None => self.push_leaf(range, bounds),
            }
        }
    }

    fn push_leaf(&mut self, items: &mut [Item], bounds: Box3) {
        items.sort_unstable_by_key(|i| i.triangle);
        self.nodes.push(Node {
            lo: bounds.lo,
            hi: bounds.hi,
            first: self.order.len() as u32,
            count: items.len() as u32,
        });
        self.order.extend(items.iter().map(|i| i.triangle));
    }

    /// Walks the tree: goes into every box that `keep` accepts and hands the triangles of the
    /// leaves reached to `leaf`, always in the same order.
    pub fn visit(&self, mut keep: impl FnMut(Vec3, Vec3) -> bool, mut leaf: impl FnMut(u32)) {
        let mut stack = Vec::with_capacity(64);
        if !self.nodes.is_empty() {
            stack.push(0_usize);
        }
        while let Some(n) = stack.pop() {
            let node = &self.nodes[n];
            if !keep(node.lo, node.hi) {
                continue;
            }
            if node.count == 0 {
                stack.push(node.first as usize);
                stack.push(n + 1);
            } else {
                self.triangles(node).iter().for_each(|&t| leaf(t));
            }
        }
    }

    /// Branch and bound: the smallest value that `value` takes over all triangles, if it is below
    /// `start`. `bound` must not exceed `value` of any triangle inside the box it is given; `value`
    /// gets the triangle and the best so far, and may return anything not below that best as soon
    /// as it knows. Of equal values the first found wins.
    pub fn minimise(
        &self,
        start: f64,
        mut bound: impl FnMut(Vec3, Vec3) -> f64,
        mut value: impl FnMut(u32, f64) -> f64,
    ) -> Option<(u32, f64)> {
        let mut best = (u32::MAX, start);
        let mut stack: Vec<(f64, usize)> = Vec::with_capacity(64);
        if let Some(root) = self.nodes.first() {
            stack.push((bound(root.lo, root.hi), 0));
        }
        while let Some((low, n)) = stack.pop() {
            if !(low < best.1) {
                continue;
            }
            let node = &self.nodes[n];
            if node.count > 0 {
                for &t in self.triangles(node) {
                    let v = value(t, best.1);
                    if v < best.1 {
                        best = (t, v);
                    }
                }
                continue;
            }
            let (l, r) = (n + 1, node.first as usize);
            let bl = bound(self.nodes[l].lo, self.nodes[l].hi);
            let br = bound(self.nodes[r].lo, self.nodes[r].hi);
            if bl <= br {
                stack.extend([(br, r), (bl, l)]);
            } else {
                stack.extend([(bl, l), (br, r)]);
            }
        }
        (best.0 != u32::MAX).then_some(best)
    }

    fn triangles(&self, leaf: &Node) -> &[u32] {
        &self.order[leaf.first as usize..(leaf.first + leaf.count) as usize]
    }
}

fn item(mesh: &TriMesh, t: usize) -> Option<Item> {
    let mut bounds = Box3::EMPTY;
    for p in mesh.corners(t) {
        if !p.is_finite() {
            return None;
        }
        bounds.grow_point(p);
    }
    Some(Item { bounds, centre: 0.5 * (bounds.lo + bounds.hi), triangle: t as u32 })
}

/// Orders the items so that the left child's come first and returns how many those are; `None`
/// where a leaf is better.
fn split(items: &mut [Item], bounds: &Box3) -> Option<usize> {
    if items.len() <= LEAF {
        return None;
    }
    let mut centres = Box3::EMPTY;
    items.iter().for_each(|i| centres.grow_point(i.centre));
    let extent = centres.hi - centres.lo;
    let best = (0..3)
        .filter(|&axis| extent[axis] > 0.0)
        .filter_map(|axis| best_bin(items, &centres, axis).map(|(bin, cost)| (axis, bin, cost)))
        .min_by(|a, b| a.2.total_cmp(&b.2));
    let Some((axis, bin, cost)) = best else {
        // all centres in one place: halve by number, so that leaves stay small
        items.sort_unstable_by_key(|i| i.triangle);
        return Some(items.len() / 2);
    };
    let leaf_cost = items.len() as f64;
    let split_cost = NODE_COST + cost / bounds.half_area().max(f64::MIN_POSITIVE);
    if split_cost >= leaf_cost && items.len() <= 4 * LEAF {
        return None;
    }
    let slot = binner(&centres, axis);
    Some(partition(items, |i| slot(i.centre) <= bin))
}

/// Best bin to cut after on one axis, with its cost (area × number, both sides).
fn best_bin(items: &[Item], centres: &Box3, axis: usize) -> Option<(usize, f64)> {
    let slot = binner(centres, axis);
    let mut bins = [(Box3::EMPTY, 0_usize); BINS];
    for i in items {
        let b = &mut bins[slot(i.centre)];
        b.0.grow(&i.bounds);
        b.1 += 1;
    }
    let mut right = [0.0; BINS];
    let (mut bounds, mut count) = (Box3::EMPTY, 0);
    for b in (1..BINS).rev() {
        bounds.grow(&bins[b].0);
        count += bins[b].1;
        right[b] = bounds.half_area() * count as f64;
    }
    let (mut bounds, mut count, mut best) = (Box3::EMPTY, 0, None);
    for b in 0..BINS - 1 {
        bounds.grow(&bins[b].0);
        count += bins[b].1;
        if count == 0 || count == items.len() {
            continue;
        }
        let cost = bounds.half_area() * count as f64 + right[b + 1];
        if best.is_none_or(|(_, c)| cost < c) {
            best = Some((b, cost));
        }
    }
    best
}

fn binner(centres: &Box3, axis: usize) -> impl Fn(Vec3) -> usize {
    let low = centres.lo[axis];
    let scale = BINS as f64 / (centres.hi[axis] - low);
    move |c: Vec3| (((c[axis] - low) * scale) as usize).min(BINS - 1)
}

/// Moves the items that belong left to the front and returns their number.
fn partition(items: &mut [Item], left: impl Fn(&Item) -> bool) -> usize {
    let mut front = 0;
    for i in 0..items.len() {
        if left(&items[i]) {
            items.swap(front, i);
            front += 1;
        }
    }
    front
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fan(n: u32) -> TriMesh {
        let mut mesh = TriMesh::default();
        for i in 0..n {
            let x = f64::from(i);
            let base = mesh.vertices.len() as u32;
            mesh.vertices.extend([
                Vec3::new(x, 0.0, 0.0),
                Vec3::new(x + 0.5, 0.0, 0.1),
                Vec3::new(x, 1.0, 0.2),
            ]);
            mesh.triangles.push([base, base + 1, base + 2]);
            mesh.face_of.push(0);
        }
        mesh
    }

    #[test]
    fn every_triangle_is_in_exactly_one_leaf() {
        for n in [0, 1, 4, 5, 17, 300] {
            let tree = Bvh::new(&fan(n));
            let mut seen = Vec::new();
            tree.visit(|_, _| true, |t| seen.push(t));
            seen.sort_unstable();
            assert_eq!(seen, (0..n).collect::<Vec<_>>());
        }
    }

    #[test]
    fn triangles_in_one_place_do_not_make_the_tree_deep() {
        let mut mesh = fan(1);
        mesh.triangles = vec![[0, 1, 2]; 5000];
        mesh.face_of = vec![0; 5000];
        let tree = Bvh::new(&mesh);
        assert_eq!(tree.len(), 5000);
        assert!(tree.nodes.len() < 5000);
    }

    #[test]
    fn a_corner_that_is_no_number_is_left_out() {
        let mut mesh = fan(6);
        mesh.vertices[4].y = f64::NAN;
        assert_eq!(Bvh::new(&mesh).len(), 5);
    }

    #[test]
    fn branch_and_bound_finds_the_lowest_corner() {
        let mesh = fan(40);
        let tree = Bvh::new(&mesh);
        let far = |p: Vec3| (p.x - 31.2).abs();
        let found = tree.minimise(
            f64::INFINITY,
            |lo, hi| (lo.x - 31.2).max(31.2 - hi.x).max(0.0),
            |t, _| mesh.corners(t as usize).into_iter().map(far).fold(f64::INFINITY, f64::min),
        );
        assert_eq!(found.map(|f| f.0), Some(31));
    }
}
