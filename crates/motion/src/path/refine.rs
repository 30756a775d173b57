//! Where the planner's own nodes lie between the points of the caller's grid.
//!
//! Two things need more nodes than a path may bring: a short path (a link of two points has its
//! peak between them), and a start from rest under limited jerk, where s = J t³/6 asks for nodes
//! at equal times, that is, equally spaced in the cube root of the distance from the stop.

use super::{AxisLimits, PathGrid};

/// Fewest cells of a path.
const MIN_CELLS: f64 = 64.0;
/// Cells that the first quarter of a pure jerk move has, at least.
const CELLS_PER_PHASE: f64 = 24.0;
/// The first cell at a stop lasts no longer than this share of A/J.
const FIRST_CELL_SHARE: f64 = 0.05;
/// The first cell at a stop is no shorter than this share of the caller's first interval.
const FIRST_CELL_LEAST: f64 = 2e-4;

/// Density of nodes along a path, as its running count.
pub(super) struct Spacing {
    start: f64,
    end: f64,
    /// Cells per unit of length that every path has.
    uniform: f64,
    /// Length of the first cell at a stop, cube root; `None` where no jerk-limited stop is.
    at_start: Option<f64>,
    at_end: Option<f64>,
}

impl Spacing {
    /// The spacing that `grid` needs under `limits`.
    pub(super) fn new(grid: &PathGrid<'_>, limits: &[AxisLimits]) -> Self {
        let (n, m) = (grid.s.len(), limits.len());
        let (start, end) = (grid.s[0], grid.s[n - 1]);
        let length = end - start;
        let stop = |speed: f64, at: usize, first: Option<f64>| {
            let least = FIRST_CELL_LEAST * first.unwrap_or(length).min(length / MIN_CELLS);
            (speed == 0.0)
                .then(|| first_cell(&grid.first[at * m..(at + 1) * m], limits, length))
                .flatten()
                .map(|h| h.max(least).cbrt())
        };
        let first = grid.s.windows(2).map(|w| w[1] - w[0]).find(|&d| d > 0.0);
        let last = grid.s.windows(2).rev().map(|w| w[1] - w[0]).find(|&d| d > 0.0);
        Self {
            start,
            end,
            uniform: if (n as f64) < MIN_CELLS { MIN_CELLS / length } else { 0.0 },
            at_start: stop(grid.start_speed, 0, first),
            at_end: stop(grid.end_speed, n - 1, last),
        }
    }

    /// Number of cells wanted from the start of the path to `s`.
    pub(super) fn count(&self, s: f64) -> f64 {
        let from_start = self.at_start.map_or(0.0, |h| (s - self.start).max(0.0).cbrt() / h);
        let from_end = self.at_end.map_or(0.0, |h| (self.end - s).max(0.0).cbrt() / h);
        self.uniform * (s - self.start) + from_start - from_end
    }

    /// Calls `node` with the fraction of each node inside the interval from `a` to `b`.
    pub(super) fn nodes_between(&self, a: f64, b: f64, mut node: impl FnMut(f64)) {
        let (low, high) = (self.count(a), self.count(b));
        let pieces = (high - low).ceil().max(1.0);
        for j in 1..pieces as usize {
            let wanted = low + (high - low) * j as f64 / pieces;
            node((self.place(a, b, wanted) - a) / (b - a));
        }
    }

    /// Whether the path starts and ends with a stop under limited jerk.
    pub(super) fn jerk_stops(&self) -> (bool, bool) {
        (self.at_start.is_some(), self.at_end.is_some())
    }

    /// Whether no interval needs extra nodes.
    pub(super) fn is_plain(&self) -> bool {
        self.uniform == 0.0 && self.at_start.is_none() && self.at_end.is_none()
    }

    /// The place between `a` and `b` where the running count is `wanted`, by bisection.
    fn place(&self, mut a: f64, mut b: f64, wanted: f64) -> f64 {
        for _ in 0..48 {
            let middle = 0.5 * (a + b);
            if self.count(middle) < wanted {
                a = middle;
            } else {
                b = middle;
            }
        }
        0.5 * (a + b)
    }
}

/// Length of the first cell at a stop where the path leaves in the direction `first`.
fn first_cell(first: &[f64], limits: &[AxisLimits], length: f64) -> Option<f64> {
    let along = |limit: fn(&AxisLimits) -> f64| {
        let each = first.iter().zip(limits).map(|(q, l)| limit(l) / q.abs());
        each.fold(f64::INFINITY, f64::min)
    };
    let (acceleration, jerk) = (along(|l| l.acceleration), along(|l| l.jerk));
    if !jerk.is_finite() {
        return None;
    }
    let time = FIRST_CELL_SHARE * acceleration / jerk;
    Some((length / (2.0 * CELLS_PER_PHASE.powi(3))).min(jerk * time.powi(3) / 6.0))
}
