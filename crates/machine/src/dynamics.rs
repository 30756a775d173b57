//! What a machine can do, as bare numbers for one reckoning, and the ways to vary them.

use crate::{AxisName, Machine, Setting, Stated};
use units::Interval;

/// Limits of one axis, mm or rad.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AxisDynamics {
    /// Which axis.
    pub name: AxisName,
    /// Fastest speed, 1/s.
    pub speed: f64,
    /// Acceleration, 1/s².
    pub accel: f64,
    /// Jerk, 1/s³.
    pub jerk: f64,
}

/// All limits of one reckoning.
#[derive(Debug, Clone, PartialEq)]
pub struct Dynamics {
    /// Axes in the order of the layout.
    pub axes: Vec<AxisDynamics>,
    /// Time of a block, s.
    pub block_time_s: f64,
    /// Corner tolerance, mm.
    pub path_tolerance_mm: f64,
    /// Largest step of a linear axis' speed at a corner, mm/s.
    pub corner_step_mm_s: f64,
    /// Length of the axes' filter, s.
    pub filter_s: f64,
    /// Blocks of look-ahead; infinite: enough.
    pub look_ahead: f64,
    /// Acceleration along the path, mm/s²; infinite: the axes alone limit it.
    pub path_accel: f64,
    /// Acceleration across the path, mm/s²; infinite: alike.
    pub radial_accel: f64,
    /// Chip to chip, s.
    pub tool_change_s: f64,
    /// Wait at exact stops and between rapid and feed, s.
    pub in_position_s: f64,
    /// Programmed feeds are taken times this.
    pub feed_factor: f64,
    /// Further settings of the control, those that are given, in the unit of their key.
    pub(crate) settings: [Option<f64>; Setting::ALL.len()],
}

impl Dynamics {
    /// A further setting of the control, where it is given, in the unit of its key.
    pub fn setting(&self, setting: Setting) -> Option<f64> {
        self.settings[setting as usize]
    }
}

/// A limit of an axis.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum AxisLimit {
    /// Its speed.
    Speed,
    /// Its acceleration.
    Acceleration,
    /// Its jerk.
    Jerk,
}

/// How a reckoning departs from the machine's nominal values; 1 everywhere is the machine itself.
#[derive(Debug, Clone, PartialEq)]
pub struct Scenario {
    /// On the speed of every axis.
    pub speed: f64,
    /// On the acceleration of every axis.
    pub accel: f64,
    /// On the jerk of every axis.
    pub jerk: f64,
    /// On the block time.
    pub block_time: f64,
    /// On the corner tolerance; other than 1 plans the geometry anew.
    pub path_tolerance: f64,
    /// On the step of an axis' speed at a corner.
    pub corner_step: f64,
    /// On the length of the axes' filter.
    pub filter: f64,
    /// On the blocks of look-ahead.
    pub look_ahead: f64,
    /// On the acceleration along the path.
    pub path_accel: f64,
    /// On the acceleration across the path.
    pub radial_accel: f64,
    /// On the tool change.
    pub tool_change: f64,
    /// On the wait at exact stops.
    pub in_position: f64,
    /// On the programmed feeds.
    pub feed: f64,
    /// On single limits of single axes, after the factors above.
    pub axes: Vec<(AxisName, AxisLimit, f64)>,
}

impl Default for Scenario {
    fn default() -> Self {
        Self {
            speed: 1.0,
            accel: 1.0,
            jerk: 1.0,
            block_time: 1.0,
            path_tolerance: 1.0,
            corner_step: 1.0,
            filter: 1.0,
            look_ahead: 1.0,
            path_accel: 1.0,
            radial_accel: 1.0,
            tool_change: 1.0,
            in_position: 1.0,
            feed: 1.0,
            axes: Vec::new(),
        }
    }
}

/// Intervals of the factors of a [`Scenario`] that the machine file leaves open.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Uncertainty {
    /// On the acceleration.
    pub accel: Interval,
    /// On the jerk.
    pub jerk: Interval,
    /// On the block time.
    pub block_time: Interval,
    /// On the corner tolerance.
    pub path_tolerance: Interval,
    /// On the tool change.
    pub tool_change: Interval,
}

impl Machine {
    /// Nominal limits.
    pub fn dynamics(&self) -> Dynamics {
        self.dynamics_in(&Scenario::default())
    }

    /// Limits under a scenario.
    pub fn dynamics_in(&self, scenario: &Scenario) -> Dynamics {
        let axes = self.axes.iter().map(|axis| AxisDynamics {
            name: axis.name,
            speed: axis.max_speed * scenario.on(axis.name, AxisLimit::Speed),
            accel: axis.accel.value * scenario.on(axis.name, AxisLimit::Acceleration),
            jerk: axis.jerk.value * scenario.on(axis.name, AxisLimit::Jerk),
        });
        let accel = |stated: Option<Stated>| stated.map_or(f64::INFINITY, |s| s.value);
        Dynamics {
            axes: axes.collect(),
            block_time_s: self.block_time_s.value * scenario.block_time,
            path_tolerance_mm: self.path_tolerance_mm.value * scenario.path_tolerance,
            corner_step_mm_s: self.control.corner_step_mm_s.value * scenario.corner_step,
            filter_s: self.control.filter_s.value * scenario.filter,
            look_ahead: self.control.look_ahead.map_or(f64::INFINITY, f64::from)
                * scenario.look_ahead,
            path_accel: accel(self.control.path_accel_mm_s2) * scenario.path_accel,
            radial_accel: accel(self.control.radial_accel_mm_s2) * scenario.radial_accel,
            tool_change_s: self.tool_change_s.value * scenario.tool_change,
            in_position_s: self.in_position_s * scenario.in_position,
            feed_factor: scenario.feed,
            settings: self.control.settings.map(|s| s.map(|s| s.value)),
        }
    }

    /// What the figures are good to, as factors: the widest interval of any axis.
    pub fn uncertainty(&self) -> Uncertainty {
        let over = |pick: fn(&crate::Axis) -> Stated| {
            let ends = self.axes.iter().map(|a| pick(a).factors());
            Interval::hull(ends.flat_map(|i| [i.low, i.high])).unwrap_or(Interval::point(1.0))
        };
        Uncertainty {
            accel: over(|a| a.accel),
            jerk: over(|a| a.jerk),
            block_time: self.block_time_s.factors(),
            path_tolerance: self.path_tolerance_mm.factors(),
            tool_change: self.tool_change_s.factors(),
        }
    }
}

impl Scenario {
    fn on(&self, axis: AxisName, limit: AxisLimit) -> f64 {
        let all = match limit {
            AxisLimit::Speed => self.speed,
            AxisLimit::Acceleration => self.accel,
            AxisLimit::Jerk => self.jerk,
        };
        let single = self.axes.iter().filter(|(a, l, _)| *a == axis && *l == limit);
        single.fold(all, |product, (_, _, factor)| product * factor)
    }
}
