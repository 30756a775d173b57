//! Cells long enough for the jerk to matter, made of those of a finer grid.
//!
//! A path may be given far more finely than its motion changes. Under jerk limits nothing happens
//! in a small share of A/J, so neighbouring cells are merged while the time through them (at the
//! speeds of the optimum without jerk limits, so at least that) stays below it and the path turns
//! little on them. Directions and bends are averaged over the merged length.

#![allow(clippy::needless_range_loop, reason = "one index runs over several arrays")]

use super::cells::Cells;
use super::refine::Spacing;
use super::{AxisLimits, PathGrid};

/// A merged cell lasts no longer than this share of the smallest A/J of the axes.
const SHARE_OF_RAMP: f64 = 1.0 / 40.0;
/// And no longer than this share of the whole path.
const SHARE_OF_PATH: f64 = 1.0 / 400.0;
/// Along a merged cell the acceleration that the bend of the path asks for changes by no more than
/// this share of the limit, and the path's direction by no more than this share of itself.
const TURN: f64 = 0.04;
/// Caps of the nodes of a merged cell differ by no more than this, relative.
const CAP_CHANGE: f64 = 0.01;

/// Of more cells than this in a row that are driven straight on at their cap, those inside are one.
const STEADY: usize = 4096;
/// Share of a cap, of the squared speed, that counts as being at it.
const AT_CAP: f64 = 0.999;
/// The direction of a straight cell changes by no more than this share of itself.
const STRAIGHT: f64 = 1e-9;
/// Inside is what lies farther from both ends of the row than this many of the longest A/J.
const RAMPS: f64 = 10.0;

/// A cell shorter than this share of the mean never stands alone: against one that only rounding has
/// made, the equations of the jerk cannot be solved.
const SLIVER: f64 = 1e-9;

/// Merged cells, and where their nodes lie among those of the finer grid. The one inside a long steady
/// row is as short as others: nothing of its motion depends on its length.
pub(super) struct Merged<const N: usize> {
    /// The merged cells; `interval` and `node_of` stay empty.
    pub(super) cells: Cells<N>,
    /// Node of the finer grid for each node.
    pub(super) node: Vec<u32>,
}

/// What the cells merged so far have in common.
struct Run<const N: usize> {
    time: f64,
    cap: f64,
    count: f64,
    /// q' over A and q'' over A of each axis in the first cell.
    first: [f64; N],
    second: [f64; N],
}

/// Merges `cells`; `bound` is the optimum without jerk limits.
pub(super) fn merge<const N: usize>(
    cells: &Cells<N>,
    bound: &[f64],
    limits: &[AxisLimits; N],
    grid: &PathGrid<'_>,
) -> Merged<N> {
    let spacing = Spacing::new(grid, limits);
    let longest = longest_cell(cells, bound, limits);
    let inside = inside_steady_rows(cells, bound, limits);
    let mut node = vec![0u32];
    let mut s = grid.s[0];
    let mut run = Run::start(cells, 0, limits, spacing.count(s));
    let sliver = SLIVER * cells.length.iter().sum::<f64>() / cells.len() as f64;
    let mut run_mm = 0.0;
    for c in 0..cells.len() {
        let time = cells.time(c, bound[c], bound[c + 1]);
        s += cells.length[c];
        let count = spacing.count(s);
        let last = node[node.len() - 1] as usize;
        let too_long = run.time + time > longest || count - run.count > 1.0;
        let ends = match &inside {
            Some(inside) if inside[c] => !inside[c - 1],
            Some(inside) if c > 0 && inside[c - 1] => true,
            _ => too_long || !run.takes(cells, c, limits, bound[c]),
        };
        if c > last && run_mm > sliver && ends {
            node.push(c as u32);
            run_mm = 0.0;
            run = Run::start(cells, c, limits, spacing.count(s - cells.length[c]));
        }
        run.time += time;
        run_mm += cells.length[c];
    }
    node.push(cells.len() as u32);
    let shorter = |c: usize| {
        let inside = inside.as_ref().is_some_and(|inside| inside[c]);
        if inside { bound[c].sqrt() * longest } else { f64::INFINITY }
    };
    Merged { cells: merged_cells(cells, &node, spacing.jerk_stops(), shorter), node }
}

fn longest_cell<const N: usize>(cells: &Cells<N>, bound: &[f64], limits: &[AxisLimits; N]) -> f64 {
    let ramp = limits.iter().map(|l| l.acceleration / l.jerk).filter(|t| *t > 0.0);
    let total: f64 = (0..cells.len()).map(|c| cells.time(c, bound[c], bound[c + 1])).sum();
    let ramp = ramp.fold(f64::INFINITY, f64::min);
    (SHARE_OF_RAMP * ramp).min(SHARE_OF_PATH * total)
}

/// Which cells lie inside a long row of cells that are driven straight on at the cap: their speed is
/// steady, and they need not be told apart. `None` where there is no such row.
fn inside_steady_rows<const N: usize>(
    cells: &Cells<N>,
    bound: &[f64],
    limits: &[AxisLimits; N],
) -> Option<Vec<bool>> {
    let at_cap = |n: usize| bound[n] >= AT_CAP * cells.cap[n];
    let straight = |c: usize| {
        let (alpha, beta) = (&cells.alpha[c], &cells.beta[c]);
        let size = (0..N).map(|k| (alpha[k] + beta[k]).abs()).fold(0.0, f64::max);
        (0..N).all(|k| (alpha[k] - beta[k]).abs() <= STRAIGHT * size)
    };
    let goes_on = |c: usize| {
        let first = |c: usize, k: usize| (cells.alpha[c][k] + cells.beta[c][k]) * cells.length[c];
        let size = (0..N).map(|k| first(c, k).abs()).fold(0.0, f64::max);
        (0..N).all(|k| (first(c, k) - first(c - 1, k)).abs() <= STRAIGHT * size)
            && (cells.cap[c + 1] - cells.cap[c]).abs() <= STRAIGHT * cells.cap[c]
    };
    let away_s = RAMPS * limits.iter().map(|l| l.acceleration / l.jerk).fold(0.0, f64::max);
    let mut inside: Option<Vec<bool>> = None;
    let mut from = 0;
    while from < cells.len() {
        let steady =
            |c: &usize| at_cap(*c) && at_cap(*c + 1) && straight(*c) && (*c == from || goes_on(*c));
        let to = from + (from..cells.len()).take_while(steady).count();
        if to - from > STEADY {
            let inside = inside.get_or_insert_with(|| vec![false; cells.len()]);
            let time = |c: usize| cells.time(c, bound[c], bound[c + 1]);
            let (mut left, mut past) = ((from..to).map(time).sum::<f64>(), 0.0);
            for c in from..to {
                left -= time(c);
                inside[c] = f64::min(past, left) > away_s;
                past += time(c);
            }
        }
        from = to.max(from + 1);
    }
    inside
}

impl<const N: usize> Run<N> {
    fn start(cells: &Cells<N>, c: usize, limits: &[AxisLimits; N], count: f64) -> Self {
        let (first, second) = shape(cells, c, limits);
        Self { time: 0.0, cap: cells.cap[c], count, first, second }
    }

    /// Whether cell `c`, driven at the squared speed `x`, is enough like the first one.
    fn takes(&self, cells: &Cells<N>, c: usize, limits: &[AxisLimits; N], x: f64) -> bool {
        if (cells.cap[c] - self.cap).abs() > CAP_CHANGE * self.cap {
            return false;
        }
        let (first, second) = shape(cells, c, limits);
        let size = self.first.iter().fold(0.0f64, |m, p| m.max(p.abs()));
        (0..N).all(|k| {
            (second[k] - self.second[k]).abs() * x <= TURN
                && (first[k] - self.first[k]).abs() <= TURN * size
        })
    }
}

/// q' over A and q'' over A of every axis in cell `c`.
fn shape<const N: usize>(
    cells: &Cells<N>,
    c: usize,
    limits: &[AxisLimits; N],
) -> ([f64; N], [f64; N]) {
    let (alpha, beta, length) = (&cells.alpha[c], &cells.beta[c], cells.length[c]);
    let first = std::array::from_fn(|k| (alpha[k] + beta[k]) * length / limits[k].acceleration);
    let second = std::array::from_fn(|k| (alpha[k] - beta[k]) / limits[k].acceleration);
    (first, second)
}

/// The merged cells between the nodes, none longer than `longest` says of its first cell.
fn merged_cells<const N: usize>(
    cells: &Cells<N>,
    node: &[u32],
    stops: (bool, bool),
    longest: impl Fn(usize) -> f64,
) -> Cells<N> {
    let mut merged = Cells::with_capacity(node.len(), 0);
    merged.cap.push(cells.cap[0]);
    for ends in node.windows(2) {
        let (from, to) = (ends[0] as usize, ends[1] as usize);
        let whole: f64 = cells.length[from..to].iter().sum();
        let mean = |k: usize, of: fn(f64, f64, f64) -> f64| {
            let each = |c: usize| of(cells.alpha[c][k], cells.beta[c][k], cells.length[c]);
            (from..to).map(|c| each(c) * cells.length[c]).sum::<f64>() / whole
        };
        let first = |k| mean(k, |alpha, beta, length| (alpha + beta) * length);
        let second = |k| mean(k, |alpha, beta, _| alpha - beta);
        let length = whole.min(longest(from));
        merged.length.push(length);
        merged.alpha.push(std::array::from_fn(|k| 0.5 * (first(k) / length + second(k))));
        merged.beta.push(std::array::from_fn(|k| 0.5 * (first(k) / length - second(k))));
        let inside = cells.cap[from + 1..to].iter().copied().fold(f64::INFINITY, f64::min);
        let before = merged.cap.len() - 1;
        merged.cap[before] = merged.cap[before].min(inside);
        merged.cap.push(cells.cap[to].min(inside));
    }
    merged.pace_stops(stops);
    merged
}

impl<const N: usize> Merged<N> {
    /// Carries x at the merged nodes back to the finer nodes, never above `bound` there.
    pub(super) fn spread(&self, fine: &Cells<N>, x: &[f64], bound: &[f64]) -> Vec<f64> {
        let mut all = vec![0.0; fine.len() + 1];
        for (c, ends) in self.node.windows(2).enumerate() {
            let (from, to) = (ends[0] as usize, ends[1] as usize);
            let slope = (x[c + 1] - x[c]) / fine.length[from..to].iter().sum::<f64>();
            let mut along = 0.0;
            for i in from..to {
                all[i] = (x[c] + slope * along).min(bound[i]);
                along += fine.length[i];
            }
        }
        all[fine.len()] = x[x.len() - 1];
        all
    }

    /// Path acceleration at each node of the finer grid: straight between the middles of the merged
    /// cells, and zero at both ends of the path.
    pub(super) fn accelerations(&self, fine: &Cells<N>, x: &[f64]) -> Vec<f64> {
        let cells = &self.cells;
        let u = |c: usize| 0.5 * (x[c + 1] - x[c]) / cells.length[c];
        let mut all = vec![0.0; fine.len() + 1];
        let last = cells.len() - 1;
        for (c, ends) in self.node.windows(2).enumerate() {
            let half = 0.5 * cells.length[c];
            let before = if c > 0 { (u(c - 1), 0.5 * cells.length[c - 1]) } else { (0.0, 0.0) };
            let after = if c < last { (u(c + 1), 0.5 * cells.length[c + 1]) } else { (0.0, 0.0) };
            let (from, to) = (ends[0] as usize, ends[1] as usize);
            let share = cells.length[c] / fine.length[from..to].iter().sum::<f64>();
            let mut along = 0.0;
            for i in from..to {
                let off: f64 = along * share - half;
                let (other, reach) = if off < 0.0 { before } else { after };
                all[i] = u(c) + (other - u(c)) * off.abs() / (half + reach);
                along += fine.length[i];
            }
        }
        all
    }
}
