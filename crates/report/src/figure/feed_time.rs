//! Programmed and attained feed of a program over time.

use super::{axis, scale};
use crate::number;
use nc::audit::FeedStep;

const WIDTH: f64 = 700.0;
const HEIGHT: f64 = 170.0;
const LEFT: f64 = 64.0;
const RIGHT: f64 = 16.0;
const BOTTOM: f64 = 26.0;

/// Attained feed as a line, rapids paler, under the programmed feed, dashed. `None` without steps.
pub(crate) fn render(steps: &[FeedStep]) -> Option<String> {
    let end = steps.last()?.until_s;
    if end.is_nan() || end <= 0.0 {
        return None;
    }
    let at_feed = |s: &&FeedStep| s.programmed_mm_min.is_some();
    let feeds = steps.iter().filter(at_feed);
    let high = feeds
        .flat_map(|s| [s.attained_mm_min, s.programmed_mm_min.unwrap_or(0.0)])
        .fold(0.0, f64::max);
    let high =
        if high > 0.0 { high } else { steps.iter().map(|s| s.attained_mm_min).fold(1.0, f64::max) };
    let top = scale::round_up(high);
    let x = |t: f64| LEFT + t / end * (WIDTH - LEFT - RIGHT);
    // rapids go off the top: the feeds are what is asked for
    let y = |f: f64| (HEIGHT - BOTTOM) - f.min(1.04 * top) / top * (HEIGHT - BOTTOM - 14.0);
    let mut out = axes(end, top, &x, &y);
    let (mut cut, mut rapid, mut asked) = (String::new(), String::new(), String::new());
    let mut from = 0.0;
    for step in steps {
        let (a, b, f) = (x(from), x(step.until_s), y(step.attained_mm_min));
        let floor = y(0.0);
        if let Some(programmed) = step.programmed_mm_min {
            cut.push_str(&format!("M{a:.1} {floor:.1}V{f:.1}H{b:.1}V{floor:.1}"));
            asked.push_str(&format!("M{a:.1} {0:.1}H{b:.1}", y(programmed)));
        } else if step.attained_mm_min > 0.0 {
            rapid.push_str(&format!("M{a:.1} {floor:.1}V{f:.1}H{b:.1}V{floor:.1}"));
        }
        from = step.until_s;
    }
    out.push_str(&format!(
        "<path d=\"{rapid}\" fill=\"#d5d0c4\"/><path d=\"{cut}\" fill=\"#2f6b73\"/>\
         <path class=\"limit\" d=\"{asked}\"/>"
    ));
    Some(format!(
        "<svg class=\"chart\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" role=\"img\" \
         aria-label=\"feed over time\">{out}</svg>"
    ))
}

fn axes(end: f64, top: f64, x: &dyn Fn(f64) -> f64, y: &dyn Fn(f64) -> f64) -> String {
    let mut out = String::new();
    for half in 0..=2 {
        let f = top * f64::from(half) / 2.0;
        out.push_str(&format!(
            "<path class=\"grid\" d=\"M{LEFT} {0:.1}H{1:.0}\"/><text x=\"{2:.0}\" y=\"{3:.1}\" \
             text-anchor=\"end\">{4}</text>",
            y(f),
            WIDTH - RIGHT,
            LEFT - 6.0,
            y(f) + 4.0,
            number::significant(f, 3)
        ));
    }
    out.push_str(&axis::below([0.0, end], x, HEIGHT - 8.0));
    out.push_str(&axis::unit("s", [WIDTH, HEIGHT - 8.0]));
    out
}
