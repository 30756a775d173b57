//! Where the planner's own nodes lie between the points of the caller's grid.
//!
//! Two things need more nodes than a path may bring: a short path (a link of two points has its
//! peak between them), and a start from rest under limited jerk, where s = J t³/6 asks for nodes
//! at equal times, that is, equally spaced in the cube root of the distance from the stop.

use super::cells::Cells;
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
        let from_start = self.at_start.map_or(0.0, |h| graded(s - self.start, h));
        let from_end = self.at_end.map_or(0.0, |h| graded(self.end - s, h));
        self.uniform * (s - self.start) + from_start - from_end
    }

    /// Calls `node` with the fraction of each node inside the interval from `a` to `b`, which is to
    /// have `least` cells at least.
    pub(super) fn nodes_between(&self, a: f64, b: f64, least: u32, mut node: impl FnMut(f64)) {
        if least == 1 && self.is_plain() {
            return;
        }
        let even = if least > 1 { f64::from(least) } else { 0.0 };
        let evenly = even / (b - a);
        let count = |s: f64| self.count(s) + evenly * (s - a);
        let (low, high) = (self.count(a), count(b));
        let graded = high - low - even;
        let pieces = (high - low - ROUNDING * high.abs()).ceil().max(1.0);
        for j in 1..pieces as usize {
            let share = j as f64 / pieces;
            if graded < EVEN {
                node(share);
                continue;
            }
            node((place(count, a, b, low + (high - low) * share) - a) / (b - a));
        }
    }

    fn is_plain(&self) -> bool {
        self.uniform == 0.0 && self.at_start.is_none() && self.at_end.is_none()
    }

    /// Whether the path starts and ends with a stop under limited jerk.
    pub(super) fn jerk_stops(&self) -> (bool, bool) {
        (self.at_start.is_some(), self.at_end.is_some())
    }
}

/// Rounding of a running count, relative.
const ROUNDING: f64 = 1e-9;

/// Most graded cells at a stop: from there on they are longer than the caller's first interval.
const MOST_GRADED: f64 = 64.0;

/// Number of graded cells up to a distance from a stop; `h` is the cube root of the first one.
fn graded(distance: f64, h: f64) -> f64 {
    if distance > (MOST_GRADED * h).powi(3) {
        return MOST_GRADED;
    }
    distance.max(0.0).cbrt() / h
}

/// Below this many graded cells in an interval its cells are equal.
const EVEN: f64 = 0.01;

/// The place between `a` and `b` where the rising `count` is `wanted`, by bisection.
fn place(count: impl Fn(f64) -> f64, mut a: f64, mut b: f64, wanted: f64) -> f64 {
    for _ in 0..48 {
        let middle = 0.5 * (a + b);
        if count(middle) < wanted {
            a = middle;
        } else {
            b = middle;
        }
    }
    0.5 * (a + b)
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

/// A cell lasts no longer than this share of the smallest A/J of the axes, and one at whose ends
/// the speed is at its cap no longer than that share.
const SHARE_OF_RAMP: f64 = 1.0 / 20.0;
const SHARE_AT_CAP: f64 = 1.0 / 4.0;
/// Share of a cap, of the squared speed, that counts as being at it.
const AT_CAP: f64 = 0.999;
/// Most cells that one interval is split into for that.
const MOST_PIECES: f64 = 64.0;

/// Cells that each of the caller's intervals needs under jerk limits, at the speeds `x` of `cells`
/// (one for each interval at least); `None` where one each is enough.
pub(super) fn pieces<const N: usize>(
    cells: &Cells<N>,
    limits: &[AxisLimits; N],
    x: &[f64],
) -> Option<Vec<u32>> {
    let ramps = limits.iter().map(|l| l.acceleration / l.jerk).filter(|t| *t > 0.0);
    let ramp = ramps.fold(f64::INFINITY, f64::min);
    let of = |range: std::ops::Range<usize>| {
        let at_cap = |node: usize| x[node] > AT_CAP * cells.cap[node];
        let share =
            if at_cap(range.start) && at_cap(range.end) { SHARE_AT_CAP } else { SHARE_OF_RAMP };
        let time: f64 = range.map(|c| cells.time(c, x[c], x[c + 1])).sum();
        (time / (share * ramp)).ceil().clamp(1.0, MOST_PIECES) as u32
    };
    let ends = cells.node_of.windows(2).map(|w| w[0] as usize..w[1] as usize);
    let pieces: Vec<u32> = ends.map(of).collect();
    pieces.iter().any(|&n| n > 1).then_some(pieces)
}
