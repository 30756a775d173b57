//! Distance in a direction-dependent metric on a regular grid, by fast marching.
//!
//! Solves `∇φᵀ D ∇φ = 1` outward from given nodes. The tensor is split by Selling's decomposition
//! into three whole-number directions, so that each node is updated from at most three neighbours
//! whose values are smaller: one sweep in order of value solves it (J.-M. Mirebeau, "Riemannian fast
//! marching on Cartesian grids using Voronoi's first reduction of quadratic forms", SIAM J. Numer.
//! Anal. 57, 2019). Differences are second order upwind wherever two accepted nodes lie in a row.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use geom::Sym2;

use crate::selling::{Decomposition, decompose};

/// The grid's shape and, per node, the dual metric in grid units (one cell = 1).
pub(crate) struct Problem<'a> {
    /// Nodes along the first and second coordinate.
    pub(crate) size: [usize; 2],
    /// Dual metric `D` of every node, row by row; `None` is a wall.
    pub(crate) dual: &'a [Option<Sym2>],
    /// Known values.
    pub(crate) seeds: &'a [(usize, f64)],
}

/// Distances, row by row; infinite where nothing arrives.
pub(crate) fn solve(problem: &Problem<'_>) -> Vec<f64> {
    let split: Vec<Option<Decomposition>> =
        problem.dual.iter().map(|d| d.and_then(decompose)).collect();
    let mut front = Front::new(problem.size, &split);
    for &(node, value) in problem.seeds {
        front.offer(node, value);
        front.known[node] = true;
    }
    front.run();
    front.value
}

#[derive(Clone, Copy, PartialEq)]
struct Trial {
    value: f64,
    node: usize,
}

impl Eq for Trial {}

impl Ord for Trial {
    fn cmp(&self, other: &Self) -> Ordering {
        other.value.total_cmp(&self.value).then(other.node.cmp(&self.node))
    }
}

impl PartialOrd for Trial {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

struct Front<'a> {
    size: [usize; 2],
    split: &'a [Option<Decomposition>],
    /// For every node, the nodes whose update uses it, as `first..last` into `users`.
    user_range: Vec<u32>,
    users: Vec<u32>,
    value: Vec<f64>,
    accepted: Vec<bool>,
    /// Nodes whose value is given.
    known: Vec<bool>,
    heap: BinaryHeap<Trial>,
}

impl<'a> Front<'a> {
    fn new(size: [usize; 2], split: &'a [Option<Decomposition>]) -> Self {
        let n = size[0] * size[1];
        let mut front = Self {
            size,
            split,
            user_range: Vec::new(),
            users: Vec::new(),
            value: vec![f64::INFINITY; n],
            accepted: vec![false; n],
            known: vec![false; n],
            heap: BinaryHeap::new(),
        };
        front.list_users();
        front
    }

    fn list_users(&mut self) {
        let mut pairs: Vec<(u32, u32)> = Vec::with_capacity(6 * self.split.len());
        for (node, split) in self.split.iter().enumerate() {
            for offset in split.iter().flat_map(|s| s.offset) {
                for sign in [1, -1] {
                    if let Some(m) = self.stepped(node, offset, sign) {
                        pairs.push((m as u32, node as u32));
                    }
                }
            }
        }
        pairs.sort_unstable();
        self.user_range = vec![0; self.split.len() + 1];
        for &(m, _) in &pairs {
            self.user_range[m as usize + 1] += 1;
        }
        for i in 0..self.split.len() {
            self.user_range[i + 1] += self.user_range[i];
        }
        self.users = pairs.into_iter().map(|(_, user)| user).collect();
    }

    fn stepped(&self, node: usize, offset: [i32; 2], times: i32) -> Option<usize> {
        let i = (node % self.size[0]) as i64 + i64::from(offset[0] * times);
        let j = (node / self.size[0]) as i64 + i64::from(offset[1] * times);
        let inside = i >= 0 && j >= 0 && i < self.size[0] as i64 && j < self.size[1] as i64;
        inside.then(|| j as usize * self.size[0] + i as usize)
    }

    fn offer(&mut self, node: usize, value: f64) {
        if value < self.value[node] {
            self.value[node] = value;
            self.heap.push(Trial { value, node });
        }
    }

    fn run(&mut self) {
        while let Some(Trial { value, node }) = self.heap.pop() {
            if self.accepted[node] || value > self.value[node] {
                continue;
            }
            self.accepted[node] = true;
            for k in self.user_range[node]..self.user_range[node + 1] {
                let user = self.users[k as usize] as usize;
                if !self.accepted[user] && !self.known[user] {
                    let value = self.updated(user);
                    self.offer(user, value);
                }
            }
        }
    }

    /// Value of a node from its accepted neighbours, second order where that is consistent.
    fn updated(&self, node: usize) -> f64 {
        let Some(split) = self.split[node] else { return f64::INFINITY };
        let mut terms = [(f64::INFINITY, 0.0); 3];
        let mut plain = terms;
        for k in 0..3 {
            plain[k] = self.term(node, split.offset[k], split.weight[k], false);
            terms[k] = self.term(node, split.offset[k], split.weight[k], true);
        }
        let first = root(plain);
        let second = root(terms);
        let floor = plain.iter().map(|t| t.0).fold(f64::INFINITY, f64::min);
        if second.is_finite() && second >= floor { second } else { first }
    }

    /// Support value and weight of one direction: `weight · (u − value)²` is its share.
    fn term(&self, node: usize, offset: [i32; 2], weight: f64, second: bool) -> (f64, f64) {
        let mut smallest = f64::INFINITY;
        let mut best = (f64::INFINITY, 0.0);
        for sign in [1, -1] {
            let Some(near) = self.stepped(node, offset, sign).filter(|m| self.accepted[*m]) else {
                continue;
            };
            let a = self.value[near];
            if a >= smallest {
                continue;
            }
            smallest = a;
            best = (a, weight);
            let far = self.stepped(node, offset, 2 * sign).filter(|m| self.accepted[*m]);
            if let (true, Some(b)) = (second, far.map(|m| self.value[m]).filter(|b| *b <= a)) {
                best = ((4.0 * a - b) / 3.0, weight * 2.25);
            }
        }
        best
    }
}

/// Largest root of `Σ weight (u − a)₊² = 1`.
fn root(mut terms: [(f64, f64); 3]) -> f64 {
    terms.sort_unstable_by(|x, y| x.0.total_cmp(&y.0));
    let (mut w, mut wa, mut waa) = (0.0, 0.0, 0.0);
    let mut u = f64::INFINITY;
    let base = terms[0].0;
    for (a, weight) in terms.into_iter().filter(|t| t.0.is_finite() && t.1 > 0.0) {
        if a >= u {
            break;
        }
        let a = a - base;
        w += weight;
        wa += weight * a;
        waa += weight * a * a;
        let under = wa * wa - w * (waa - 1.0);
        if under < 0.0 {
            break;
        }
        u = base + (wa + under.sqrt()) / w;
    }
    u
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Distance from the line w = 0 through the middle of an n × n grid in a constant metric.
    fn worst_error(n: usize, d: Sym2, angle_rad: f64) -> f64 {
        let (s, c) = angle_rad.sin_cos();
        let h = 1.0 / n as f64;
        let w = |k: usize| {
            let (x, y) = ((k % n) as f64 * h - 0.5, (k / n) as f64 * h - 0.5);
            -s * x + c * y
        };
        let rate = d.form(-s, c).sqrt();
        let dual: Vec<_> = vec![Some(d.scaled(1.0 / (h * h))); n * n];
        let seeds: Vec<_> =
            (0..n * n).filter(|k| w(*k).abs() < 8.0 * h).map(|k| (k, w(k) / rate)).collect();
        let got = solve(&Problem { size: [n, n], dual: &dual, seeds: &seeds });
        // only nodes whose way back to the line stays in the grid
        (0..n * n)
            .filter(|k| ((k % n) as f64 * h - 0.5).hypot((k / n) as f64 * h - 0.5) < 0.15)
            .filter(|k| w(*k) > 0.0)
            .map(|k| (got[k] - w(k) / rate).abs())
            .fold(0.0, f64::max)
    }

    #[test]
    fn a_line_source_in_a_constant_metric_is_exact() {
        for (ratio, turn) in [(1.0, 0.0), (4.0, 0.3), (30.0, 1.1)] {
            let d = Sym2::diagonal(1.0, ratio).turned(turn);
            let worst = worst_error(81, d, turn + 1.5);
            assert!(worst < 1e-9, "{ratio} {turn}: {worst}");
        }
    }

    /// φ for a metric that grows away from the source: D = 1/(1 + y²)² gives φ = y + y³/3.
    fn graded_error(n: usize) -> f64 {
        let h = 1.0 / (n - 1) as f64;
        let y = |k: usize| (k / n) as f64 * h;
        let dual: Vec<_> = (0..n * n)
            .map(|k| Some(Sym2::diagonal(1.0, 1.0).scaled(1.0 / (h * (1.0 + y(k) * y(k))).powi(2))))
            .collect();
        let exact = |k: usize| y(k) + y(k).powi(3) / 3.0;
        let seeds: Vec<_> = (0..2 * n).map(|k| (k, exact(k))).collect();
        let got = solve(&Problem { size: [n, n], dual: &dual, seeds: &seeds });
        (0..n * n).map(|k| (got[k] - exact(k)).abs()).fold(0.0, f64::max)
    }

    #[test]
    fn the_order_of_convergence_is_two() {
        let (a, b) = (graded_error(41), graded_error(81));
        let order = (a / b).log2();
        assert!((1.8..2.3).contains(&order), "{a} {b} {order}");
    }

    #[test]
    fn walls_are_gone_round() {
        let n = 41;
        let h = 0.05;
        let wall = |k: usize| k / n == 20 && k % n < 36;
        let dual: Vec<_> = (0..n * n)
            .map(|k| (!wall(k)).then(|| Sym2::diagonal(1.0 / (h * h), 1.0 / (h * h))))
            .collect();
        let got = solve(&Problem { size: [n, n], dual: &dual, seeds: &[(0, 0.0)] });
        let straight = 40.0 * h;
        assert!(got[40 * n] > straight * 1.5 && got[40 * n].is_finite());
        assert!(got[20 * n].is_infinite());
    }
}
