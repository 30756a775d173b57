//! How numbers are written: significant figures, units, ranges; a missing one says so.

use units::Interval;

/// What stands where a quantity was not computed.
pub(crate) const MISSING: &str = "<span class=\"missing\">not computed</span>";
const THIN: char = '\u{202f}';
const MINUS: &str = "\u{2212}";

/// A number with `digits` significant figures, thin spaces between thousands.
pub(crate) fn significant(value: f64, digits: i32) -> String {
    if !value.is_finite() {
        return "unbounded".to_owned();
    }
    if value == 0.0 {
        return "0".to_owned();
    }
    let order = value.abs().log10().floor() as i32;
    fixed(value, (digits - 1 - order).max(0) as usize)
}

/// A number with `decimals` decimals, thin spaces between thousands.
pub(crate) fn fixed(value: f64, decimals: usize) -> String {
    let plain = format!("{:.*}", decimals, value.abs());
    let (whole, fraction) = plain.split_once('.').unwrap_or((&plain, ""));
    let mut grouped = String::new();
    for (i, c) in whole.chars().enumerate() {
        if i > 0 && (whole.len() - i) % 3 == 0 && whole.len() > 4 {
            grouped.push(THIN);
        }
        grouped.push(c);
    }
    let is_zero = plain.chars().all(|c| c == '0' || c == '.');
    let sign = if value < 0.0 && !is_zero { MINUS } else { "" };
    let point = if fraction.is_empty() { "" } else { "." };
    format!("{sign}{grouped}{point}{fraction}")
}

/// A number with its unit.
pub(crate) fn with_unit(value: f64, digits: i32, unit: &str) -> String {
    format!("{}{THIN}{unit}", significant(value, digits))
}

/// A number with its unit, or the words that it was not computed.
pub(crate) fn optional(value: Option<f64>, digits: i32, unit: &str) -> String {
    value.map_or_else(|| MISSING.to_owned(), |v| with_unit(v, digits, unit))
}

/// A number with its unit; 0 where it is smaller than `least`, which is as good as nothing.
pub(crate) fn at_least(value: f64, least: f64, digits: i32, unit: &str) -> String {
    with_unit(if value.abs() < least { 0.0 } else { value }, digits, unit)
}

/// Depths below this are no cuts, µm.
const SHALLOWEST_UM: f64 = 1e-3;

/// The depth of a cut below nominal, µm, or the words that it was not computed.
pub(crate) fn depth(um: Option<f64>) -> String {
    um.map_or_else(|| MISSING.to_owned(), |um| at_least(um, SHALLOWEST_UM, 2, "µm"))
}

/// Savings below this are not told apart from none, s.
const LEAST_SAVED_S: f64 = 0.01;

/// The time that relaxing a limit saves.
pub(crate) fn saving(seconds: f64) -> String {
    if seconds.abs() < LEAST_SAVED_S {
        return format!("under {}", time(LEAST_SAVED_S));
    }
    time(seconds)
}

/// Times below this are no times, s.
const SHORTEST_S: f64 = 5e-4;

/// A time in minutes and seconds, from one minute on; below that in seconds.
pub(crate) fn time(seconds: f64) -> String {
    let sign = if seconds < 0.0 { MINUS } else { "" };
    let s = seconds.abs();
    if s < SHORTEST_S {
        return format!("0{THIN}s");
    }
    if s < 60.0 {
        return format!("{sign}{}{THIN}s", significant(s, 3));
    }
    let whole = s.round() as u64;
    if whole < 3600 {
        return format!("{sign}{}{THIN}min {:02}{THIN}s", whole / 60, whole % 60);
    }
    format!("{sign}{}{THIN}h {:02}{THIN}min", whole / 3600, whole / 60 % 60)
}

/// A range `low – high` with its unit; one number where both ends print alike.
pub(crate) fn range(interval: Interval, digits: i32, unit: &str) -> String {
    let (low, high) = (significant(interval.low, digits), significant(interval.high, digits));
    if low == high {
        return format!("{low}{THIN}{unit}");
    }
    format!("{low} to {high}{THIN}{unit}")
}

/// A share as a percentage.
pub(crate) fn percent(share: f64) -> String {
    format!("{}{THIN}%", fixed(share * 100.0, if share.abs() < 0.0995 { 1 } else { 0 }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_keep_their_significance() {
        assert_eq!(significant(3.334_26, 3), "3.33");
        assert_eq!(significant(-12_345.6, 3), "\u{2212}12\u{202f}346");
        assert_eq!(significant(0.004_56, 2), "0.0046");
        assert_eq!(fixed(-0.001, 1), "0.0");
    }

    #[test]
    fn times_read_like_a_clock() {
        assert_eq!(time(59.4), "59.4\u{202f}s");
        assert_eq!(time(-5e-14), "0\u{202f}s");
        assert_eq!(time(580.0), "9\u{202f}min 40\u{202f}s");
        assert_eq!(time(7260.0), "2\u{202f}h 01\u{202f}min");
    }
}
