//! What a plan says, point by point and interval by interval of the caller's grid.

use super::attribute::Attribution;
use super::cells::Cells;
use super::merge::Merged;
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

/// The plan without jerk limits, from x at the nodes.
pub(super) fn collect<const N: usize>(
    cells: &Cells<N>,
    limits: &[AxisLimits; N],
    grid: &PathGrid<'_>,
    x: &[f64],
) -> Result<Plan, PlanError> {
    let attribution = Attribution::without_jerk(cells, limits, grid, x);
    let times: Vec<f64> = (0..cells.len()).map(|c| cells.time(c, x[c], x[c + 1])).collect();
    let acceleration = accelerations(cells, x);
    sum_up(cells, x, acceleration, &times, |c| attribution.limit(c))
}

/// The plan under jerk limits, from x at the merged nodes and what it could still save.
pub(super) fn collect_merged<const N: usize>(
    cells: &Cells<N>,
    merged: &Merged<N>,
    limits: &[AxisLimits; N],
    grid: &PathGrid<'_>,
    (x, gap_s): (&[f64], f64),
    bound: &[f64],
) -> Result<Plan, PlanError> {
    let attribution = Attribution::with_jerk(cells, merged, limits, grid, x);
    let fine = merged.spread(cells, x, bound);
    let (mut times, mut cell_of) = (Vec::with_capacity(cells.len()), Vec::new());
    for (m, ends) in merged.node.windows(2).enumerate() {
        for c in ends[0] as usize..ends[1] as usize {
            let steady = 2.0 * cells.length[c] / (fine[c].sqrt() + fine[c + 1].sqrt());
            times.push(merged.cells.weight[m] * steady);
            cell_of.push(m);
        }
    }
    let acceleration = merged.accelerations(cells, x);
    let at_points = cells.node_of.iter().map(|&n| acceleration[n as usize]).collect();
    let plan = sum_up(cells, &fine, at_points, &times, |c| attribution.limit(cell_of[c]))?;
    Ok(Plan { gap_s, ..plan })
}

/// Carries nodes and cells over to the caller's points and intervals.
fn sum_up<const N: usize>(
    cells: &Cells<N>,
    x: &[f64],
    acceleration: Vec<f64>,
    times: &[f64],
    limit: impl Fn(usize) -> ActiveLimit,
) -> Result<Plan, PlanError> {
    let intervals = cells.node_of.len() - 1;
    let mut time_s = Vec::with_capacity(intervals);
    let mut active = Vec::with_capacity(intervals);
    for i in 0..intervals {
        let range = cells.node_of[i] as usize..cells.node_of[i + 1] as usize;
        time_s.push(times[range.clone()].iter().sum());
        let longest = range.max_by(|&a, &b| times[a].total_cmp(&times[b]));
        let inherited = active.last().copied().unwrap_or(ActiveLimit::EndSpeed);
        active.push(longest.map_or(inherited, &limit));
    }
    let total_s: f64 = time_s.iter().sum();
    if !total_s.is_finite() {
        return Err(PlanError::OutOfScale);
    }
    let speed = cells.node_of.iter().map(|&n| x[n as usize].sqrt()).collect();
    Ok(Plan { speed, acceleration, time_s, active, total_s, gap_s: 0.0 })
}

/// Path acceleration at the caller's points: between those of the two cells beside each.
fn accelerations<const N: usize>(cells: &Cells<N>, x: &[f64]) -> Vec<f64> {
    let u = |c: usize| 0.5 * (x[c + 1] - x[c]) / cells.length[c];
    let last = cells.len();
    let at = |node: usize| match node {
        0 => u(0),
        n if n == last => u(n - 1),
        n => {
            let (before, after) = (cells.length[n - 1], cells.length[n]);
            (u(n - 1) * after + u(n) * before) / (before + after)
        }
    };
    cells.node_of.iter().map(|&n| at(n as usize)).collect()
}
