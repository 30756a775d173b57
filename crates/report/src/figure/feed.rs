//! Attained feed against time, under the line of the feed asked for.

use super::{axis, scale};
use crate::number;

const WIDTH: f64 = 700.0;
const HEIGHT: f64 = 130.0;
const LEFT: f64 = 64.0;
const BOTTOM: f64 = 26.0;

/// The attained feed (s, mm/min) and the feed asked for, mm/min. `None` without points.
pub(crate) fn curve(points: &[[f64; 2]], asked_mm_min: f64) -> Option<String> {
    let end = points.last()?[0];
    let high = points.iter().map(|p| p[1]).fold(asked_mm_min, f64::max);
    let top = scale::round_up(high);
    if end.is_nan() || end <= 0.0 {
        return None;
    }
    let x = |t: f64| LEFT + t / end * (WIDTH - LEFT - 16.0);
    let y = |f: f64| (HEIGHT - BOTTOM) - f / top * (HEIGHT - BOTTOM - 10.0);
    let line: String = points.iter().map(|p| format!("{:.1},{:.1} ", x(p[0]), y(p[1]))).collect();
    let mut out = String::new();
    for half in 0..=2 {
        let f = top * f64::from(half) / 2.0;
        out.push_str(&format!(
            "<path class=\"grid\" d=\"M{LEFT} {0:.1}H{1:.0}\"/><text x=\"{2:.0}\" y=\"{3:.1}\" \
             text-anchor=\"end\">{4}</text>",
            y(f),
            WIDTH - 16.0,
            LEFT - 6.0,
            y(f) + 4.0,
            number::significant(f, 3)
        ));
    }
    out.push_str(&axis::below([0.0, end], &x, HEIGHT - 8.0));
    out.push_str(&axis::unit("s", [WIDTH, HEIGHT - 8.0]));
    out.push_str(&format!(
        "<path class=\"limit\" d=\"M{LEFT} {0:.1}H{1:.0}\"/><polyline class=\"curve\" \
         points=\"{2}\"/>",
        y(asked_mm_min),
        WIDTH - 16.0,
        line.trim_end()
    ));
    Some(format!(
        "<svg class=\"chart\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" role=\"img\" \
         aria-label=\"attained feed\">{out}</svg>"
    ))
}
