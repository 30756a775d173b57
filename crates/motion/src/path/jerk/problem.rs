//! The rows of the jerk-limited problem: what is bounded at each cell and node of a window.
//!
//! Unknown is x at the nodes. Rows, each scaled by its limit:
//!
//! * cap at a node: x/X ≤ 1;
//! * acceleration of an axis in a cell: |α x' − β x|/A ≤ 1;
//! * jerk of an axis at a node: |change of acceleration between the cells beside it|/J ≤ τ, where
//!   τ is the time between the middles of the cells. τ is convex in x, so a step that keeps the
//!   row with τ replaced by its tangent keeps the row itself.

use super::super::cells::Cells;

/// Stands for a limit that is not set, so that products with it stay numbers.
const NO_LIMIT: f64 = 1e60;

/// Kind of an end of a window.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum End {
    /// At rest.
    Stop,
    /// Moving, with zero path acceleration.
    Steady,
    /// Inside a longer path, at a place where the cap is driven.
    Open,
}

/// Time through a cell and its derivatives by the squared speeds before (a) and after (b).
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct CellTime {
    pub(super) time: f64,
    pub(super) a: f64,
    pub(super) b: f64,
    pub(super) aa: f64,
    pub(super) ab: f64,
    pub(super) bb: f64,
}

/// A stretch of cells that is solved as one.
pub(super) struct Window<'a, const N: usize> {
    /// Weighted length of each cell: its time is 2·length/(√a + √b).
    pub(super) length: Vec<f64>,
    /// Share of a cell's time before its mean acceleration is met.
    pub(super) met: &'a [f64],
    /// α/A and β/A of each cell and axis.
    pub(super) alpha: Vec<[f64; N]>,
    pub(super) beta: Vec<[f64; N]>,
    /// Upper bound of x at each node.
    pub(super) cap: &'a [f64],
    /// A/J of each axis.
    pub(super) to_jerk: [f64; N],
    pub(super) start: End,
    pub(super) end: End,
}

/// Change of acceleration over the jerk limit at a node, for every axis: coefficients of the x
/// before, at and after the node.
pub(super) struct Change<const N: usize> {
    pub(super) before: [f64; N],
    pub(super) at: [f64; N],
    pub(super) after: [f64; N],
}

impl<'a, const N: usize> Window<'a, N> {
    /// The window of the cells `from..to` with x bounded by `cap` (of all nodes).
    pub(super) fn new(
        cells: &'a Cells<N>,
        cap: &'a [f64],
        (from, to): (usize, usize),
        (acceleration, jerk): ([f64; N], [f64; N]),
        (start, end): (End, End),
    ) -> Self {
        let a: [f64; N] = std::array::from_fn(|k| acceleration[k].min(NO_LIMIT));
        let scaled = |rows: &[[f64; N]]| {
            rows[from..to].iter().map(|r| std::array::from_fn(|k| r[k] / a[k])).collect()
        };
        Self {
            length: (from..to).map(|c| cells.weight[c] * cells.length[c]).collect(),
            met: &cells.met[from..to],
            alpha: scaled(&cells.alpha),
            beta: scaled(&cells.beta),
            cap: &cap[from..=to],
            to_jerk: std::array::from_fn(|k| a[k] / jerk[k].min(NO_LIMIT)),
            start,
            end,
        }
    }

    /// Number of cells; nodes are one more.
    pub(super) fn cells(&self) -> usize {
        self.length.len()
    }

    /// Number of rows, with both senses of each counted.
    pub(super) fn rows(&self) -> usize {
        (self.cells() + 1) * (4 * N + 1)
    }

    /// Whether x at a node is given (a stop).
    #[inline]
    pub(super) fn is_fixed(&self, node: usize) -> bool {
        (node == 0 && self.start == End::Stop) || (node == self.cells() && self.end == End::Stop)
    }

    /// Whether the jerk is bounded at a node.
    #[inline]
    pub(super) fn has_jerk_row(&self, node: usize) -> bool {
        !((node == 0 && self.start == End::Open) || (node == self.cells() && self.end == End::Open))
    }

    #[inline]
    fn is_stop_cell(&self, cell: usize) -> bool {
        (cell == 0 && self.start == End::Stop)
            || (cell + 1 == self.cells() && self.end == End::Stop)
    }

    /// Time through a cell.
    #[inline]
    pub(super) fn time(&self, cell: usize, x: &[f64]) -> f64 {
        let (a, b) = (x[cell], x[cell + 1]);
        2.0 * self.length[cell] / (a.sqrt() + b.sqrt())
    }

    /// Time between the middles of the cells beside a node.
    pub(super) fn tau(&self, node: usize, x: &[f64]) -> f64 {
        let left = |c: usize| (1.0 - self.met[c]) * self.time(c, x);
        let before = if node > 0 { left(node - 1) } else { 0.0 };
        let after = if node < self.cells() { self.met[node] * self.time(node, x) } else { 0.0 };
        before + after
    }

    /// Time through a cell with derivatives.
    #[inline(always)]
    pub(super) fn cell_time(&self, cell: usize, x: &[f64]) -> CellTime {
        let (a, b, length) = (x[cell], x[cell + 1], self.length[cell]);
        if self.is_stop_cell(cell) {
            return stop_cell_time(length, a, b);
        }
        let (ra, rb) = (a.sqrt(), b.sqrt());
        let (ia, ib, is) = (1.0 / ra, 1.0 / rb, 1.0 / (ra + rb));
        let slope = length * is * is;
        CellTime {
            time: 2.0 * length * is,
            a: -slope * ia,
            b: -slope * ib,
            aa: slope * ia * ia * (is + 0.5 * ia),
            ab: slope * is * ia * ib,
            bb: slope * ib * ib * (is + 0.5 * ib),
        }
    }

    /// Time of the cell before a node, and the share of it after its mean acceleration is met.
    pub(super) fn before(&self, node: usize, x: &[f64]) -> (CellTime, f64) {
        match node.checked_sub(1) {
            Some(cell) => (self.cell_time(cell, x), 1.0 - self.met[cell]),
            None => (CellTime::default(), 0.0),
        }
    }

    /// Coefficients of the jerk rows at a node.
    #[inline(always)]
    pub(super) fn change(&self, node: usize) -> Change<N> {
        let zero = [0.0; N];
        let j = &self.to_jerk;
        if node == 0 {
            let up = std::array::from_fn(|k| self.alpha[0][k] * j[k]);
            return Change { before: zero, at: up.map(|v: f64| -v), after: up };
        }
        let (alpha, beta) = (&self.alpha[node - 1], &self.beta[node - 1]);
        let before: [f64; N] = std::array::from_fn(|k| beta[k] * j[k]);
        if node == self.cells() {
            return Change { before, at: before.map(|v| -v), after: zero };
        }
        let (alpha_next, beta_next) = (&self.alpha[node], &self.beta[node]);
        Change {
            before,
            at: std::array::from_fn(|k| -(beta_next[k] + alpha[k]) * j[k]),
            after: std::array::from_fn(|k| alpha_next[k] * j[k]),
        }
    }
}

fn stop_cell_time(length: f64, a: f64, b: f64) -> CellTime {
    let x = a + b;
    let time = 2.0 * length / x.sqrt();
    let (slope, bend) = (-0.5 * time / x, 0.75 * time / (x * x));
    if a == 0.0 {
        CellTime { time, b: slope, bb: bend, ..CellTime::default() }
    } else {
        CellTime { time, a: slope, aa: bend, ..CellTime::default() }
    }
}

impl<const N: usize> Change<N> {
    /// The change over the jerk limit for the values before, at and after the node.
    #[inline]
    pub(super) fn of(&self, (before, at, after): (f64, f64, f64)) -> [f64; N] {
        std::array::from_fn(|k| self.before[k] * before + self.at[k] * at + self.after[k] * after)
    }
}

/// Values before, at and after a node; 0 outside.
#[inline]
pub(super) fn around(x: &[f64], i: usize) -> (f64, f64, f64) {
    let before = if i > 0 { x[i - 1] } else { 0.0 };
    let after = if i + 1 < x.len() { x[i + 1] } else { 0.0 };
    (before, x[i], after)
}
