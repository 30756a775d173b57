//! The fastest profile under jerk limits as well.

mod assemble;
mod band;
mod blocks;
mod problem;
mod solve;
mod start;
mod step;

use super::merge::Merged;
use super::{AxisLimits, PathGrid, PlanError};
use problem::{End, Window};

/// How far a given end speed may be missed, relative: more than the method's own error.
const END_SLACK: f64 = 1e-3;

/// The fastest x at every merged node under all limits; `bound` is the optimum without jerk
/// limits at the nodes of the finer grid.
///
/// Also returns what a better profile could save at most, s.
pub(super) fn fastest<const N: usize>(
    merged: &Merged<N>,
    limits: &[AxisLimits; N],
    grid: &PathGrid<'_>,
    bound: &[f64],
) -> Result<(Vec<f64>, f64), PlanError> {
    let end = |speed: f64| if speed == 0.0 { End::Stop } else { End::Steady };
    let cells = &merged.cells;
    let at_nodes = merged.node.iter().map(|&n| bound[n as usize]);
    let bound: Vec<f64> = at_nodes.zip(&cells.cap).map(|(x, cap)| x.min(*cap)).collect();
    let window = Window::new(
        cells,
        &bound,
        (0, cells.len()),
        (limits.map(|l| l.acceleration), limits.map(|l| l.jerk)),
        (end(grid.start_speed), end(grid.end_speed)),
    );
    let mut x = start::profile(&window);
    let gap_s = solve::improve(&window, &mut x);
    keep_end_speeds(&mut x, grid)?;
    Ok((x, gap_s))
}

/// Refuses end speeds that were not reached, and sets those that were to the given value.
fn keep_end_speeds(x: &mut [f64], grid: &PathGrid<'_>) -> Result<(), PlanError> {
    let last = x.len() - 1;
    let missed = |x: f64, asked: f64| x.sqrt() < asked * (1.0 - END_SLACK);
    if missed(x[0], grid.start_speed) {
        return Err(PlanError::StartSpeed { asked: grid.start_speed, possible: x[0].sqrt() });
    }
    if missed(x[last], grid.end_speed) {
        return Err(PlanError::EndSpeed { asked: grid.end_speed, possible: x[last].sqrt() });
    }
    x[0] = grid.start_speed.powi(2);
    x[last] = grid.end_speed.powi(2);
    Ok(())
}
