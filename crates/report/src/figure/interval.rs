//! Values as dots on their intervals, on one axis that shows zero.

use super::{axis, scale};
use crate::markup::escape;
use units::Interval;

const WIDTH: f64 = 700.0;
const ROW: f64 = 26.0;
/// Least and most room for words at the left, and what a letter takes of it.
const LEFT: [f64; 2] = [270.0, 420.0];
const LETTER: f64 = 6.9;
/// Between words and axis.
const GAP: f64 = 12.0;
const RIGHT: f64 = 60.0;

/// One dot.
pub(crate) struct Dot {
    /// Words at the left.
    pub(crate) label: String,
    /// Best value.
    pub(crate) value: f64,
    /// Its interval.
    pub(crate) interval: Interval,
    /// Drawn hollow: the quality differs.
    pub(crate) hollow: bool,
}

/// Dots under one axis that shows zero, from a round number to a round number; `unit` stands at its end.
pub(crate) fn dots(rows: &[Dot], unit: &str) -> String {
    let high = rows.iter().map(|r| r.interval.high.max(r.value)).fold(0.0, f64::max);
    let low = rows.iter().map(|r| r.interval.low.min(r.value)).fold(0.0, f64::min);
    let step = scale::round_up((high - low) / 6.0);
    let (bottom, top) = ((low / step).floor() * step, (high / step).ceil() * step);
    let span = (top - bottom).max(f64::MIN_POSITIVE);
    let letters = rows.iter().map(|r| r.label.chars().count()).max().unwrap_or(0);
    let left = (letters as f64 * LETTER + GAP).clamp(LEFT[0], LEFT[1]);
    let x = |v: f64| left + (v - bottom) / span * (WIDTH - left - RIGHT);
    let height = rows.len() as f64 * ROW + 30.0;
    let mut out = String::new();
    for (v, label) in axis::ticks(bottom, top) {
        let at = x(v);
        out.push_str(&format!(
            "<path class=\"grid\" d=\"M{at:.1} 4V{:.0}\"/><text x=\"{at:.1}\" y=\"{:.0}\" \
             text-anchor=\"middle\">{label}</text>",
            height - 22.0,
            height - 8.0
        ));
    }
    out.push_str(&format!("<path class=\"zero\" d=\"M{:.1} 4V{:.0}\"/>", x(0.0), height - 22.0));
    let end = WIDTH - RIGHT + 22.0;
    out.push_str(&format!("<text x=\"{end:.0}\" y=\"{:.0}\">{unit}</text>", height - 8.0));
    for (i, row) in rows.iter().enumerate() {
        let y = i as f64 * ROW + 17.0;
        let class = if row.hollow { "dot hollow" } else { "dot" };
        out.push_str(&format!(
            "<text x=\"{:.0}\" y=\"{:.0}\" text-anchor=\"end\">{}</text>\
             <path class=\"whisker\" d=\"M{:.1} {y:.0}H{:.1}\"/>\
             <circle class=\"{class}\" cx=\"{:.1}\" cy=\"{y:.0}\" r=\"4.5\"/>",
            left - GAP,
            y + 4.0,
            words(&row.label),
            x(row.interval.low),
            x(row.interval.high),
            x(row.value)
        ));
    }
    format!(
        "<svg class=\"chart\" viewBox=\"0 0 {WIDTH} {height:.0}\" role=\"img\" \
         aria-label=\"claims with intervals\">{out}</svg>"
    )
}

/// A label as far as there is room for it; the whole of it shows under the pointer.
fn words(label: &str) -> String {
    let most = ((LEFT[1] - GAP) / LETTER) as usize;
    if label.chars().count() <= most {
        return escape(label);
    }
    let start: String = label.chars().take(most - 1).collect();
    format!("<title>{}</title>{}\u{2026}", escape(label), escape(start.trim_end()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawn(label: &str) -> String {
        let interval = Interval::new(8.0, 12.0);
        dots(&[Dot { label: label.into(), value: 10.0, interval, hollow: false }], "s")
    }

    #[test]
    fn long_words_get_room_and_longer_ones_are_cut_with_the_whole_at_hand() {
        assert!(drawn("left pocket").contains("x=\"258\""));
        let long = "proposal with breaker, Finish floor of right pocket";
        let room = 51.0 * LETTER;
        assert!(drawn(long).contains(&format!("x=\"{room:.0}\"")));
        assert!(drawn(long).contains(&format!(">{long}</text>")));
        let longer = "a".repeat(80);
        let cut = drawn(&longer);
        assert!(cut.contains(&format!("<title>{longer}</title>")));
        assert!(cut.contains("a\u{2026}</text>"));
    }
}
