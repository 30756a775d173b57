//! Box tree over moves with a bound that is certain: how far a patch of rays stays clear of
//! everything that the moves of a node sweep.
//!
//! A node knows a box round the tips of its moves and a cone round their axes. With the cutter at
//! the box's middle and on the cone's axis, `sd` and its gradient g at the patch's centre give
//! `sd + g·(q − c) − Σ|gᵢ| hᵢ − δ |q − tip|` as a bound from below for every q of the patch: the
//! first three terms because the signed distance is convex, the last because it is 1-Lipschitz and
//! a turn by δ about the tip moves no point further than δ times its distance from the tip.

use crate::body::Body;
use crate::entry::Reach;
use crate::sweep::Move;
use geom::Vec3;

const LEAF: usize = 4;

/// Tree over moves.
#[derive(Debug, Clone)]
pub(crate) struct Index {
    nodes: Vec<Node>,
    order: Vec<u32>,
}

#[derive(Debug, Clone, Copy)]
struct Node {
    tip: Vec3,
    half: Vec3,
    axis: Vec3,
    spread_rad: f64,
    /// First of `order` in a leaf, else the right child; the left child follows its parent.
    link: u32,
    /// Number of moves in a leaf, else 0.
    count: u32,
}

/// A patch of rays: all start within `along_mm` of `centre` in the tangent plane and within
/// `thick_mm` of that plane, with normals that differ from `normal` by at most `fan` (a chord).
#[derive(Debug, Clone, Copy)]
pub(crate) struct Patch {
    pub(crate) centre: Vec3,
    pub(crate) normal: Vec3,
    pub(crate) along_mm: f64,
    pub(crate) thick_mm: f64,
    pub(crate) fan: f64,
}

impl Patch {
    /// The patch of some rays; `None` without rays.
    #[inline(always)]
    pub(crate) fn of(rays: impl Iterator<Item = (Vec3, Vec3)> + Clone) -> Option<Self> {
        let (mut sum_p, mut sum_n, mut count) = (Vec3::ZERO, Vec3::ZERO, 0.0);
        for (p, n) in rays.clone() {
            sum_p += p;
            sum_n += n;
            count += 1.0;
        }
        if count == 0.0 {
            return None;
        }
        let (centre, mean) = (sum_p / count, sum_n.normalize_or_zero());
        let normal = if mean == Vec3::ZERO { rays.clone().next()?.1 } else { mean };
        let (mut along, mut thick, mut fan) = (0.0_f64, 0.0_f64, 0.0_f64);
        for (p, n) in rays {
            let d = p - centre;
            let up = d.dot(normal);
            along = along.max((d.length_squared() - up * up).max(0.0));
            thick = thick.max(up.abs());
            fan = fan.max(n.distance(normal));
        }
        Some(Self { centre, normal, along_mm: along.sqrt(), thick_mm: thick, fan })
    }

    /// Least of `g·(p + t n − centre)` over the patch's rays and t in `reach`.
    #[inline(always)]
    pub(crate) fn least(&self, g: Vec3, reach: Reach) -> f64 {
        let up = g.dot(self.normal);
        self.spread_of(g, up) + self.climb(up, reach)
    }

    /// The part of [`Patch::least`] that comes from where the rays start.
    #[inline(always)]
    fn spread_of(&self, g: Vec3, up: f64) -> f64 {
        let along = (g.length_squared() - up * up).max(0.0).sqrt();
        -along * self.along_mm - up.abs() * self.thick_mm
    }

    /// The part of [`Patch::least`] that comes from t, for a gradient that climbs by `up`.
    #[inline(always)]
    fn climb(&self, up: f64, reach: Reach) -> f64 {
        let at = |t: f64| t * up - t.abs() * self.fan;
        at(reach.lo_mm).min(at(reach.hi_mm))
    }

    /// Furthest that a point of the patch's rays lies from its centre.
    fn radius(&self, reach: Reach) -> f64 {
        self.along_mm + self.thick_mm + reach.lo_mm.abs().max(reach.hi_mm.abs())
    }
}

impl Index {
    pub(crate) fn new(moves: &[Move]) -> Self {
        let mut order: Vec<u32> = (0..moves.len() as u32).collect();
        let mut nodes = Vec::with_capacity(2 * moves.len() / LEAF + 1);
        if !order.is_empty() {
            build(moves, &mut order, &mut nodes);
        }
        Self { nodes, order }
    }

    /// A descent for a patch that looks no further than `widest`.
    #[inline(always)]
    pub(crate) fn descend(&self, body: &Body, patch: &Patch, widest: Reach) -> Descent {
        let mut stack = Vec::with_capacity(64);
        if !self.nodes.is_empty() {
            stack.push(self.open(body, 0, patch, widest));
        }
        Descent { stack, widest }
    }

    /// The moves of the next leaf that may come within `reach` of the patch, in a fixed order,
    /// nearer ones first; `reach` may shrink from call to call.
    #[inline(always)]
    pub(crate) fn next(
        &self,
        descent: &mut Descent,
        body: &Body,
        patch: &Patch,
        reach: Reach,
    ) -> Option<&[u32]> {
        while let Some(open) = descent.stack.pop() {
            if open.bound(patch, reach) > 0.0 {
                continue;
            }
            let node = &self.nodes[open.node as usize];
            if node.count > 0 {
                return Some(&self.order[node.link as usize..][..node.count as usize]);
            }
            let left = self.open(body, open.node + 1, patch, descent.widest);
            let right = self.open(body, node.link, patch, descent.widest);
            let (l, r) = (left.bound(patch, reach), right.bound(patch, reach));
            let order = if l <= r { [(r, right), (l, left)] } else { [(l, left), (r, right)] };
            for (bound, child) in order {
                if bound <= 0.0 {
                    descent.stack.push(child);
                }
            }
        }
        None
    }

    /// A node's bound, less the part that depends on how high the patch still has to look.
    #[inline(always)]
    fn open(&self, body: &Body, at: u32, patch: &Patch, widest: Reach) -> Open {
        let node = &self.nodes[at as usize];
        let (sd, g) = body.distance_at(node.tip, node.axis, patch.centre);
        let lever = patch.centre.distance(node.tip) + node.half.length() + patch.radius(widest);
        let up = g.dot(patch.normal);
        let base = sd + patch.spread_of(g, up) - g.abs().dot(node.half) - node.spread_rad * lever;
        Open { base, up, node: at }
    }
}

/// How far a descent has come.
pub(crate) struct Descent {
    stack: Vec<Open>,
    widest: Reach,
}

/// A node that waits, with its bound.
#[derive(Debug, Clone, Copy)]
struct Open {
    base: f64,
    up: f64,
    node: u32,
}

impl Open {
    #[inline(always)]
    fn bound(&self, patch: &Patch, reach: Reach) -> f64 {
        self.base + patch.climb(self.up, reach)
    }
}

fn build(moves: &[Move], order: &mut [u32], nodes: &mut Vec<Node>) {
    // work list of (range, slot of the parent that waits for its right child's number)
    let mut work = vec![(0, order.len(), None::<usize>)];
    while let Some((from, to, parent)) = work.pop() {
        let here = nodes.len();
        if let Some(p) = parent {
            let parent: &mut Node = &mut nodes[p];
            parent.link = here as u32;
        }
        let mut node = surround(moves, &order[from..to]);
        if to - from <= LEAF {
            node.link = from as u32;
            node.count = (to - from) as u32;
            nodes.push(node);
            continue;
        }
        nodes.push(node);
        let wide = node.half;
        let axis = if wide.x >= wide.y && wide.x >= wide.z {
            0
        } else if wide.y >= wide.z {
            1
        } else {
            2
        };
        let middle = (from + to) / 2;
        let key = |m: u32| moves[m as usize].mid[axis];
        order[from..to].select_nth_unstable_by(middle - from, |a, b| {
            key(*a).total_cmp(&key(*b)).then(a.cmp(b))
        });
        work.push((middle, to, Some(here)));
        work.push((from, middle, None));
    }
}

/// Box of tips and cone of axes of some moves.
fn surround(moves: &[Move], some: &[u32]) -> Node {
    let (mut lo, mut hi, mut sum) = (Vec3::INFINITY, Vec3::NEG_INFINITY, Vec3::ZERO);
    for &m in some {
        let m = &moves[m as usize];
        let h = m.half.abs();
        (lo, hi) = (lo.min(m.mid - h), hi.max(m.mid + h));
        sum += m.axis;
    }
    let axis = sum.normalize_or_zero();
    let axis = if axis == Vec3::ZERO { moves[some[0] as usize].axis } else { axis };
    let spread_rad = some.iter().fold(0.0_f64, |s, &m| {
        let m = &moves[m as usize];
        s.max(axis.cross(m.axis).length().atan2(axis.dot(m.axis)) + m.half_turn_rad)
    });
    Node { tip: (lo + hi) * 0.5, half: (hi - lo) * 0.5, axis, spread_rad, link: 0, count: 0 }
}
