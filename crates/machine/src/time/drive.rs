//! A route driven under given dynamics: time and limit of every interval.

use super::chain::Chain;
use super::limit::Limit;
use super::reading;
use crate::dynamics::{AxisLimit, Dynamics};
use crate::route::grid::Stretch;
use crate::route::{AccountError, Route};
use crate::{Corner, Ramp};
use motion::path::{ActiveLimit, AxisLimits, PathGrid, plan_spaced};
use rayon::prelude::*;

/// Which cap a feed cap is.
const FEED: u8 = 0;
pub(super) const BLOCK_TIME: u8 = 1;

/// A driven route: one piece per stretch.
#[derive(Debug, Clone)]
pub(crate) struct Drive {
    pub(crate) driven: Vec<Driven>,
    /// Standing still until the axes have settled, all stops together, s.
    pub(crate) settling_s: f64,
    /// Standing still until the filters of the axes have run out, all stops together, s.
    pub(crate) filtering_s: f64,
}

/// A stretch driven, interval by interval.
#[derive(Debug, Clone)]
pub(crate) struct Driven {
    /// Time of each interval, s.
    pub(crate) time_s: Vec<f64>,
    /// What holds the speed down on it.
    pub(crate) limit: Vec<Limit>,
    /// Time from the end of the command until the axes stand, by their filter or lag, s.
    pub(crate) after_s: f64,
}

impl Drive {
    /// All waits together, s.
    pub(crate) fn waiting_s(&self) -> f64 {
        self.settling_s + self.filtering_s
    }

    /// The waits by what they wait for, those that take time.
    pub(crate) fn waits(&self) -> impl Iterator<Item = (Limit, f64)> {
        let waits = [(Limit::InPosition, self.settling_s), (Limit::Filter, self.filtering_s)];
        waits.into_iter().filter(|(_, wait_s)| *wait_s > 0.0)
    }

    /// Wait at the end of each stretch, s.
    pub(crate) fn waits_s(&self, dynamics: &Dynamics) -> impl Iterator<Item = f64> {
        let (count, settling_s) = (self.driven.len(), dynamics.in_position_s);
        let wait = move |(i, d): (usize, &Driven)| {
            d.after_s + if i + 1 == count { 0.0 } else { settling_s }
        };
        self.driven.iter().enumerate().map(wait)
    }
}

impl Route {
    /// Plans every stretch; `jerk` false leaves the jerk of the axes out.
    pub(crate) fn drive(&self, dynamics: &Dynamics, jerk: bool) -> Result<Drive, AccountError> {
        let jerk = jerk && self.control.ramp == Ramp::Jerk;
        let mut driven = self
            .stretches
            .par_iter()
            .map(|stretch| match self.control.corner {
                Corner::Blend => self.plan(stretch, dynamics, jerk),
                Corner::Arc
                | Corner::SpeedStep
                | Corner::Spread
                | Corner::Average
                | Corner::FeedShare => Chain::new(self, stretch, dynamics, jerk).plan(),
            })
            .collect::<Result<Vec<_>, _>>()?;
        let settling_s = self.stops().saturating_sub(1) as f64 * dynamics.in_position_s;
        if self.control.reads_ahead {
            reading::wait_for_blocks(self, dynamics, &mut driven);
        }
        let filtering_s = driven.iter().map(|d| d.after_s).sum();
        Ok(Drive { driven, settling_s, filtering_s })
    }

    fn plan(
        &self,
        stretch: &Stretch,
        dynamics: &Dynamics,
        jerk: bool,
    ) -> Result<Driven, AccountError> {
        let after_s = if self.control.ramp == Ramp::Jerk { 0.0 } else { dynamics.filter_s };
        if let Some(driven) = self.straight(stretch, dynamics, jerk) {
            return Ok(Driven { after_s, ..driven });
        }
        let limits = axis_limits(dynamics, jerk);
        let columns = path_columns(stretch, dynamics);
        let (first, second) =
            columns.as_ref().map_or((&stretch.first, &stretch.second), |[f, s]| (f, s));
        let point_cap = radial_caps(stretch, dynamics);
        let caps = stretch.spans.iter().map(|span| self.cap(span.leg, dynamics));
        let (feed_cap, feed_kind): (Vec<f64>, Vec<u8>) = caps.unzip();
        let grid = PathGrid {
            s: &stretch.s,
            first,
            second,
            feed_cap: &feed_cap,
            feed_kind: &feed_kind,
            point_cap: &point_cap,
            start_speed: 0.0,
            end_speed: 0.0,
        };
        let run = self.legs[stretch.spans[0].leg as usize].run as usize;
        let spacing = axis_limits(&self.nominal, jerk);
        let plan = plan_spaced(&grid, &limits, &spacing)
            .map_err(|source| AccountError::Plan { run, source })?;
        let limits = plan.active.iter().zip(&stretch.spans);
        let limit = limits.map(|(&active, span)| name(active, span.corner, dynamics)).collect();
        Ok(Driven { time_s: plan.time_s, limit, after_s })
    }

    /// Fastest ds/dt on a leg by feed and block time, and which of the two.
    pub(super) fn cap(&self, leg: u32, dynamics: &Dynamics) -> (f64, u8) {
        let leg = &self.legs[leg as usize];
        let feed = leg.feed * dynamics.feed_factor;
        let by_blocks = leg.block / dynamics.block_time_s;
        if by_blocks < feed && !self.control.reads_ahead {
            (by_blocks, BLOCK_TIME)
        } else {
            (feed, FEED)
        }
    }
}

/// The name of an active limit on an interval.
fn name(active: ActiveLimit, corner: bool, dynamics: &Dynamics) -> Limit {
    let axis = |k: u8, limit: AxisLimit| {
        if usize::from(k) == dynamics.axes.len() {
            Limit::PathAccel
        } else if corner && limit != AxisLimit::Speed {
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
        ActiveLimit::PointCap => Limit::RadialAccel,
        ActiveLimit::EndSpeed => Limit::StandStill,
    }
}

/// Limits of the axes; where the control limits the acceleration along the path, that path itself is
/// one more axis, q = s.
fn axis_limits(dynamics: &Dynamics, jerk: bool) -> Vec<AxisLimits> {
    let of = |a: &crate::AxisDynamics| AxisLimits {
        speed: a.speed,
        acceleration: a.accel,
        jerk: if jerk { a.jerk } else { f64::INFINITY },
    };
    let mut limits: Vec<AxisLimits> = dynamics.axes.iter().map(of).collect();
    let acceleration = dynamics.path_accel;
    if acceleration.is_finite() {
        let steep = limits.iter().take(3).map(|a| a.jerk / a.acceleration);
        let jerk = acceleration * steep.fold(f64::INFINITY, f64::min);
        limits.push(AxisLimits { speed: f64::INFINITY, acceleration, jerk });
    }
    limits
}

/// dq/ds and d²q/ds² with the path as the last axis, where the control limits it.
fn path_columns(stretch: &Stretch, dynamics: &Dynamics) -> Option<[Vec<f64>; 2]> {
    let axes = dynamics.axes.len();
    let with = |columns: &[f64], last: f64| -> Vec<f64> {
        columns.chunks(axes).flat_map(|q| q.iter().copied().chain([last])).collect()
    };
    let limited = dynamics.path_accel.is_finite();
    limited.then(|| [with(&stretch.first, 1.0), with(&stretch.second, 0.0)])
}

/// Speeds at the points by the acceleration across the path; empty where nothing limits it.
fn radial_caps(stretch: &Stretch, dynamics: &Dynamics) -> Vec<f64> {
    let (most, axes) = (dynamics.radial_accel, dynamics.axes.len());
    if most.is_infinite() {
        return Vec::new();
    }
    let bend = |q: &[f64]| q[..3].iter().map(|c| c * c).sum::<f64>().sqrt();
    stretch.second.chunks(axes).map(|q| (most / bend(q)).sqrt()).collect()
}
