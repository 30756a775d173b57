//! The fastest profile under speed and acceleration limits: one sweep back, one forward.
//!
//! In a cell each axis bounds a strip |α x' − β x| ≤ A in the plane of the squared speeds x before
//! and x' after it. Backward, the largest x from which some allowed x' can be reached follows in
//! closed form: strips must overlap each other (pairs of axes: the curve of largest speed, also
//! where q' of an axis vanishes) and the allowed range of x'. Forward, the largest x' is taken.

#![allow(clippy::needless_range_loop, reason = "one index runs over several arrays")]

use super::cells::{Cells, NO_CAP};
use super::{AxisLimits, PathGrid, PlanError};

/// How much the sweeps may miss a given end speed through rounding, relative.
const END_SLACK: f64 = 1e-9;

/// The largest x = (ds/dt)² at every node under speed and acceleration limits.
pub(super) fn fastest<const N: usize>(
    cells: &Cells<N>,
    limits: &[AxisLimits; N],
    grid: &PathGrid<'_>,
) -> Result<Vec<f64>, PlanError> {
    let acceleration: [f64; N] = std::array::from_fn(|k| limits[k].acceleration);
    let caps = caps_where_inertia_vanishes(cells, &acceleration);
    let mut x = controllable(cells, &acceleration, caps);
    let start = grid.start_speed.powi(2);
    if start > x[0] * (1.0 + END_SLACK) {
        return Err(PlanError::StartSpeed { asked: grid.start_speed, possible: x[0].sqrt() });
    }
    let end = forward(cells, &acceleration, &mut x);
    if end < grid.end_speed.powi(2) * (1.0 - END_SLACK) {
        return Err(PlanError::EndSpeed { asked: grid.end_speed, possible: end.sqrt() });
    }
    match x.iter().position(|&x| x >= NO_CAP) {
        Some(node) => Err(PlanError::Unbounded { index: cells.point_before(node) }),
        None => Ok(x),
    }
}

/// An estimate of x at the nodes under jerk limits: as [`fastest`], with the speed also held to what
/// the jerk allows at steady speed. Neither a bound nor feasible; it tells where time is spent.
pub(super) fn estimate<const N: usize>(cells: &Cells<N>, limits: &[AxisLimits; N]) -> Vec<f64> {
    let acceleration: [f64; N] = std::array::from_fn(|k| limits[k].acceleration);
    let mut caps = caps_where_inertia_vanishes(cells, &acceleration);
    for i in 1..cells.len() {
        let between = 0.5 * (cells.length[i - 1] + cells.length[i]);
        let bend = |c: usize, k: usize| cells.alpha[c][k] - cells.beta[c][k];
        for k in 0..N {
            let change = (bend(i, k) - bend(i - 1, k)).abs();
            if change * caps[i].powf(1.5) > limits[k].jerk * between {
                caps[i] = (limits[k].jerk * between / change).powf(2.0 / 3.0);
            }
        }
    }
    let mut x = controllable(cells, &acceleration, caps);
    forward(cells, &acceleration, &mut x);
    x
}

/// Backward sweep: the largest x below `x` at each node from which the path can be finished.
fn controllable<const N: usize>(
    cells: &Cells<N>,
    acceleration: &[f64; N],
    mut x: Vec<f64>,
) -> Vec<f64> {
    for i in (0..cells.len()).rev() {
        let before = largest_before(&cells.alpha[i], &cells.beta[i], acceleration, x[i + 1]);
        x[i] = x[i].min(before);
    }
    x
}

/// Node caps, lowered around cells in which q' of an axis passes through zero.
///
/// There α and β have opposite signs and the strip bounds a weighted mean of x and x': held for
/// both x and x' it keeps the sweeps monotone, and costs no more than the error of the grid.
fn caps_where_inertia_vanishes<const N: usize>(
    cells: &Cells<N>,
    acceleration: &[f64; N],
) -> Vec<f64> {
    let mut x = cells.cap.clone();
    for (i, (alpha, beta)) in cells.alpha.iter().zip(&cells.beta).enumerate() {
        for k in 0..N {
            if alpha[k] * beta[k] < 0.0 {
                let cap = acceleration[k] / (alpha[k] - beta[k]).abs();
                x[i] = x[i].min(cap);
                x[i + 1] = x[i + 1].min(cap);
            }
        }
    }
    x
}

/// Forward sweep inside what is controllable; the x reached at the last node.
fn forward<const N: usize>(cells: &Cells<N>, acceleration: &[f64; N], x: &mut [f64]) -> f64 {
    for i in 0..cells.len() {
        let after = largest_after(&cells.alpha[i], &cells.beta[i], acceleration, x[i]);
        x[i + 1] = x[i + 1].min(after);
    }
    x[cells.len()]
}

/// Largest x before a cell from which some x' in `0 ..= after` keeps every strip.
#[inline]
fn largest_before<const N: usize>(
    alpha: &[f64; N],
    beta: &[f64; N],
    a: &[f64; N],
    after: f64,
) -> f64 {
    // α made positive; β with the same sign change
    let up: [f64; N] = std::array::from_fn(|k| alpha[k].abs());
    let down: [f64; N] = std::array::from_fn(|k| if alpha[k] < 0.0 { -beta[k] } else { beta[k] });
    let mut x = f64::INFINITY;
    for k in 0..N {
        // the strip must meet 0 ..= after
        let room = if down[k] > 0.0 { a[k] + up[k] * after } else { a[k] };
        x = x.min(room / down[k].abs());
        for l in 0..k {
            // and the strip of every other axis
            let apart = (down[k] * up[l] - down[l] * up[k]).abs();
            let widths = a[k] * up[l] + a[l] * up[k];
            if apart * x > widths {
                x = widths / apart;
            }
        }
    }
    x
}

/// Largest x' after a cell that is entered at `before`.
#[inline]
fn largest_after<const N: usize>(
    alpha: &[f64; N],
    beta: &[f64; N],
    a: &[f64; N],
    before: f64,
) -> f64 {
    let mut after = f64::INFINITY;
    for k in 0..N {
        let down = if alpha[k] < 0.0 { -beta[k] } else { beta[k] };
        if down >= 0.0 {
            after = after.min((a[k] + down * before) / alpha[k].abs());
        }
    }
    after
}
