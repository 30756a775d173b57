//! The names of what holds a toolpath's speed down.

use crate::dynamics::AxisLimit;
use crate::{AxisName, Scenario};
use std::fmt;

/// What holds the speed down.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Limit {
    /// The feed in the program: the machine follows.
    ProgrammedFeed,
    /// The control cannot take blocks faster.
    BlockTime,
    /// Corners may be rounded no further.
    CornerTolerance,
    /// At a corner no axis may change its speed by more.
    CornerStep,
    /// The control must be able to stop within the blocks that it sees.
    LookAhead,
    /// Acceleration along the path.
    PathAccel,
    /// Acceleration across the path, towards the centre of its curvature.
    RadialAccel,
    /// The filter of the axes delays every stop.
    Filter,
    /// Standing still until the axes have settled.
    InPosition,
    /// An axis.
    Axis(AxisName, AxisLimit),
    /// Starting and stopping.
    StandStill,
}

impl fmt::Display for Limit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::ProgrammedFeed => f.write_str("programmed feed"),
            Self::BlockTime => f.write_str("block time"),
            Self::CornerTolerance => f.write_str("corner tolerance"),
            Self::CornerStep => f.write_str("corner speed step"),
            Self::LookAhead => f.write_str("look-ahead"),
            Self::PathAccel => f.write_str("path acceleration"),
            Self::RadialAccel => f.write_str("radial acceleration"),
            Self::Filter => f.write_str("axis filter"),
            Self::InPosition => f.write_str("in-position wait"),
            Self::Axis(axis, AxisLimit::Speed) => write!(f, "axis {axis} speed"),
            Self::Axis(axis, AxisLimit::Acceleration) => write!(f, "axis {axis} acceleration"),
            Self::Axis(axis, AxisLimit::Jerk) => write!(f, "axis {axis} jerk"),
            Self::StandStill => f.write_str("start and stop"),
        }
    }
}

impl Limit {
    /// `scenario` with this limit relaxed by `factor` (above 1); `None` where no figure of the
    /// machine relaxes it.
    pub fn relaxed(self, scenario: &Scenario, factor: f64) -> Option<Scenario> {
        let mut relaxed = scenario.clone();
        match self {
            Self::ProgrammedFeed => relaxed.feed *= factor,
            Self::BlockTime => relaxed.block_time /= factor,
            Self::CornerTolerance => relaxed.path_tolerance *= factor,
            Self::CornerStep => relaxed.corner_step *= factor,
            Self::LookAhead => relaxed.look_ahead *= factor,
            Self::PathAccel => relaxed.path_accel *= factor,
            Self::RadialAccel => relaxed.radial_accel *= factor,
            Self::Filter => relaxed.filter /= factor,
            Self::InPosition => relaxed.in_position /= factor,
            Self::Axis(axis, limit) => relaxed.axes.push((axis, limit, factor)),
            Self::StandStill => return None,
        }
        Some(relaxed)
    }
}
