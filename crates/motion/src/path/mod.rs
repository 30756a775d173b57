//! The fastest way along a given path under the limits of its axes.
//!
//! A path is handed over as a grid of points s_i with q' = dq/ds and q'' = d²q/ds² of every axis
//! ([`PathGrid`]), limits per axis ([`AxisLimits`]) and caps on the speed ds/dt. [`plan`] returns
//! speed, acceleration, time, and for each interval the limit that held the speed down.
//!
//! With x = (ds/dt)² and u = d²s/dt² an axis moves with
//!
//! * speed q' √x,
//! * acceleration q' u + q'' x,
//! * jerk √x · d/ds (q' u + q'' x) = q' s⃛ + 3 q'' ṡ s̈ + q''' ṡ³,
//!
//! so the jerk is the change of the axis's acceleration between two points over the time between
//! them, and q''' need not be known.
//!
//! Where no axis has a finite jerk limit the optimum comes from one backward and one forward sweep
//! (the method of Pham and Pham, IEEE Trans. Robotics 34, 2018, from memory). With jerk limits an
//! interior-point method improves on a profile that keeps every limit, and never leaves the
//! allowed set: whenever it is stopped, its answer is feasible.

mod attribute;
mod cells;
mod error;
mod grid;
mod jerk;
mod limits;
mod merge;
mod refine;
mod result;
mod stop;
mod sweep;

pub use error::PlanError;
pub use grid::{MAX_AXES, PathGrid};
pub use limits::{ActiveLimit, AxisLimits};
pub use result::Plan;

use cells::Cells;

/// Plans the fastest motion along `grid` under `limits` (one per axis).
///
/// Axes with an infinite jerk limit are held to speed and acceleration only. A path between two
/// full stops stands alone: split a long path at its stops and plan the stretches in parallel.
pub fn plan(grid: &PathGrid<'_>, limits: &[AxisLimits]) -> Result<Plan, PlanError> {
    plan_spaced(grid, limits, limits)
}

/// As [`plan`], with the planner's own nodes where plans under `spacing` have them: two plans that are
/// compared, one with a limit changed, then differ by that limit and not by their nodes.
pub fn plan_spaced(
    grid: &PathGrid<'_>,
    limits: &[AxisLimits],
    spacing: &[AxisLimits],
) -> Result<Plan, PlanError> {
    grid.check(limits)?;
    grid.check(spacing)?;
    macro_rules! dispatch {
        ($($n:literal),*) => { match limits.len() { $($n => plan_axes::<$n>(grid, limits, spacing),)* n => Err(PlanError::AxisCount { axes: n }) } };
    }
    dispatch!(1, 2, 3, 4, 5, 6, 7, 8)
}

/// Plans without any jerk limit: the lower bound of the time of every control on this path.
pub fn plan_without_jerk(grid: &PathGrid<'_>, limits: &[AxisLimits]) -> Result<Plan, PlanError> {
    let free: Vec<AxisLimits> =
        limits.iter().map(|l| AxisLimits { jerk: f64::INFINITY, ..*l }).collect();
    plan(grid, &free)
}

fn plan_axes<const N: usize>(
    grid: &PathGrid<'_>,
    limits: &[AxisLimits],
    spacing: &[AxisLimits],
) -> Result<Plan, PlanError> {
    let limits: [AxisLimits; N] = std::array::from_fn(|k| limits[k]);
    let Some(spacing) = spacing.first_chunk::<N>() else {
        return Err(PlanError::AxisCount { axes: spacing.len() });
    };
    let mut cells = Cells::<N>::new(grid, &limits, spacing, &[])?;
    if limits.iter().all(|l| l.jerk.is_infinite()) {
        let x = sweep::fastest(&cells, &limits, grid)?;
        return result::collect(&cells, &limits, grid, &x);
    }
    let estimate = sweep::estimate(&cells, spacing);
    if let Some(pieces) = refine::pieces(&cells, spacing, &estimate) {
        cells = Cells::new(grid, &limits, spacing, &pieces)?;
    }
    let bound = sweep::fastest(&cells, &limits, grid)?;
    let merged = if *spacing == limits {
        merge::merge(&cells, &bound, &limits, grid)
    } else {
        merge::merge(&cells, &sweep::fastest(&cells, spacing, grid)?, spacing, grid)
    };
    cells.keep_lengths();
    let (x, gap_s) = jerk::fastest(&merged, &limits, grid, &bound)?;
    result::collect_merged(&cells, &merged, &limits, grid, (&x, gap_s), &bound)
}
