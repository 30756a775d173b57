//! Which limit holds the speed down in a cell: the one that is used up most.

use super::cells::{Cells, binding_cap};
use super::merge::Merged;
use super::{ActiveLimit, AxisLimits, PathGrid};

/// Share of a cap, of the squared speed, from which the speed counts as being at the cap, whatever
/// else is used up there.
const AT_CAP: f64 = 0.999;

/// Limits of the cells of a finished profile.
pub(super) struct Attribution<'a, const N: usize> {
    /// Cells that carry the profile, merged ones under jerk limits.
    cells: &'a Cells<N>,
    /// Nodes of the finer grid, under jerk limits.
    node: Option<&'a [u32]>,
    /// Cells that know the caller's intervals.
    fine: &'a Cells<N>,
    limits: &'a [AxisLimits; N],
    grid: &'a PathGrid<'a>,
    x: &'a [f64],
}

impl<'a, const N: usize> Attribution<'a, N> {
    /// A view on the profile `x` without jerk limits.
    pub(super) fn without_jerk(
        cells: &'a Cells<N>,
        limits: &'a [AxisLimits; N],
        grid: &'a PathGrid<'a>,
        x: &'a [f64],
    ) -> Self {
        Self { cells, node: None, fine: cells, limits, grid, x }
    }

    /// A view on the profile `x` of merged cells under jerk limits.
    pub(super) fn with_jerk(
        fine: &'a Cells<N>,
        merged: &'a Merged<N>,
        limits: &'a [AxisLimits; N],
        grid: &'a PathGrid<'a>,
        x: &'a [f64],
    ) -> Self {
        Self { cells: &merged.cells, node: Some(&merged.node), fine, limits, grid, x }
    }

    /// Time through cell `c`.
    #[inline]
    fn time(&self, c: usize) -> f64 {
        self.cells.time(c, self.x[c], self.x[c + 1])
    }

    /// The limit that is used up most in cell `c`.
    pub(super) fn limit(&self, c: usize) -> ActiveLimit {
        let mut used = Most { share: -1.0, limit: ActiveLimit::EndSpeed };
        let share = |node: usize| self.x[node] / self.cells.cap[node].max(f64::MIN_POSITIVE);
        self.offer_caps(&mut used, c, if share(c) > share(c + 1) { c } else { c + 1 });
        for k in 0..N {
            let share = self.acceleration(c, k).abs() / self.limits[k].acceleration;
            used.offer(share, ActiveLimit::AxisAcceleration(k as u8));
        }
        if self.node.is_some() {
            self.offer_jerk(&mut used, c);
        }
        used.limit
    }

    fn offer_caps(&self, used: &mut Most, c: usize, node: usize) {
        let share = self.x[node] / self.cells.cap[node].max(f64::MIN_POSITIVE);
        let share = if share > AT_CAP { f64::INFINITY } else { share };
        if share > used.share {
            used.offer(share, self.cap_at(c, node));
        }
    }

    /// Which cap bounds a node of cell `c`.
    fn cap_at(&self, c: usize, node: usize) -> ActiveLimit {
        let fine_node = |n: usize| self.node.map_or(n, |map| map[n] as usize);
        let fine = fine_node(node);
        // the finer cell beside the node, on the side of cell `c`
        let beside = if node == c { fine } else { fine - 1 };
        let i = self.fine.interval[beside] as usize;
        let from = self.fine.node_of[i] as usize;
        let to = self.fine.node_of[i + 1] as usize;
        let fraction = self.fine.length[from..fine].iter().sum::<f64>()
            / self.fine.length[from..to].iter().sum::<f64>();
        let (cap, limit) = binding_cap(self.grid, self.limits, i, fraction.min(1.0));
        let at_end = node == 0 || node == self.cells.len();
        if at_end && self.cells.cap[node] < cap { ActiveLimit::EndSpeed } else { limit }
    }

    /// Acceleration of axis `k` in cell `c`.
    #[inline]
    fn acceleration(&self, c: usize, k: usize) -> f64 {
        self.cells.alpha[c][k] * self.x[c + 1] - self.cells.beta[c][k] * self.x[c]
    }

    /// Offers the jerk of every axis at the two nodes of cell `c`.
    fn offer_jerk(&self, used: &mut Most, c: usize) {
        for node in [c, c + 1] {
            for k in 0..N {
                let share = self.jerk(node, k).abs() / self.limits[k].jerk;
                used.offer(share, ActiveLimit::AxisJerk(k as u8));
            }
        }
    }

    /// Jerk of axis `k` at a node: change of acceleration over the time between cell middles.
    fn jerk(&self, node: usize, k: usize) -> f64 {
        let last = self.cells.len();
        let to_middle = |c: usize| self.cells.met[c] * self.time(c);
        let from_middle = |c: usize| self.time(c) - to_middle(c);
        let still =
            |c: usize, n: usize| (self.cells.alpha[c][k] - self.cells.beta[c][k]) * self.x[n];
        match node {
            0 => (self.acceleration(0, k) - still(0, 0)) / to_middle(0),
            n if n == last => (still(n - 1, n) - self.acceleration(n - 1, k)) / from_middle(n - 1),
            n => {
                let change = self.acceleration(n, k) - self.acceleration(n - 1, k);
                change / (from_middle(n - 1) + to_middle(n))
            }
        }
    }
}

/// The limit used up most so far.
struct Most {
    share: f64,
    limit: ActiveLimit,
}

impl Most {
    #[inline]
    fn offer(&mut self, share: f64, limit: ActiveLimit) {
        if share > self.share {
            *self = Most { share, limit };
        }
    }
}
