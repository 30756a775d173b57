//! A profile that strictly keeps every row of a window, to start from.

use super::problem::{Window, around};

/// Share of each limit that the start uses at most.
const SHARE: f64 = 0.5;

/// A strictly feasible x at every node of the window.
pub(super) fn profile<const N: usize>(window: &Window<'_, N>) -> Vec<f64> {
    let nodes = window.cells() + 1;
    let mut root: Vec<f64> = (0..nodes).map(|i| steady_cap(window, i).powf(0.75)).collect();
    let slope: Vec<f64> = (0..window.cells()).map(|c| growth(window, c)).collect();
    for c in 0..window.cells() {
        root[c + 1] = root[c + 1].min(root[c] + slope[c] * window.length[c]);
    }
    for c in (0..window.cells()).rev() {
        root[c] = root[c].min(root[c + 1] + slope[c] * window.length[c]);
    }
    let mut x: Vec<f64> = root.iter().map(|g| g.powf(4.0 / 3.0)).collect();
    let (acceleration, jerk) = used(window, &x);
    let scale = (SHARE / acceleration).min((SHARE / jerk).powf(2.0 / 3.0)).min(SHARE);
    x.iter_mut().for_each(|x| *x *= scale);
    x
}

/// Largest x at a node when driven at steady speed.
fn steady_cap<const N: usize>(window: &Window<'_, N>, node: usize) -> f64 {
    let mut x = window.cap[node];
    if node == 0 || node == window.cells() {
        return x;
    }
    let bend = |c: usize, k: usize| window.alpha[c][k] - window.beta[c][k];
    let between = 0.5 * (window.length[node - 1] + window.length[node]);
    for k in 0..N {
        let (before, after) = (bend(node - 1, k), bend(node, k));
        x = x.min(1.0 / before.abs().max(after.abs()));
        let change = (after - before).abs() * window.to_jerk[k];
        x = x.min((between / change).powf(2.0 / 3.0));
    }
    x
}

/// Rise of x^(3/4) over s when the path jerk is as large as the axes of a cell allow.
fn growth<const N: usize>(window: &Window<'_, N>, cell: usize) -> f64 {
    let mut jerk = f64::INFINITY;
    for k in 0..N {
        let along = (window.alpha[cell][k] + window.beta[cell][k]).abs() * window.length[cell];
        jerk = jerk.min(1.0 / (along * window.to_jerk[k]));
    }
    (4.5 * jerk).sqrt()
}

/// Largest shares of the acceleration and of the jerk limits that `x` uses.
fn used<const N: usize>(window: &Window<'_, N>, x: &[f64]) -> (f64, f64) {
    let (mut acceleration, mut jerk) = (0.0f64, 0.0f64);
    for i in 0..=window.cells() {
        for k in 0..N {
            if i < window.cells() {
                let y = window.alpha[i][k] * x[i + 1] - window.beta[i][k] * x[i];
                acceleration = acceleration.max(y.abs());
            }
        }
        if window.has_jerk_row(i) {
            let y = window.change(i).of(around(x, i));
            let tau = window.tau(i, x);
            jerk = y.into_iter().fold(jerk, |most, y| most.max(y.abs() / tau));
        }
    }
    (acceleration, jerk)
}
