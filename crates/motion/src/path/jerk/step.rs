//! How far a Newton step may go.

#![allow(clippy::needless_range_loop, reason = "one index runs over several arrays")]

use super::assemble::{Pair, Rows, Tau};
use super::problem::{CellTime, Window, around};

/// A step uses up at most this share of every slack, and of every multiplier.
const TO_BOUNDARY: f64 = 0.99;

/// Fastest use of a slack and fastest fall of a multiplier, relative, for each axis.
struct Pace<const N: usize> {
    used: [f64; N],
    fall: [f64; N],
}

/// Largest steps of x (along `dx`) and of the multipliers; leaves the changes of the multipliers.
pub(super) fn step_lengths<const N: usize>(
    window: &Window<'_, N>,
    x: &[f64],
    dx: &[f64],
    mu: f64,
    (duals, inverse): (&[Rows<N>], &[Rows<N>]),
    changes: &mut [Rows<N>],
) -> (f64, f64) {
    let last = window.cells();
    let (mut before, mut left_before) = (CellTime::default(), 0.0);
    let mut pace = Pace { used: [0.0; N], fall: [0.0; N] };
    let mut cap = Pace::<1> { used: [0.0], fall: [0.0] };
    for i in 0..=last {
        let (dual, slack, change) = (&duals[i], &inverse[i], &mut changes[i]);
        if !window.is_fixed(i) {
            let along = dx[i] / window.cap[i];
            change.cap = (mu + dual.cap * along) * slack.cap - dual.cap;
            cap.used[0] = larger(cap.used[0], larger(along * slack.cap, -dx[i] / x[i]));
            cap.fall[0] = larger(cap.fall[0], -change.cap / dual.cap);
        }
        let (mut cell, mut met) = (CellTime::default(), 0.0);
        if i < last {
            (cell, met) = (window.cell_time(i, x), window.met[i]);
            let (alpha, beta) = (&window.alpha[i], &window.beta[i]);
            let along = std::array::from_fn(|k| alpha[k] * dx[i + 1] - beta[k] * dx[i]);
            change.acceleration =
                pace.take(mu, &along, 0.0, &dual.acceleration, &slack.acceleration);
        }
        if window.has_jerk_row(i) {
            let near = around(dx, i);
            let along = window.change(i).of(near);
            let tau = Tau::between(&before, left_before, &cell, met);
            let longer = tau.slope[0] * near.0 + tau.slope[1] * near.1 + tau.slope[2] * near.2;
            change.jerk = pace.take(mu, &along, longer, &dual.jerk, &slack.jerk);
        }
        (before, left_before) = (cell, 1.0 - met);
    }
    let most = |values: [f64; N], other: [f64; 1]| values.into_iter().fold(other[0], larger);
    (reach(most(pace.used, cap.used)), reach(most(pace.fall, cap.fall)))
}

impl<const N: usize> Pace<N> {
    /// Takes rows |y| ≤ limit into account, when y changes by `along` and the limit by `longer`;
    /// returns the changes of their multipliers.
    #[inline]
    fn take(
        &mut self,
        mu: f64,
        along: &[f64; N],
        longer: f64,
        dual: &Pair<N>,
        inverse: &Pair<N>,
    ) -> Pair<N> {
        let mut change = Pair::ZERO;
        for k in 0..N {
            let (up, down) = (along[k] - longer, -along[k] - longer);
            change.up[k] = (mu + dual.up[k] * up) * inverse.up[k] - dual.up[k];
            change.down[k] = (mu + dual.down[k] * down) * inverse.down[k] - dual.down[k];
            self.used[k] = larger(self.used[k], larger(up * inverse.up[k], down * inverse.down[k]));
            // both quotients change/λ from one division
            let both = -1.0 / (dual.up[k] * dual.down[k]);
            let (up, down) = (change.up[k] * dual.down[k], change.down[k] * dual.up[k]);
            self.fall[k] = larger(self.fall[k], larger(up * both, down * both));
        }
        change
    }
}

#[inline]
fn larger(a: f64, b: f64) -> f64 {
    if a > b { a } else { b }
}

/// The step that keeps `TO_BOUNDARY` of what is used up at the pace `used` per full step.
fn reach(used: f64) -> f64 {
    if used > TO_BOUNDARY { TO_BOUNDARY / used } else { 1.0 }
}
