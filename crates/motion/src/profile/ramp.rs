//! Change of speed with zero acceleration at both ends.

use super::MoveLimits;

/// A symmetric ramp: jerk, steady acceleration, jerk.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ramp {
    /// Speed before.
    pub from: f64,
    /// Speed after.
    pub to: f64,
    /// Time of each of the two jerk phases, s.
    pub jerk_time_s: f64,
    /// Time at steady acceleration, s.
    pub steady_time_s: f64,
}

impl Ramp {
    /// The fastest ramp between two speeds.
    ///
    /// Δv/a + a/J where the acceleration is reached, else 2 √(Δv/J).
    pub fn new(from: f64, to: f64, limits: &MoveLimits) -> Self {
        let change = (to - from).abs();
        let to_full = limits.acceleration / limits.jerk;
        let full = change > limits.acceleration * to_full;
        let (jerk_time_s, steady_time_s) = if full {
            (to_full, change / limits.acceleration - to_full)
        } else {
            ((change / limits.jerk).sqrt(), 0.0)
        };
        Self { from, to, jerk_time_s, steady_time_s }
    }

    /// Time of the ramp, s.
    pub fn time_s(&self) -> f64 {
        2.0 * self.jerk_time_s + self.steady_time_s
    }

    /// Length of the ramp: mean speed times time.
    pub fn length(&self) -> f64 {
        0.5 * (self.from + self.to) * self.time_s()
    }
}
