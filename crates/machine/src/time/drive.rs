//! A route driven under given dynamics: speed and limit of every interval.

use super::limit::Limit;
use crate::dynamics::{AxisLimit, Dynamics};
use crate::route::grid::Stretch;
use crate::route::{AccountError, Route};
use motion::path::{ActiveLimit, AxisLimits, PathGrid, Plan, plan};
use rayon::prelude::*;

/// Which cap a feed cap is.
const FEED: u8 = 0;
const BLOCK_TIME: u8 = 1;

/// A driven route: one plan per stretch.
#[derive(Debug, Clone)]
pub(crate) struct Drive {
    pub(crate) plans: Vec<Plan>,
    /// Standing still until the axes have settled, all stops together, s.
    pub(crate) waiting_s: f64,
}

impl Route {
    /// Plans every stretch; `jerk` false leaves the jerk of the axes out.
    pub(crate) fn drive(&self, dynamics: &Dynamics, jerk: bool) -> Result<Drive, AccountError> {
        let limits: Vec<AxisLimits> = dynamics
            .axes
            .iter()
            .map(|a| AxisLimits {
                speed: a.speed,
                acceleration: a.accel,
                jerk: if jerk { a.jerk } else { f64::INFINITY },
            })
            .collect();
        let plans = self
            .stretches
            .par_iter()
            .map(|stretch| self.plan(stretch, dynamics, &limits))
            .collect::<Result<Vec<_>, _>>()?;
        let waits = self.stops().saturating_sub(1);
        Ok(Drive { plans, waiting_s: waits as f64 * dynamics.in_position_s })
    }

    fn plan(
        &self,
        stretch: &Stretch,
        dynamics: &Dynamics,
        limits: &[AxisLimits],
    ) -> Result<Plan, AccountError> {
        let caps = stretch.spans.iter().map(|span| self.cap(span.leg, dynamics));
        let (feed_cap, feed_kind): (Vec<f64>, Vec<u8>) = caps.unzip();
        let grid = PathGrid {
            s: &stretch.s,
            first: &stretch.first,
            second: &stretch.second,
            feed_cap: &feed_cap,
            feed_kind: &feed_kind,
            point_cap: &[],
            start_speed: 0.0,
            end_speed: 0.0,
        };
        let run = self.legs[stretch.spans[0].leg as usize].run as usize;
        plan(&grid, limits).map_err(|source| AccountError::Plan { run, source })
    }

    /// Fastest ds/dt on a leg by feed and block time, and which of the two.
    fn cap(&self, leg: u32, dynamics: &Dynamics) -> (f64, u8) {
        let leg = &self.legs[leg as usize];
        let feed = leg.feed * dynamics.feed_factor;
        let by_blocks = leg.block / dynamics.block_time_s;
        if by_blocks < feed { (by_blocks, BLOCK_TIME) } else { (feed, FEED) }
    }
}

/// The name of an active limit on an interval.
pub(crate) fn name(active: ActiveLimit, corner: bool, dynamics: &Dynamics) -> Limit {
    let axis = |k: u8, limit: AxisLimit| {
        if corner && limit != AxisLimit::Speed {
            Limit::CornerTolerance
        } else {
            Limit::Axis(dynamics.axes[k as usize].name, limit)
        }
    };
    match active {
        ActiveLimit::FeedCap(BLOCK_TIME) => Limit::BlockTime,
        ActiveLimit::FeedCap(_) => Limit::ProgrammedFeed,
        ActiveLimit::AxisSpeed(k) => axis(k, AxisLimit::Speed),
        ActiveLimit::AxisAcceleration(k) => axis(k, AxisLimit::Acceleration),
        ActiveLimit::AxisJerk(k) => axis(k, AxisLimit::Jerk),
        ActiveLimit::PointCap | ActiveLimit::EndSpeed => Limit::StandStill,
    }
}
