//! Primal-dual interior-point method on one window.
//!
//! Minimises the time over x subject to the rows of [`Window`]. Slacks are those of the true rows
//! at the present x, which stays strictly inside: every iterate is feasible. The time of a cell is
//! convex; the jerk rows are convex on the wrong side, so their curvature is counted only as far as
//! it leaves the matrix positive.

use super::band::Band;
use super::problem::Window;

/// Most Newton steps.
const MAX_STEPS: usize = 120;
/// The step keeps this share of every slack from being used up.
const TO_BOUNDARY: f64 = 0.99;
/// Stops when the sum of λ·slack is below this share of the time.
const GAP: f64 = 2e-5;

/// Multipliers of the rows of one node (cap, jerk) and of the cell after it (acceleration).
#[derive(Clone, Copy)]
struct Duals<const N: usize> {
    acceleration: [[f64; N]; 2],
    jerk: [[f64; N]; 2],
    cap: f64,
}

struct Solver<'w, 'a, const N: usize> {
    window: &'w Window<'a, N>,
    x: &'w mut [f64],
    duals: Vec<Duals<N>>,
    steps: Vec<Duals<N>>,
    band: Band,
}

/// Improves the strictly feasible `x` of the window's nodes to the fastest profile; returns the sum
/// of λ·slack at the end, in seconds: what a better profile could save at most, to first order.
pub(super) fn improve<const N: usize>(window: &Window<'_, N>, x: &mut [f64]) -> f64 {
    let nodes = window.cells() + 1;
    let empty = Duals { acceleration: [[0.0; N]; 2], jerk: [[0.0; N]; 2], cap: 0.0 };
    let mut solver = Solver {
        window,
        x,
        duals: vec![empty; nodes],
        steps: vec![empty; nodes],
        band: Band::new(nodes),
    };
    solver.run()
}

impl<const N: usize> Solver<'_, '_, N> {
    fn run(&mut self) -> f64 {
        let rows = self.window.rows() as f64;
        let mut gap = self.total_time();
        self.start_duals(gap / rows);
        let mut centring = 0.3;
        for _ in 0..MAX_STEPS {
            let mu = centring * gap / rows;
            self.assemble(mu);
            if !self.band.solve(self.window.cells() + 1) {
                break;
            }
            let (primal, dual) = self.step_lengths(mu);
            gap = self.advance(primal, dual);
            if gap < GAP * self.total_time() && primal > 0.5 {
                break;
            }
            let short = 1.0 - primal.min(dual);
            centring = (short * short).clamp(0.1, 1.0);
        }
        gap
    }

    fn total_time(&self) -> f64 {
        (0..self.window.cells()).map(|c| self.window.time(c, self.x)).sum()
    }

    /// Multipliers μ/slack.
    fn start_duals(&mut self, mu: f64) {
        let (window, x) = (self.window, &*self.x);
        for i in 0..=window.cells() {
            let d = &mut self.duals[i];
            d.cap = if window.is_fixed(i) { 0.0 } else { mu / (1.0 - x[i] / window.cap[i]) };
            if i < window.cells() {
                for k in 0..N {
                    let y = window.alpha[i][k] * x[i + 1] - window.beta[i][k] * x[i];
                    d.acceleration[0][k] = mu / (1.0 - y);
                    d.acceleration[1][k] = mu / (1.0 + y);
                }
            }
            if window.has_jerk_row(i) {
                let change = window.change(i);
                let (before, at, after) = around(x, i);
                let tau = tau(window, x, i);
                for k in 0..N {
                    let y = change.before[k] * before + change.at[k] * at + change.after[k] * after;
                    d.jerk[0][k] = mu / (tau - y);
                    d.jerk[1][k] = mu / (tau + y);
                }
            }
        }
    }

    /// Builds the Newton system for the barrier parameter `mu`.
    fn assemble(&mut self, mu: f64) {
        let (window, x, duals) = (self.window, &*self.x, &self.duals);
        let band = &mut self.band;
        band.clear();
        let last = window.cells();
        let mut before = super::problem::CellTime::default();
        let mut half_before = 0.0;
        for i in 0..=last {
            let d = &duals[i];
            // cap
            if !window.is_fixed(i) {
                let scale = 1.0 / window.cap[i];
                let inverse = 1.0 / (1.0 - x[i] * scale);
                band.diagonal[i] += d.cap * inverse * scale * scale;
                band.rhs[i] -= mu * inverse * scale;
            }
            // time and acceleration of the cell after the node
            let (mut cell, mut half) = (super::problem::CellTime::default(), 0.0);
            if i < last {
                cell = window.cell_time(i, x);
                half = window.met[i];
                let pull = half * sum(&d.jerk) + (1.0 - half) * sum(&duals[i + 1].jerk);
                let weight = (1.0 - pull).max(0.0);
                let (mut aa, mut ab, mut bb) =
                    (weight * cell.aa, weight * cell.ab, weight * cell.bb);
                let (mut ra, mut rb) = (-cell.a, -cell.b);
                let (alpha, beta) = (&window.alpha[i], &window.beta[i]);
                for k in 0..N {
                    let y = alpha[k] * x[i + 1] - beta[k] * x[i];
                    let (up, down) = (1.0 / (1.0 - y), 1.0 / (1.0 + y));
                    let w = d.acceleration[0][k] * up + d.acceleration[1][k] * down;
                    let push = mu * (up - down);
                    aa += w * beta[k] * beta[k];
                    ab -= w * alpha[k] * beta[k];
                    bb += w * alpha[k] * alpha[k];
                    ra += push * beta[k];
                    rb -= push * alpha[k];
                }
                band.diagonal[i] += aa;
                band.near[i] += ab;
                band.diagonal[i + 1] += bb;
                band.rhs[i] += ra;
                band.rhs[i + 1] += rb;
            }
            // jerk at the node
            if window.has_jerk_row(i) {
                let change = window.change(i);
                let (xb, xa, xc) = around(x, i);
                let tau = half_before * before.time + half * cell.time;
                let t =
                    [half_before * before.a, half_before * before.b + half * cell.a, half * cell.b];
                let (mut total, mut v) = (0.0, [0.0; 3]);
                let mut h = [0.0; 6];
                let mut r = [0.0; 3];
                let mut pushes = 0.0;
                for k in 0..N {
                    let c = [change.before[k], change.at[k], change.after[k]];
                    let y = c[0] * xb + c[1] * xa + c[2] * xc;
                    let (up, down) = (1.0 / (tau - y), 1.0 / (tau + y));
                    let (wu, wd) = (d.jerk[0][k] * up, d.jerk[1][k] * down);
                    let (w, z) = (wu + wd, wu - wd);
                    total += w;
                    let push = mu * (up - down);
                    pushes += mu * (up + down);
                    for j in 0..3 {
                        v[j] += z * c[j];
                        r[j] -= push * c[j];
                    }
                    h[0] += w * c[0] * c[0];
                    h[1] += w * c[0] * c[1];
                    h[2] += w * c[0] * c[2];
                    h[3] += w * c[1] * c[1];
                    h[4] += w * c[1] * c[2];
                    h[5] += w * c[2] * c[2];
                }
                for j in 0..3 {
                    r[j] += pushes * t[j];
                }
                let pair = |p: usize, q: usize| total * t[p] * t[q] - v[p] * t[q] - t[p] * v[q];
                if i > 0 {
                    band.diagonal[i - 1] += h[0] + pair(0, 0);
                    band.near[i - 1] += h[1] + pair(0, 1);
                    band.rhs[i - 1] += r[0];
                }
                if i > 0 && i < last {
                    band.far[i - 1] += h[2] + pair(0, 2);
                }
                band.diagonal[i] += h[3] + pair(1, 1);
                band.rhs[i] += r[1];
                if i < last {
                    band.near[i] += h[4] + pair(1, 2);
                    band.diagonal[i + 1] += h[5] + pair(2, 2);
                    band.rhs[i + 1] += r[2];
                }
            }
            before = cell;
            half_before = 1.0 - half;
        }
        for node in [0, last] {
            if window.is_fixed(node) {
                band.fix(node);
            }
        }
    }

    /// Largest steps of x and of the multipliers; leaves the changes of the multipliers.
    fn step_lengths(&mut self, mu: f64) -> (f64, f64) {
        let (window, x, dx) = (self.window, &*self.x, &self.band.rhs);
        let last = window.cells();
        let mut before = super::problem::CellTime::default();
        let mut half_before = 0.0;
        let (mut primal, mut dual) = (1.0f64, 1.0f64);
        // used: largest of gd/s; fall: largest of -dλ/λ
        let (mut used, mut fall) = (0.0f64, 0.0f64);
        let mut row = |slack: f64, gd: f64, lambda: f64| {
            let inverse = 1.0 / slack;
            used = used.max(gd * inverse);
            let change = (mu + lambda * gd) * inverse - lambda;
            fall = fall.max(-change / lambda);
            change
        };
        for i in 0..=last {
            let d = &self.duals[i];
            let s = &mut self.steps[i];
            if !window.is_fixed(i) {
                let scale = 1.0 / window.cap[i];
                s.cap = row(1.0 - x[i] * scale, dx[i] * scale, d.cap);
            }
            let (mut cell, mut half) = (super::problem::CellTime::default(), 0.0);
            if i < last {
                cell = window.cell_time(i, x);
                half = window.met[i];
                let (alpha, beta) = (&window.alpha[i], &window.beta[i]);
                for k in 0..N {
                    let y = alpha[k] * x[i + 1] - beta[k] * x[i];
                    let gd = alpha[k] * dx[i + 1] - beta[k] * dx[i];
                    s.acceleration[0][k] = row(1.0 - y, gd, d.acceleration[0][k]);
                    s.acceleration[1][k] = row(1.0 + y, -gd, d.acceleration[1][k]);
                }
            }
            if window.has_jerk_row(i) {
                let change = window.change(i);
                let (xb, xa, xc) = around(x, i);
                let (db, da, dc) = around(&dx[..=last], i);
                let tau = half_before * before.time + half * cell.time;
                let dtau = half_before * (before.a * db + before.b * da)
                    + half * (cell.a * da + cell.b * dc);
                for k in 0..N {
                    let y = change.before[k] * xb + change.at[k] * xa + change.after[k] * xc;
                    let gd = change.before[k] * db + change.at[k] * da + change.after[k] * dc;
                    s.jerk[0][k] = row(tau - y, gd - dtau, d.jerk[0][k]);
                    s.jerk[1][k] = row(tau + y, -gd - dtau, d.jerk[1][k]);
                }
            }
            before = cell;
            half_before = 1.0 - half;
        }
        for i in 0..=last {
            used = used.max(-dx[i] / x[i].max(f64::MIN_POSITIVE));
        }
        if used > 0.0 {
            primal = primal.min(TO_BOUNDARY / used);
        }
        if fall > 0.0 {
            dual = dual.min(TO_BOUNDARY / fall);
        }
        (primal, dual)
    }

    /// Takes the step; returns the sum of λ·slack after it.
    fn advance(&mut self, primal: f64, dual: f64) -> f64 {
        let window = self.window;
        let last = window.cells();
        for i in 0..=last {
            self.x[i] += primal * self.band.rhs[i];
            let (d, s) = (&mut self.duals[i], &self.steps[i]);
            d.cap += dual * s.cap;
            for side in 0..2 {
                for k in 0..N {
                    d.acceleration[side][k] += dual * s.acceleration[side][k];
                    d.jerk[side][k] += dual * s.jerk[side][k];
                }
            }
        }
        let x = &*self.x;
        let mut gap = 0.0;
        for i in 0..=last {
            let d = &self.duals[i];
            gap += d.cap * (1.0 - x[i] / window.cap[i].max(f64::MIN_POSITIVE));
            if i < last {
                for k in 0..N {
                    let y = window.alpha[i][k] * x[i + 1] - window.beta[i][k] * x[i];
                    gap += d.acceleration[0][k] * (1.0 - y) + d.acceleration[1][k] * (1.0 + y);
                }
            }
            if window.has_jerk_row(i) {
                let change = window.change(i);
                let (b, a, c) = around(x, i);
                let tau = tau(window, x, i);
                for k in 0..N {
                    let y = change.before[k] * b + change.at[k] * a + change.after[k] * c;
                    gap += d.jerk[0][k] * (tau - y) + d.jerk[1][k] * (tau + y);
                }
            }
        }
        gap
    }
}

#[inline]
fn sum<const N: usize>(pair: &[[f64; N]; 2]) -> f64 {
    pair[0].iter().sum::<f64>() + pair[1].iter().sum::<f64>()
}

/// Values before, at and after a node; 0 outside.
#[inline]
fn around(x: &[f64], i: usize) -> (f64, f64, f64) {
    let before = if i > 0 { x[i - 1] } else { 0.0 };
    let after = if i + 1 < x.len() { x[i + 1] } else { 0.0 };
    (before, x[i], after)
}

/// Time between the middles of the cells beside a node.
#[inline]
fn tau<const N: usize>(window: &Window<'_, N>, x: &[f64], i: usize) -> f64 {
    let before = if i > 0 { (1.0 - window.met[i - 1]) * window.time(i - 1, x) } else { 0.0 };
    let after = if i < window.cells() { window.met[i] * window.time(i, x) } else { 0.0 };
    before + after
}
