//! How far a time may be off: shared draws, and how a time answers to what is not known.

pub mod draws;
pub mod response;
pub mod timing;

use units::Interval;

/// The planner's own error that is common to all programs of one machine, as a factor: common
/// practice, no source.
pub const MODEL_COMMON: Interval = Interval { low: 0.95, high: 1.08 };
/// The planner's error that differs from program to program, as a factor: common practice, no source.
pub const MODEL_OWN: Interval = Interval { low: 0.98, high: 1.02 };
