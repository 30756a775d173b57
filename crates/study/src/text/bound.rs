//! The range that a quantity of a file may lie in, and what a value outside it usually means.

/// Range of a number in a file. The ends are wide: they catch a mistaken unit, not bad practice.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Bound {
    /// Unit, as it is written in messages.
    pub(crate) unit: &'static str,
    /// Lower end.
    pub(crate) low: f64,
    /// Whether the lower end itself is excluded.
    pub(crate) above_low: bool,
    /// Upper end, included.
    pub(crate) high: f64,
    /// What to look at when the value is outside.
    pub(crate) hint: &'static str,
}

impl Bound {
    /// More than zero, at most `high`.
    pub(crate) const fn positive(unit: &'static str, high: f64, hint: &'static str) -> Self {
        Self { unit, low: 0.0, above_low: true, high, hint }
    }

    /// Zero or more, at most `high`.
    pub(crate) const fn from_zero(unit: &'static str, high: f64, hint: &'static str) -> Self {
        Self { unit, low: 0.0, above_low: false, high, hint }
    }

    /// From `low` to `high`, ends included.
    pub(crate) const fn between(
        unit: &'static str,
        low: f64,
        high: f64,
        hint: &'static str,
    ) -> Self {
        Self { unit, low, above_low: false, high, hint }
    }

    /// Whether a value lies inside; never for NaN or infinity.
    pub(crate) fn holds(&self, value: f64) -> bool {
        let from_low = if self.above_low { value > self.low } else { value >= self.low };
        value.is_finite() && from_low && value <= self.high
    }

    /// The range in words.
    pub(crate) fn expected(&self) -> String {
        let unit = if self.unit.is_empty() { String::new() } else { format!(" {}", self.unit) };
        if self.above_low {
            format!("a number above {} and up to {}{unit}", self.low, self.high)
        } else {
            format!("a number from {} to {}{unit}", self.low, self.high)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_count_as_stated_and_nan_never() {
        let length = Bound::positive("mm", 500.0, "");
        assert!(!length.holds(0.0) && length.holds(500.0) && !length.holds(f64::NAN));
        assert!(Bound::from_zero("mm", 1.0, "").holds(0.0));
        assert_eq!(length.expected(), "a number above 0 and up to 500 mm");
    }
}
