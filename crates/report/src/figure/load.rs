//! Loads as dots with their intervals, each as a share of its own limit, against the line of the
//! limit.

use crate::markup::escape;
use crate::number;
use study::outcome::Load;

const WIDTH: f64 = 700.0;
const ROW: f64 = 26.0;
const LEFT: f64 = 190.0;
const RIGHT: f64 = 130.0;

/// Loads that have a peak and a limit; `None` without any.
pub(crate) fn against_limits(loads: &[Load]) -> Option<String> {
    let rows: Vec<(&Load, [f64; 3])> = loads.iter().filter_map(|l| Some((l, shares(l)?))).collect();
    if rows.is_empty() {
        return None;
    }
    let high = rows.iter().flat_map(|(_, s)| *s).fold(1.0, f64::max);
    // ticks that the limit falls on
    let tick = if high > 1.9 { (high / 4.0).ceil() } else { 0.5 };
    let ticks = (1.08 * high / tick).ceil() as u32;
    let top = tick * f64::from(ticks);
    let x = |share: f64| LEFT + share / top * (WIDTH - LEFT - RIGHT);
    let height = rows.len() as f64 * ROW + 34.0;
    let foot = height - 22.0;
    let mut out = String::new();
    for mark in 0..=ticks {
        let share = tick * f64::from(mark);
        out.push_str(&format!(
            "<path class=\"grid\" d=\"M{0:.1} 4V{foot:.0}\"/><text x=\"{0:.1}\" y=\"{1:.0}\" \
             text-anchor=\"middle\">{2}</text>",
            x(share),
            height - 8.0,
            number::with_unit(100.0 * share, 3, "%")
        ));
    }
    for (i, (load, [low, share, high])) in rows.iter().enumerate() {
        let y = i as f64 * ROW + 19.0;
        let (name, unit) = load.kind.label();
        let limit = load.limit.unwrap_or_default();
        out.push_str(&format!(
            "<text x=\"{:.0}\" y=\"{:.0}\" text-anchor=\"end\">{}</text>\
             <path class=\"whisker\" d=\"M{:.1} {y:.0}H{:.1}\"/>\
             <circle class=\"dot\" cx=\"{:.1}\" cy=\"{y:.0}\" r=\"4.5\"/>\
             <text x=\"{:.0}\" y=\"{:.0}\">of {}</text>",
            LEFT - 12.0,
            y + 4.0,
            escape(name),
            x(*low),
            x(*high),
            x(*share),
            WIDTH - RIGHT + 12.0,
            y + 4.0,
            number::with_unit(limit, 3, unit)
        ));
    }
    out.push_str(&format!("<path class=\"limit\" d=\"M{:.1} 4V{foot:.0}\"/>", x(1.0)));
    Some(format!(
        "<svg class=\"chart\" viewBox=\"0 0 {WIDTH} {height:.0}\" role=\"img\" \
         aria-label=\"loads against their limits\">{out}</svg>"
    ))
}

/// Low, best and high of the peak over the limit.
fn shares(load: &Load) -> Option<[f64; 3]> {
    let (peak, limit) = (load.peak?, load.limit.filter(|l| *l > 0.0)?);
    let range = load.peak_range.unwrap_or(units::Interval::point(peak));
    Some([range.low / limit, peak / limit, range.high / limit])
}
