//! A saving of time laid out by its causes, as steps from today's time down to the proposal's.

use crate::number;
use study::outcome::Split;

const WIDTH: f64 = 700.0;
const ROW: f64 = 24.0;
const LEFT: f64 = 190.0;
const RIGHT: f64 = 100.0;

/// Steps from `today_s` to `proposal_s` by cause.
pub(crate) fn steps(today_s: f64, proposal_s: f64, split: &Split) -> String {
    let causes = [
        ("step-over", split.stepover_s),
        ("feed", split.feed_s),
        ("links", split.links_s),
        ("machine limits", split.machine_s),
    ];
    let mut level = today_s;
    let mut rows = vec![("today".to_owned(), 0.0, today_s, "whole")];
    for (name, saved_s) in causes {
        let next = level - saved_s;
        let class = if saved_s >= 0.0 { "saved" } else { "added" };
        rows.push((name.to_owned(), level.min(next), saved_s.abs(), class));
        level = next;
    }
    rows.push(("proposal".to_owned(), 0.0, proposal_s, "whole"));
    let full = rows.iter().map(|r| r.1 + r.2).fold(1e-9, f64::max);
    let low = rows.iter().map(|r| r.1).fold(0.0, f64::min);
    let scale = (WIDTH - LEFT - RIGHT) / (full - low);
    let bars: String = rows
        .iter()
        .enumerate()
        .map(|(i, (name, start, length, class))| {
            let (y, x) = (i as f64 * ROW, LEFT + (start - low) * scale);
            let width = (length * scale).max(0.8);
            let time = number::time(*length);
            let sign = match *class {
                _ if time == number::time(0.0) => "",
                "saved" => "\u{2212}",
                "added" => "+",
                _ => "",
            };
            format!(
                "<text x=\"{:.0}\" y=\"{:.0}\" text-anchor=\"end\">{name}</text>\
                 <rect class=\"{class}\" x=\"{x:.1}\" y=\"{:.0}\" width=\"{width:.1}\" \
                 height=\"14\"/><text x=\"{:.1}\" y=\"{:.0}\">{sign}{}</text>",
                LEFT - 10.0,
                y + 16.0,
                y + 5.0,
                x + width + 6.0,
                y + 16.0,
                time
            )
        })
        .collect();
    let height = rows.len() as f64 * ROW + 4.0;
    format!(
        "<svg class=\"chart\" viewBox=\"0 0 {WIDTH} {height:.0}\" role=\"img\" \
         aria-label=\"saving by cause\">{bars}</svg>"
    )
}
