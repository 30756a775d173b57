//! A number as a source prints it: the value and how many digits stand there.

/// A printed number.
#[derive(Debug, Clone, PartialEq)]
pub struct Printed {
    /// The text, as printed (`0.3430`, `-253.7`, `6e-5`).
    pub text: String,
    /// Its value.
    pub value: f64,
    /// One unit of the last printed digit.
    pub last_digit: f64,
    /// Printed significant digits.
    pub digits: usize,
}

impl Printed {
    /// Reads a printed number; `None` unless it is a finite decimal.
    pub fn new(text: &str) -> Option<Self> {
        let value: f64 = text.parse().ok().filter(|v: &f64| v.is_finite())?;
        let (mantissa, exponent) = match text.split_once(['e', 'E']) {
            Some((m, e)) => (m, e.parse::<i32>().ok()?),
            None => (text, 0),
        };
        if !mantissa.chars().all(|c| c.is_ascii_digit() || "+-.".contains(c)) {
            return None;
        }
        let after_point = mantissa.split_once('.').map_or(0, |(_, d)| d.len());
        let all: String = mantissa.chars().filter(char::is_ascii_digit).collect();
        let digits = all.trim_start_matches('0').len().max(1);
        let places = i32::try_from(after_point).ok()?;
        Some(Self {
            text: text.to_owned(),
            value,
            last_digit: 10f64.powi(exponent - places),
            digits,
        })
    }
}

/// A value with that many significant digits, without an exponent where that stays short.
pub(crate) fn significant(value: f64, digits: usize) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    let digits = digits.max(1);
    // the exponent after rounding, as scientific notation has it
    let scientific = format!("{value:.*e}", digits - 1);
    let exponent: i32 =
        scientific.split_once('e').and_then(|(_, e)| e.parse().ok()).unwrap_or_default();
    if !(-5..9).contains(&exponent) {
        return scientific;
    }
    let places = usize::try_from(i32::try_from(digits).unwrap_or(17) - 1 - exponent).unwrap_or(0);
    format!("{value:.places$}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_are_those_that_stand_there() {
        for (text, last, digits) in [
            ("0.3430", 1e-4, 4),
            ("-253.74086", 1e-5, 8),
            ("1019", 1.0, 4),
            ("6e-5", 1e-5, 1),
            ("1.20e3", 10.0, 3),
            ("0", 1.0, 1),
        ] {
            let p = Printed::new(text).expect(text);
            assert!((p.last_digit / last - 1.0).abs() < 1e-12, "{text}: {p:?}");
            assert_eq!(p.digits, digits, "{text}");
        }
        for bad in ["", "about 3", "NaN", "inf", "1,5", "0x10", "1_000"] {
            assert!(Printed::new(bad).is_none(), "{bad}");
        }
    }

    #[test]
    fn values_are_shown_with_as_many_digits_as_asked() {
        for (value, digits, text) in [
            (3.752_346_7, 4, "3.752"),
            (-0.000_123_45, 3, "-0.000123"),
            (999.96, 4, "1000"),
            (0.0, 3, "0"),
            (1234.5, 2, "1234"),
            (1.5e-7, 2, "1.5e-7"),
            (2e12, 2, "2.0e12"),
        ] {
            assert_eq!(significant(value, digits), text);
        }
    }
}
