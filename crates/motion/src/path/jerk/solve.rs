//! Primal-dual interior-point method on one window.
//!
//! Minimises the time over x subject to the rows of [`Window`]. Slacks are those of the true rows
//! at the present x, which stays strictly inside: every iterate is feasible. A step solves
//!
//! (∇²T + Σ λ/slack g gᵀ) dx = −∇T − μ Σ g/slack
//!
//! with the gradients g of the rows. The time of a cell is convex; the jerk rows bend the wrong
//! way, so their curvature is counted only as far as it leaves the matrix positive.

use super::assemble::{Measure, Rows, assemble};
use super::band::Band;
use super::problem::Window;
use super::step::Step;

/// Most Newton steps.
const MAX_STEPS: usize = 150;
/// Stops when the sum of λ·slack is below this share of the time.
const GAP: f64 = 3e-5;
/// Target of the next step, as a share of the present mean λ·slack: at first, and at least.
const FIRST_CENTRING: f64 = 0.3;
const LEAST_CENTRING: f64 = 0.1;
/// A step shorter than this is no reason to stop.
const GOOD_STEP: f64 = 0.5;

/// Improves the strictly feasible `x` of the window's nodes to the fastest profile; returns the sum
/// of λ·slack at the end, in seconds: what a better profile could save at most, to first order.
pub(super) fn improve<const N: usize>(window: &Window<'_, N>, x: &mut [f64]) -> f64 {
    let rows = window.rows() as f64;
    let mut band = Band::new(x.len());
    let mut duals = vec![Rows::<N>::ZERO; x.len()];
    let mut inverse = duals.clone();
    let Measure { time, .. } = assemble(window, x, &duals, &mut inverse, &mut band);
    for (dual, inverse) in duals.iter_mut().zip(&inverse) {
        dual.add(time / rows, inverse);
    }
    let mut dx = vec![0.0; x.len()];
    let mut longer = dx.clone();
    let (mut centring, mut primal) = (FIRST_CENTRING, 0.0);
    let mut gap = time;
    for _ in 0..MAX_STEPS {
        let measure = assemble(window, x, &duals, &mut inverse, &mut band);
        gap = measure.gap;
        if (gap < GAP * measure.time && primal > GOOD_STEP) || !band.solve() {
            break;
        }
        let mu = centring * gap / rows;
        for (dx, [pull, push]) in dx.iter_mut().zip(&band.sides) {
            *dx = pull + mu * push;
        }
        let step = Step { window, dx: &dx, mu };
        let dual;
        (primal, dual) = step.lengths(x, &duals, &inverse, &mut longer);
        step.follow(dual, &mut duals, &inverse, &longer);
        x.iter_mut().zip(&dx).for_each(|(x, dx)| *x += primal * dx);
        let short: f64 = 1.0 - primal.min(dual);
        centring = (short * short).max(LEAST_CENTRING);
    }
    gap
}
