//! The depth that stays stable over the spindle speed, and where the operation stands.

use super::{axis, scale};
use crate::number;
use study::outcome::Chatter;

const WIDTH: f64 = 700.0;
const HEIGHT: f64 = 210.0;
const LEFT: f64 = 54.0;
const RIGHT: f64 = 24.0;
const BOTTOM: f64 = 40.0;
const TOP: f64 = 12.0;

/// The stable depth over speed with the operating point at `rpm`; `None` without lobes.
pub(crate) fn plot(chatter: &Chatter, rpm: f64) -> Option<String> {
    let (first, last) = (chatter.lobes.first()?[0], chatter.lobes.last()?[0]);
    if last <= first {
        return None;
    }
    let depth = chatter.ap_mm.unwrap_or(0.0);
    let top = scale::round_up(ceiling(chatter, depth));
    let x = |n: f64| LEFT + (n - first) / (last - first) * (WIDTH - LEFT - RIGHT);
    let y = |a: f64| HEIGHT - BOTTOM - (a / top).min(1.0) * (HEIGHT - BOTTOM - TOP);
    let line: String =
        chatter.lobes.iter().map(|p| format!("{:.1},{:.1} ", x(p[0]), y(p[1]))).collect();
    let mut out = String::new();
    out.push_str(&band(chatter, x, y).unwrap_or_default());
    if let Some(from) = chatter.modelled_from_rpm.filter(|n| *n > first) {
        out.push_str(&format!(
            "<rect class=\"outside\" x=\"{LEFT}\" y=\"{TOP}\" width=\"{:.1}\" height=\"{:.1}\"/>",
            x(from.min(last)) - LEFT,
            HEIGHT - BOTTOM - TOP
        ));
    }
    for half in 0..=2 {
        let a = top * f64::from(half) / 2.0;
        out.push_str(&format!(
            "<path class=\"grid\" d=\"M{LEFT} {0:.1}H{1:.0}\"/><text x=\"{2:.0}\" y=\"{3:.1}\" \
             text-anchor=\"end\">{4}</text>",
            y(a),
            WIDTH - RIGHT,
            LEFT - 6.0,
            y(a) + 4.0,
            number::significant(a, 2)
        ));
    }
    out.push_str(&axis::below([first, last], &x, HEIGHT - BOTTOM + 16.0));
    out.push_str(&format!(
        "<text x=\"{:.0}\" y=\"{:.0}\" text-anchor=\"end\">spindle speed in 1/min</text>\
         <polyline class=\"curve\" points=\"{}\"/>",
        WIDTH - RIGHT,
        HEIGHT - 6.0,
        line.trim_end()
    ));
    if let Some(limit) = chatter.ap_limit_mm {
        out.push_str(&format!(
            "<path class=\"whisker\" d=\"M{0:.1} {1:.1}V{2:.1}\"/>",
            x(rpm),
            y(depth),
            y(limit)
        ));
    }
    out.push_str(&format!(
        "<circle class=\"dot\" cx=\"{:.1}\" cy=\"{:.1}\" r=\"4.5\"/>",
        x(rpm),
        y(depth)
    ));
    Some(format!(
        "<svg class=\"chart\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" role=\"img\" \
         aria-label=\"stable depth over spindle speed\">{out}</svg>"
    ))
}

/// Between the ends of the interval of the limit.
fn band(chatter: &Chatter, x: impl Fn(f64) -> f64, y: impl Fn(f64) -> f64) -> Option<String> {
    chatter.lobes_band.first()?;
    let lower = chatter.lobes_band.iter().map(|b| (b[0], b[1]));
    let upper = chatter.lobes_band.iter().rev().map(|b| (b[0], b[2]));
    let points: String =
        lower.chain(upper).map(|(n, a)| format!("{:.1},{:.1} ", x(n), y(a))).collect();
    Some(format!("<polygon class=\"band\" points=\"{}\"/>", points.trim_end()))
}

/// Highest depth worth drawing: the lobes' lower part and the operating point with room above.
fn ceiling(chatter: &Chatter, depth: f64) -> f64 {
    let least = chatter.lobes.iter().map(|p| p[1]).fold(f64::INFINITY, f64::min);
    let most = chatter.lobes.iter().map(|p| p[1]).fold(0.0, f64::max);
    most.min(8.0 * least).max(1.3 * depth).max(1.3 * chatter.ap_limit_mm.unwrap_or(0.0).min(most))
}
