//! Axes of charts: round places and what is written at them.

use super::scale::round_up;
use crate::number;

/// Round places on an axis, up to seven, and what is written there.
pub(crate) fn ticks(low: f64, high: f64) -> Vec<(f64, String)> {
    let step = round_up((high - low) / 6.0);
    let decimals = (0..9).find(|d| {
        let shown = step * 10f64.powi(*d);
        (shown - shown.round()).abs() < 1e-6 * shown
    });
    let decimals = decimals.unwrap_or(9) as usize;
    let (first, last) = ((low / step - 1e-9).ceil() as i64, (high / step + 1e-9).floor() as i64);
    let at = (first..=last).map(|i| i as f64 * step);
    at.map(|v| (v, number::fixed(v, decimals))).collect()
}

/// What is written below an axis at its round places, with the base line at `y`.
pub(crate) fn below([low, high]: [f64; 2], x: &dyn Fn(f64) -> f64, y: f64) -> String {
    let label = |(at, text): (f64, String)| {
        format!("<text x=\"{:.1}\" y=\"{y:.0}\" text-anchor=\"middle\">{text}</text>", x(at))
    };
    ticks(low, high).into_iter().map(label).collect()
}

/// The unit of an axis, ending at a place.
pub(crate) fn unit(name: &str, [x, y]: [f64; 2]) -> String {
    format!("<text x=\"{x:.0}\" y=\"{y:.0}\" text-anchor=\"end\">{name}</text>")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_written_as_they_are() {
        let written = |low, high| -> Vec<String> {
            ticks(low, high).into_iter().map(|(_, text)| text).collect()
        };
        assert_eq!(written(0.0, 122.0), ["0", "25", "50", "75", "100"]);
        assert_eq!(written(0.0, 1.5), ["0.00", "0.25", "0.50", "0.75", "1.00", "1.25", "1.50"]);
        assert_eq!(written(-250.0, 500.0), ["\u{2212}200", "0", "200", "400"]);
        assert_eq!(
            written(7500.0, 15_000.0),
            ["8000", "10\u{202f}000", "12\u{202f}000", "14\u{202f}000"]
        );
    }
}
