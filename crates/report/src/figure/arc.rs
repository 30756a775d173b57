//! Arc of contact along the path of a layer, under the line of the one asked for.

use super::scale;
use crate::number;

const WIDTH: f64 = 700.0;
const HEIGHT: f64 = 130.0;
const LEFT: f64 = 64.0;
const BOTTOM: f64 = 26.0;

/// The arc (mm along the path, degrees) and the one asked for. `None` without points.
pub(crate) fn along(points: &[[f64; 2]], asked_deg: f64) -> Option<String> {
    let end = points.last()?[0];
    let high = points.iter().map(|p| p[1]).fold(asked_deg, f64::max);
    let top = scale::round_up(high);
    if end.is_nan() || end <= 0.0 {
        return None;
    }
    let x = |s: f64| LEFT + s / end * (WIDTH - LEFT - 16.0);
    let y = |deg: f64| (HEIGHT - BOTTOM) - deg / top * (HEIGHT - BOTTOM - 10.0);
    let mut out = String::new();
    for deg in [0.0, 0.5 * top, top] {
        out.push_str(&format!(
            "<path class=\"grid\" d=\"M{LEFT} {0:.1}H{1:.0}\"/><text x=\"{2:.0}\" y=\"{3:.1}\" \
             text-anchor=\"end\">{4}°</text>",
            y(deg),
            WIDTH - 16.0,
            LEFT - 6.0,
            y(deg) + 4.0,
            number::significant(deg, 3)
        ));
    }
    let length = format!("{} mm", number::significant(end, 3));
    out.push_str(&format!(
        "<text x=\"{:.1}\" y=\"{:.0}\" text-anchor=\"end\">{length}</text>",
        WIDTH - 16.0,
        HEIGHT - 8.0
    ));
    let line: String = points.iter().map(|p| format!("{:.1},{:.1} ", x(p[0]), y(p[1]))).collect();
    out.push_str(&format!(
        "<path class=\"limit\" d=\"M{LEFT} {0:.1}H{1:.0}\"/><polyline class=\"curve\" points=\"{2}\"/>",
        y(asked_deg),
        WIDTH - 16.0,
        line.trim_end()
    ));
    Some(format!(
        "<svg class=\"chart\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" role=\"img\" \
         aria-label=\"arc of contact along the path\">{out}</svg>"
    ))
}
