//! A quantity, the value that was given, and the range that was expected.

use std::fmt;

/// A value outside the range that its quantity allows.
#[derive(Debug, Clone, PartialEq)]
pub struct OutOfRange {
    /// What was given, in the user's words: `diameter_mm`.
    pub quantity: String,
    /// The value as it was given.
    pub value: f64,
    /// What was expected: `greater than 0`.
    pub expected: String,
}

impl fmt::Display for OutOfRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} is {}, expected {}", self.quantity, self.value, self.expected)
    }
}

impl std::error::Error for OutOfRange {}

/// Range checks on a named quantity; each returns the value so that they chain.
pub trait RangeCheck {
    /// A finite number greater than zero.
    fn positive(self, quantity: &str) -> Result<f64, OutOfRange>;
    /// A finite number, zero or greater.
    fn not_negative(self, quantity: &str) -> Result<f64, OutOfRange>;
    /// A finite number from `low` to `high`, ends included.
    fn within(self, quantity: &str, low: f64, high: f64) -> Result<f64, OutOfRange>;
}

fn check(ok: bool, value: f64, quantity: &str, expected: &str) -> Result<f64, OutOfRange> {
    if ok && value.is_finite() {
        return Ok(value);
    }
    Err(OutOfRange { quantity: quantity.to_owned(), value, expected: expected.to_owned() })
}

impl RangeCheck for f64 {
    fn positive(self, quantity: &str) -> Result<f64, OutOfRange> {
        check(self > 0.0, self, quantity, "a number greater than 0")
    }

    fn not_negative(self, quantity: &str) -> Result<f64, OutOfRange> {
        check(self >= 0.0, self, quantity, "a number that is 0 or greater")
    }

    fn within(self, quantity: &str, low: f64, high: f64) -> Result<f64, OutOfRange> {
        let expected = format!("a number from {low} to {high}");
        check(self >= low && self <= high, self, quantity, &expected)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nan_is_never_in_range() {
        assert!(f64::NAN.positive("x").is_err());
        assert!(f64::NAN.within("x", 0.0, 1.0).is_err());
        assert!(f64::INFINITY.not_negative("x").is_err());
    }
}
