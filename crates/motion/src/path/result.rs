//! What a plan says, point by point and interval by interval of the caller's grid.

use super::attribute::Attribution;
use super::cells::Cells;
use super::{ActiveLimit, AxisLimits, PathGrid, PlanError};

/// The fastest motion along a path.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// ds/dt at each grid point.
    pub speed: Vec<f64>,
    /// d²s/dt² at each grid point; at the ends of a path without jerk limits that of the interval
    /// beside it.
    pub acceleration: Vec<f64>,
    /// Time of each interval, s.
    pub time_s: Vec<f64>,
    /// The limit that comes closest to being broken on each interval.
    pub active: Vec<ActiveLimit>,
    /// Sum of `time_s`, s.
    pub total_s: f64,
    /// Under jerk limits, the time that a better profile could still save, s (to first order, by
    /// the multipliers); 0 without jerk limits, where the optimum is met.
    pub gap_s: f64,
}

/// Carries x at the nodes over to the caller's grid.
pub(super) fn collect<const N: usize>(
    cells: &Cells<N>,
    limits: &[AxisLimits; N],
    grid: &PathGrid<'_>,
    x: &[f64],
    gap_s: f64,
) -> Result<Plan, PlanError> {
    let attribution = Attribution::new(cells, limits, grid, x);
    let jerk_limited = attribution.jerk_limited();
    let intervals = grid.s.len() - 1;
    let mut plan = Plan {
        speed: cells.node_of.iter().map(|&n| x[n as usize].sqrt()).collect(),
        acceleration: accelerations(cells, x, jerk_limited),
        time_s: Vec::with_capacity(intervals),
        active: Vec::with_capacity(intervals),
        total_s: 0.0,
        gap_s,
    };
    for i in 0..intervals {
        let range = cells.node_of[i] as usize..cells.node_of[i + 1] as usize;
        plan.time_s.push(range.clone().map(|c| attribution.time(c)).sum());
        let longest = range.max_by(|&a, &b| attribution.time(a).total_cmp(&attribution.time(b)));
        let inherited = plan.active.last().copied().unwrap_or(ActiveLimit::EndSpeed);
        plan.active.push(longest.map_or(inherited, |c| attribution.limit(c)));
    }
    plan.total_s = plan.time_s.iter().sum();
    if plan.total_s.is_finite() { Ok(plan) } else { Err(PlanError::OutOfScale) }
}

/// Path acceleration at the caller's points: between those of the two cells beside each.
fn accelerations<const N: usize>(cells: &Cells<N>, x: &[f64], rest_at_ends: bool) -> Vec<f64> {
    let u = |c: usize| 0.5 * (x[c + 1] - x[c]) / cells.length[c];
    let last = cells.len();
    let at = |node: usize| match node {
        0 if rest_at_ends => 0.0,
        0 => u(0),
        n if n == last && rest_at_ends => 0.0,
        n if n == last => u(n - 1),
        n => {
            let (before, after) = (cells.length[n - 1], cells.length[n]);
            (u(n - 1) * after + u(n) * before) / (before + after)
        }
    };
    cells.node_of.iter().map(|&n| at(n as usize)).collect()
}
