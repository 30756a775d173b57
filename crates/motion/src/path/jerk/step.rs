//! How far a Newton step may go, and where it leads the multipliers.

#![allow(clippy::needless_range_loop, reason = "one index runs over several arrays")]

use super::assemble::{Pair, Rows, Tau};
use super::blocks::{BLOCK, by_blocks};
use super::problem::{CellTime, Window, around};

/// A step uses up at most this share of every slack, and of every multiplier.
const TO_BOUNDARY: f64 = 0.99;

/// A Newton step along `dx` towards the mean λ·slack `mu`.
pub(super) struct Step<'a, const N: usize> {
    pub(super) window: &'a Window<'a, N>,
    pub(super) dx: &'a [f64],
    pub(super) mu: f64,
}

/// What a whole step changes the rows of a node by.
struct Along<const N: usize> {
    cap: f64,
    acceleration: [f64; N],
    jerk: [f64; N],
    /// By how much the time between the middles of the cells beside it grows.
    longer: f64,
}

/// Fastest use of a slack and fastest fall of a multiplier, relative, for each axis.
struct Pace<const N: usize> {
    used: [f64; N],
    fall: [f64; N],
}

impl<const N: usize> Step<'_, N> {
    /// Largest steps of x and of the multipliers; leaves in `longer` by how much the time between the
    /// middles of the cells beside each node grows.
    pub(super) fn lengths(
        &self,
        x: &[f64],
        duals: &[Rows<N>],
        inverse: &[Rows<N>],
        longer: &mut [f64],
    ) -> (f64, f64) {
        let blocks = longer.chunks_mut(BLOCK).enumerate();
        let paces =
            by_blocks(blocks, |(k, longer)| self.paces(x, k * BLOCK, (duals, inverse), longer));
        let most = |a: (f64, f64), b: (f64, f64)| (larger(a.0, b.0), larger(a.1, b.1));
        let (used, fall) = paces.into_iter().fold((0.0, 0.0), most);
        (reach(used), reach(fall))
    }

    /// Fastest use of a slack and fastest fall of a multiplier in the block that begins at `first`.
    fn paces(
        &self,
        x: &[f64],
        first: usize,
        (duals, inverse): (&[Rows<N>], &[Rows<N>]),
        longer: &mut [f64],
    ) -> (f64, f64) {
        let window = self.window;
        let last = window.cells();
        let (mut before, mut left_before) = window.before(first, x);
        let mut pace = Pace { used: [0.0; N], fall: [0.0; N] };
        let mut cap = Pace::<1> { used: [0.0], fall: [0.0] };
        for i in first..first + longer.len() {
            let (mut cell, mut met) = (CellTime::default(), 0.0);
            if i < last {
                (cell, met) = (window.cell_time(i, x), window.met[i]);
            }
            let tau = Tau::between(&before, left_before, &cell, met);
            let near = around(self.dx, i);
            let grows = tau.slope[0] * near.0 + tau.slope[1] * near.1 + tau.slope[2] * near.2;
            longer[i - first] = grows;
            let (dual, slack) = (&duals[i], &inverse[i]);
            let along = self.along(i, grows);
            let change = along.of_multipliers(self.mu, dual, slack);
            if !window.is_fixed(i) {
                let used = larger(along.cap * slack.cap, -self.dx[i] / x[i]);
                cap.used[0] = larger(cap.used[0], used);
                cap.fall[0] = larger(cap.fall[0], -change.cap / dual.cap);
            }
            if i < last {
                let slack = (&dual.acceleration, &slack.acceleration);
                pace.take(&along.acceleration, 0.0, slack, &change.acceleration);
            }
            if window.has_jerk_row(i) {
                pace.take(&along.jerk, grows, (&dual.jerk, &slack.jerk), &change.jerk);
            }
            (before, left_before) = (cell, 1.0 - met);
        }
        let most = |values: [f64; N], other: [f64; 1]| values.into_iter().fold(other[0], larger);
        (most(pace.used, cap.used), most(pace.fall, cap.fall))
    }

    /// Changes the multipliers by the share `dual` of their step.
    pub(super) fn follow(
        &self,
        dual: f64,
        duals: &mut [Rows<N>],
        inverse: &[Rows<N>],
        longer: &[f64],
    ) {
        by_blocks(duals.chunks_mut(BLOCK).enumerate(), |(k, duals)| {
            for (i, rows) in (k * BLOCK..).zip(duals) {
                let along = self.along(i, longer[i]);
                let change = along.of_multipliers(self.mu, rows, &inverse[i]);
                rows.add(dual, &change);
            }
        });
    }

    /// What the step changes the rows of node `i` by.
    #[inline(always)]
    fn along(&self, i: usize, longer: f64) -> Along<N> {
        let (window, dx) = (self.window, self.dx);
        let acceleration = if i < window.cells() {
            let (alpha, beta) = (&window.alpha[i], &window.beta[i]);
            std::array::from_fn(|k| alpha[k] * dx[i + 1] - beta[k] * dx[i])
        } else {
            [0.0; N]
        };
        let jerk = window.change(i).of(around(dx, i));
        Along { cap: dx[i] / window.cap[i], acceleration, jerk, longer }
    }
}

impl<const N: usize> Along<N> {
    /// Changes of the multipliers; 0 for rows that there are not, whose 1/slack is 0.
    #[inline(always)]
    fn of_multipliers(&self, mu: f64, dual: &Rows<N>, inverse: &Rows<N>) -> Rows<N> {
        let pair = |along: &[f64; N], longer: f64, dual: &Pair<N>, inverse: &Pair<N>| {
            let mut change = Pair::ZERO;
            for k in 0..N {
                let (up, down) = (along[k] - longer, -along[k] - longer);
                change.up[k] = (mu + dual.up[k] * up) * inverse.up[k] - dual.up[k];
                change.down[k] = (mu + dual.down[k] * down) * inverse.down[k] - dual.down[k];
            }
            change
        };
        Rows {
            acceleration: pair(&self.acceleration, 0.0, &dual.acceleration, &inverse.acceleration),
            jerk: pair(&self.jerk, self.longer, &dual.jerk, &inverse.jerk),
            cap: (mu + dual.cap * self.cap) * inverse.cap - dual.cap,
        }
    }
}

impl<const N: usize> Pace<N> {
    /// Takes rows |y| ≤ limit into account, when y changes by `along`, the limit by `longer` and the
    /// multipliers by `change`.
    #[inline]
    fn take(
        &mut self,
        along: &[f64; N],
        longer: f64,
        (dual, inverse): (&Pair<N>, &Pair<N>),
        change: &Pair<N>,
    ) {
        for k in 0..N {
            let (up, down) = (along[k] - longer, -along[k] - longer);
            self.used[k] = larger(self.used[k], larger(up * inverse.up[k], down * inverse.down[k]));
            // both quotients change/λ from one division
            let both = -1.0 / (dual.up[k] * dual.down[k]);
            let (up, down) = (change.up[k] * dual.down[k], change.down[k] * dual.up[k]);
            self.fall[k] = larger(self.fall[k], larger(up * both, down * both));
        }
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
