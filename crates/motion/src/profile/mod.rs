//! Straight moves under limited speed, acceleration and jerk, in closed form.
//!
//! Every ramp between two speeds starts and ends with zero acceleration; a [`Move`] is a ramp up
//! to a peak speed, a stretch at that speed, and a ramp down. Formulas: textbook seven-segment
//! profile, symmetric ramps, so that the mean speed of a ramp is the mean of its end speeds.

mod ramp;
mod travel;

pub use ramp::Ramp;
pub use travel::{Move, MoveError, Segment, State};

/// Limits of a straight move, in one unit of length (mm or rad) and seconds; each holds in both
/// senses. Acceleration and jerk may be infinite.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MoveLimits {
    /// Largest speed, unit/s.
    pub speed: f64,
    /// Largest acceleration, unit/s².
    pub acceleration: f64,
    /// Largest jerk, unit/s³.
    pub jerk: f64,
}
