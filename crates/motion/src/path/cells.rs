//! The planner's own grid: cells between nodes, with every limit turned into numbers of a cell.
//!
//! Inside a cell of length Δ the path acceleration u is constant, so x' = x + 2 Δ u from node to
//! node. An axis's acceleration at the middle of the cell, p u + r (x + x')/2 with p = q' and
//! r = q'' there, is then α x' − β x with α = (p/Δ + r)/2 and β = (p/Δ − r)/2.

use super::refine::Spacing;
use super::{ActiveLimit, AxisLimits, PathGrid, PlanError, stop};

/// Cells of a path in `N` axes; nodes are one more than cells.
pub(super) struct Cells<const N: usize> {
    /// Length Δ of each cell.
    pub(super) length: Vec<f64>,
    /// α of each cell and axis.
    pub(super) alpha: Vec<[f64; N]>,
    /// β of each cell and axis.
    pub(super) beta: Vec<[f64; N]>,
    /// Time through each cell over that at steady acceleration (above 1 near a stop).
    pub(super) weight: Vec<f64>,
    /// Share of each cell's time that passes before its mean acceleration is met.
    pub(super) met: Vec<f64>,
    /// Largest x = (ds/dt)² at each node by speed limits and caps.
    pub(super) cap: Vec<f64>,
    /// The caller's interval that each cell lies in.
    pub(super) interval: Vec<u32>,
    /// The node of each of the caller's points.
    pub(super) node_of: Vec<u32>,
}

/// q' and q'' of all axes at one place.
struct Place<const N: usize> {
    first: [f64; N],
    second: [f64; N],
}

impl<const N: usize> Cells<N> {
    /// Cells for `grid`, refined where the limits `spaced` ask for it; `pieces` is the least number
    /// of cells of each interval, or empty.
    pub(super) fn new(
        grid: &PathGrid<'_>,
        limits: &[AxisLimits; N],
        spaced: &[AxisLimits; N],
        pieces: &[u32],
    ) -> Result<Self, PlanError> {
        let n = grid.s.len();
        let mut cells = Self::with_capacity(n + n / 8 + 128, n);
        let spacing = Spacing::new(grid, spaced);
        cells.cap.push(node_cap(grid, limits, 0, 0.0));
        cells.node_of.push(0);
        for i in 0..n - 1 {
            let least = pieces.get(i).copied().unwrap_or(1);
            cells.push_interval(grid, limits, i, (&spacing, least));
        }
        cells.bound_ends(grid)?;
        cells.pace_stops(spacing.jerk_stops());
        Ok(cells)
    }

    pub(super) fn with_capacity(cells: usize, points: usize) -> Self {
        Self {
            length: Vec::with_capacity(cells),
            alpha: Vec::with_capacity(cells),
            beta: Vec::with_capacity(cells),
            weight: Vec::new(),
            met: Vec::new(),
            cap: Vec::with_capacity(cells + 1),
            interval: Vec::with_capacity(cells),
            node_of: Vec::with_capacity(points),
        }
    }

    /// Lets go of all but lengths, intervals and nodes of the points.
    pub(super) fn keep_lengths(&mut self) {
        (self.alpha, self.beta) = (Vec::new(), Vec::new());
        (self.weight, self.met, self.cap) = (Vec::new(), Vec::new(), Vec::new());
    }

    /// Number of cells.
    pub(super) fn len(&self) -> usize {
        self.length.len()
    }

    fn push_interval(
        &mut self,
        grid: &PathGrid<'_>,
        limits: &[AxisLimits; N],
        i: usize,
        (spacing, least): (&Spacing, u32),
    ) {
        let (a, b) = (grid.s[i], grid.s[i + 1]);
        if b > a {
            let mut from = 0.0;
            spacing.nodes_between(a, b, least, |to| {
                self.push_cell(grid, i, from, to);
                self.cap.push(node_cap(grid, limits, i, to));
                from = to;
            });
            self.push_cell(grid, i, from, 1.0);
            self.cap.push(node_cap(grid, limits, i, 1.0));
        }
        self.meet(grid, limits, i);
        self.node_of.push(self.len() as u32);
    }

    /// Lowers the cap of the node at point `i + 1` to what the next interval allows there too.
    fn meet(&mut self, grid: &PathGrid<'_>, limits: &[AxisLimits; N], i: usize) {
        if i + 2 < grid.s.len() {
            let node = self.len();
            self.cap[node] = self.cap[node].min(node_cap(grid, limits, i + 1, 0.0));
        }
    }

    #[inline]
    fn push_cell(&mut self, grid: &PathGrid<'_>, i: usize, from: f64, to: f64) {
        let length = (to - from) * (grid.s[i + 1] - grid.s[i]);
        let place = place_on::<N>(grid, i, 0.5 * (from + to));
        let half = |k: usize| (0.5 * place.first[k] / length, 0.5 * place.second[k]);
        self.length.push(length);
        self.alpha.push(std::array::from_fn(|k| half(k).0 + half(k).1));
        self.beta.push(std::array::from_fn(|k| half(k).0 - half(k).1));
        self.interval.push(i as u32);
    }

    /// Sets how time passes in each cell, given which ends are stops under limited jerk.
    pub(super) fn pace_stops(&mut self, (start, end): (bool, bool)) {
        self.weight = vec![1.0; self.len()];
        self.met = vec![0.5; self.len()];
        let middle = 0.5 * self.length.iter().sum::<f64>();
        let mut near = 0.0;
        for c in (0..self.len()).take_while(|_| start) {
            let far = near + self.length[c];
            if far > middle {
                break;
            }
            (self.weight[c], self.met[c]) = stop::pace(near, far);
            near = far;
        }
        near = 0.0;
        for c in (0..self.len()).rev().take_while(|_| end) {
            let far = near + self.length[c];
            if far > middle {
                break;
            }
            let (weight, met) = stop::pace(near, far);
            (self.weight[c], self.met[c]) = (weight, 1.0 - met);
            near = far;
        }
    }

    /// Time through cell `c` with the squared speeds `x` before and `after`.
    #[inline]
    pub(super) fn time(&self, c: usize, x: f64, after: f64) -> f64 {
        2.0 * self.weight[c] * self.length[c] / (x.sqrt() + after.sqrt())
    }

    /// Start and end speed bound the first and the last node.
    fn bound_ends(&mut self, grid: &PathGrid<'_>) -> Result<(), PlanError> {
        let last = self.cap.len() - 1;
        let (start, end) = (grid.start_speed.powi(2), grid.end_speed.powi(2));
        if start > self.cap[0] * (1.0 + END_SLACK) {
            let possible = self.cap[0].sqrt();
            return Err(PlanError::StartSpeed { asked: grid.start_speed, possible });
        }
        if end > self.cap[last] * (1.0 + END_SLACK) {
            let possible = self.cap[last].sqrt();
            return Err(PlanError::EndSpeed { asked: grid.end_speed, possible });
        }
        self.cap[0] = start;
        self.cap[last] = end;
        Ok(())
    }

    /// The caller's point at or before a node.
    pub(super) fn point_before(&self, node: usize) -> usize {
        self.node_of.partition_point(|&n| n as usize <= node).saturating_sub(1)
    }
}

/// Stands for no cap on x, so that products with it stay numbers.
pub(super) const NO_CAP: f64 = 1e200;

/// How much a given end speed may pass a cap through rounding, relative, of the square.
const END_SLACK: f64 = 1e-9;

/// q' and q'' at a fraction of interval `i`, straight between its ends.
#[inline]
fn place_on<const N: usize>(grid: &PathGrid<'_>, i: usize, fraction: f64) -> Place<N> {
    let between = |values: &[f64], k: usize| {
        let (a, b) = (values[i * N + k], values[(i + 1) * N + k]);
        a + fraction * (b - a)
    };
    Place {
        first: std::array::from_fn(|k| between(grid.first, k)),
        second: std::array::from_fn(|k| between(grid.second, k)),
    }
}

/// Largest x at a fraction of interval `i`, by caps and by the speed of the axes.
#[inline]
fn node_cap<const N: usize>(
    grid: &PathGrid<'_>,
    limits: &[AxisLimits; N],
    i: usize,
    fraction: f64,
) -> f64 {
    let first = place_on::<N>(grid, i, fraction).first;
    let mut cap = grid.feed_cap_at(i);
    for k in 0..N {
        cap = cap.min(limits[k].speed / first[k].abs());
    }
    cap.min(point_cap(grid, i, fraction)).powi(2).min(NO_CAP)
}

fn point_cap(grid: &PathGrid<'_>, i: usize, fraction: f64) -> f64 {
    match fraction {
        0.0 => grid.point_cap_at(i),
        1.0 => grid.point_cap_at(i + 1),
        _ => f64::INFINITY,
    }
}

/// Which cap binds at the node `fraction` along interval `i`, and the cap.
pub(super) fn binding_cap<const N: usize>(
    grid: &PathGrid<'_>,
    limits: &[AxisLimits; N],
    i: usize,
    fraction: f64,
) -> (f64, ActiveLimit) {
    let first = place_on::<N>(grid, i, fraction).first;
    let mut best = (grid.feed_cap_at(i), ActiveLimit::FeedCap(grid.feed_kind_at(i)));
    let mut offer = |cap: f64, limit: ActiveLimit| {
        if cap < best.0 {
            best = (cap, limit);
        }
    };
    for k in 0..N {
        offer(limits[k].speed / first[k].abs(), ActiveLimit::AxisSpeed(k as u8));
    }
    offer(point_cap(grid, i, fraction), ActiveLimit::PointCap);
    (best.0.powi(2), best.1)
}
