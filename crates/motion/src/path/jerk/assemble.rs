//! The Newton system of one step.

#![allow(clippy::needless_range_loop, reason = "one index runs over several arrays")]

use super::band::{Band, HALO, Part};
use super::blocks::{BLOCK, by_blocks};
use super::problem::{CellTime, Window, around};

/// One value for each row of a node (cap, jerk) and of the cell after it (acceleration); `up` and
/// `down` are the two senses of a row.
#[derive(Clone, Copy)]
pub(super) struct Rows<const N: usize> {
    pub(super) acceleration: Pair<N>,
    pub(super) jerk: Pair<N>,
    pub(super) cap: f64,
}

/// Both senses of a row, for every axis.
#[derive(Clone, Copy)]
pub(super) struct Pair<const N: usize> {
    pub(super) up: [f64; N],
    pub(super) down: [f64; N],
}

impl<const N: usize> Pair<N> {
    pub(super) const ZERO: Self = Self { up: [0.0; N], down: [0.0; N] };

    pub(super) fn add(&mut self, factor: f64, other: &Self) {
        for k in 0..N {
            self.up[k] += factor * other.up[k];
            self.down[k] += factor * other.down[k];
        }
    }

    fn sum(&self) -> f64 {
        (0..N).map(|k| self.up[k] + self.down[k]).sum()
    }

    /// 1/slack of rows |y| ≤ `limit`.
    #[inline]
    fn inverse(limit: f64, y: &[f64; N]) -> Self {
        let mut pair = Self::ZERO;
        for k in 0..N {
            let (up, down) = (limit - y[k], limit + y[k]);
            let inverse = 1.0 / (up * down);
            pair.up[k] = down * inverse;
            pair.down[k] = up * inverse;
        }
        pair
    }

    /// Σ λ·slack of rows |y| ≤ `limit` with these multipliers.
    #[inline]
    fn gap(&self, limit: f64, y: &[f64; N]) -> f64 {
        (0..N).map(|k| self.up[k] * (limit - y[k]) + self.down[k] * (limit + y[k])).sum()
    }
}

impl<const N: usize> Rows<N> {
    /// Zero for every row.
    pub(super) const ZERO: Self = Self { acceleration: Pair::ZERO, jerk: Pair::ZERO, cap: 0.0 };

    /// Adds `factor` times `other`.
    pub(super) fn add(&mut self, factor: f64, other: &Self) {
        self.acceleration.add(factor, &other.acceleration);
        self.jerk.add(factor, &other.jerk);
        self.cap += factor * other.cap;
    }
}

/// What the present profile is worth.
pub(super) struct Measure {
    /// Time of the window, s.
    pub(super) time: f64,
    /// Sum of λ·slack, s.
    pub(super) gap: f64,
}

/// Builds the system at `x` and leaves 1/slack of every row in `inverse`.
///
/// The right-hand sides of the band are −∇T and −Σ g/slack. Long windows are built block by block in
/// parallel; each block also goes over the node before it and the one after it, whose rows reach into
/// it, so that every entry of the band is summed in the order of the nodes.
pub(super) fn assemble<const N: usize>(
    window: &Window<'_, N>,
    x: &[f64],
    duals: &[Rows<N>],
    inverse: &mut [Rows<N>],
    band: &mut Band,
) -> Measure {
    let parts = band.blocks().zip(inverse.chunks_mut(BLOCK));
    let found = by_blocks(parts, |(part, inverse)| build(window, x, duals, inverse, part));
    let mut measure = Measure { time: 0.0, gap: 0.0 };
    for Measure { time, gap } in found {
        measure.time += time;
        measure.gap += gap;
    }
    for node in [0, window.cells()] {
        if window.is_fixed(node) {
            band.fix(node);
        }
    }
    measure
}

/// Builds the part of the system whose unknowns are in one block.
fn build<const N: usize>(
    window: &Window<'_, N>,
    x: &[f64],
    duals: &[Rows<N>],
    inverse: &mut [Rows<N>],
    mut part: Part<'_>,
) -> Measure {
    let last = window.cells();
    let own = part.first..part.first + inverse.len();
    let nodes = own.start.saturating_sub(1)..=own.end.min(last);
    let mut band = Band::new(inverse.len() + HALO);
    let mut measure = Measure { time: 0.0, gap: 0.0 };
    let (mut before, mut left_before) = window.before(*nodes.start(), x);
    for i in nodes {
        // the place of the node in the block's own band
        let at = i + HALO - own.start;
        let mut gaps = [0.0; 3];
        let mut rows = Rows::ZERO;
        (rows.cap, gaps[0]) = add_cap(window, x[i], duals[i].cap, &mut band, (i, at));
        let (mut cell, mut met) = (CellTime::default(), 0.0);
        if i < last {
            cell = window.cell_time(i, x);
            met = window.met[i];
            // share of the cell's curvature that the jerk rows leave
            let pull = met * duals[i].jerk.sum() + (1.0 - met) * duals[i + 1].jerk.sum();
            add_time(&mut band, at, &cell, (1.0 - pull).max(0.0));
            (rows.acceleration, gaps[1]) =
                add_acceleration(window, x, &duals[i].acceleration, &mut band, (i, at));
        }
        if window.has_jerk_row(i) {
            let tau = Tau::between(&before, left_before, &cell, met);
            (rows.jerk, gaps[2]) = add_jerk(window, x, &duals[i].jerk, &mut band, (i, at, &tau));
        }
        if own.contains(&i) {
            inverse[i - own.start] = rows;
            measure.time += cell.time;
            gaps.iter().for_each(|gap| measure.gap += gap);
        }
        (before, left_before) = (cell, 1.0 - met);
    }
    part.take(&band);
    measure
}

/// Time between the middles of two cells, with its slopes by x before, at and after the node.
pub(super) struct Tau {
    pub(super) time: f64,
    pub(super) slope: [f64; 3],
}

impl Tau {
    /// From the cell before the node, of which the share `left` counts, and the cell after it, of
    /// which the share `met` counts.
    #[inline]
    pub(super) fn between(before: &CellTime, left: f64, after: &CellTime, met: f64) -> Self {
        Self {
            time: left * before.time + met * after.time,
            slope: [left * before.a, left * before.b + met * after.a, met * after.b],
        }
    }
}

/// Adds the row of the cap at node `i`; gives 1/slack and λ·slack, as the rows below do.
#[inline]
fn add_cap<const N: usize>(
    window: &Window<'_, N>,
    x: f64,
    dual: f64,
    band: &mut Band,
    (i, at): (usize, usize),
) -> (f64, f64) {
    if window.is_fixed(i) {
        return (0.0, 0.0);
    }
    let scale = 1.0 / window.cap[i];
    let slack = 1.0 - x * scale;
    let inverse = 1.0 / slack;
    band.diagonal[at] += dual * inverse * scale * scale;
    band.sides[at][1] -= inverse * scale;
    (inverse, dual * slack)
}

#[inline(always)]
fn add_time(band: &mut Band, i: usize, cell: &CellTime, weight: f64) {
    band.diagonal[i] += weight * cell.aa;
    band.near[i] += weight * cell.ab;
    band.diagonal[i + 1] += weight * cell.bb;
    band.sides[i][0] -= cell.a;
    band.sides[i + 1][0] -= cell.b;
}

#[inline]
fn add_acceleration<const N: usize>(
    window: &Window<'_, N>,
    x: &[f64],
    dual: &Pair<N>,
    band: &mut Band,
    (i, at): (usize, usize),
) -> (Pair<N>, f64) {
    let (alpha, beta) = (&window.alpha[i], &window.beta[i]);
    let y: [f64; N] = std::array::from_fn(|k| alpha[k] * x[i + 1] - beta[k] * x[i]);
    let slack = Pair::inverse(1.0, &y);
    let mut h = [0.0; 3];
    let mut push = [0.0; 2];
    for k in 0..N {
        let w = dual.up[k] * slack.up[k] + dual.down[k] * slack.down[k];
        let p = slack.up[k] - slack.down[k];
        h[0] += w * beta[k] * beta[k];
        h[1] -= w * alpha[k] * beta[k];
        h[2] += w * alpha[k] * alpha[k];
        push[0] += p * beta[k];
        push[1] -= p * alpha[k];
    }
    band.diagonal[at] += h[0];
    band.near[at] += h[1];
    band.diagonal[at + 1] += h[2];
    band.sides[at][1] += push[0];
    band.sides[at + 1][1] += push[1];
    (slack, dual.gap(1.0, &y))
}

#[inline]
fn add_jerk<const N: usize>(
    window: &Window<'_, N>,
    x: &[f64],
    dual: &Pair<N>,
    band: &mut Band,
    (i, at, tau): (usize, usize, &Tau),
) -> (Pair<N>, f64) {
    let change = window.change(i);
    let y = change.of(around(x, i));
    let slack = Pair::inverse(tau.time, &y);
    // weights of c cᵀ, of t tᵀ and of the mixed terms; c changes with the axis, t does not
    let (mut h, mut mixed, mut push) = ([0.0; 6], [0.0; 3], [0.0; 3]);
    let (mut weight, mut pull) = (0.0, 0.0);
    for k in 0..N {
        let c = [change.before[k], change.at[k], change.after[k]];
        let (up, down) = (dual.up[k] * slack.up[k], dual.down[k] * slack.down[k]);
        let (w, z, p) = (up + down, up - down, slack.up[k] - slack.down[k]);
        weight += w;
        pull += slack.up[k] + slack.down[k];
        let wc = c.map(|v| w * v);
        h[0] += wc[0] * c[0];
        h[1] += wc[0] * c[1];
        h[2] += wc[0] * c[2];
        h[3] += wc[1] * c[1];
        h[4] += wc[1] * c[2];
        h[5] += wc[2] * c[2];
        for j in 0..3 {
            mixed[j] += z * c[j];
            push[j] += p * c[j];
        }
    }
    let t = &tau.slope;
    let pair = |p: usize, q: usize| weight * t[p] * t[q] - mixed[p] * t[q] - t[p] * mixed[q];
    let side = |j: usize| pull * t[j] - push[j];
    let last = window.cells();
    if i > 0 {
        band.diagonal[at - 1] += h[0] + pair(0, 0);
        band.near[at - 1] += h[1] + pair(0, 1);
        band.sides[at - 1][1] += side(0);
        if i < last {
            band.far[at - 1] += h[2] + pair(0, 2);
        }
    }
    band.diagonal[at] += h[3] + pair(1, 1);
    band.sides[at][1] += side(1);
    if i < last {
        band.near[at] += h[4] + pair(1, 2);
        band.diagonal[at + 1] += h[5] + pair(2, 2);
        band.sides[at + 1][1] += side(2);
    }
    (slack, dual.gap(tau.time, &y))
}
