//! A tool in its holder, drawn to scale.

use crate::number::fixed;
use crate::sheet::ToolCard;
use std::fmt::Write;

/// Scales, drawn over true.
const SCALES: [(f64, &str); 5] =
    [(2.0, "2 : 1"), (1.0, "1 : 1"), (0.5, "1 : 2"), (0.25, "1 : 4"), (0.1, "1 : 10")];
/// Height and width of the paper that the drawing may take, mm.
const PAPER_MM: [f64; 2] = [95.0, 60.0];
/// Room for dimensions on both sides, mm on paper.
const SIDE_MM: f64 = 17.0;
/// Above and below, mm on paper.
const EDGE_MM: f64 = 5.0;

/// The drawing and its scale.
pub(crate) fn render(card: &ToolCard) -> (String, &'static str) {
    let points = || card.outlines.iter().flat_map(|o| &o.points_mm);
    let top = points().map(|p| p[1]).fold(card.length_mm, f64::max);
    let wide = points().map(|p| p[0]).fold(0.5 * card.diameter_mm, f64::max);
    let room = PAPER_MM[1] - 2.0 * SIDE_MM;
    let fits = |s: f64| s * top <= PAPER_MM[0] && s * 2.0 * wide <= room.max(26.0);
    let (scale, name) = SCALES.into_iter().find(|(s, _)| fits(*s)).unwrap_or(SCALES[4]);
    let half = scale * wide + SIDE_MM;
    let height = scale * top + 2.0 * EDGE_MM;
    let y = |z: f64| EDGE_MM + scale * (top - z);
    let mut svg = format!(
        "<svg class=\"tool\" viewBox=\"{} 0 {} {}\" style=\"width:{}mm\" role=\"img\" \
         aria-label=\"T{} drawn to scale\">",
        fixed_plain(-half),
        fixed_plain(2.0 * half),
        fixed_plain(height),
        fixed_plain(2.0 * half),
        card.number
    );
    for outline in &card.outlines {
        let mut right = String::new();
        let mut left = String::new();
        for [r, z] in &outline.points_mm {
            // writing to a text cannot fail
            let _ = write!(right, "{},{} ", fixed_plain(scale * r), fixed_plain(y(*z)));
        }
        for [r, z] in outline.points_mm.iter().rev() {
            let _ = write!(left, "{},{} ", fixed_plain(-scale * r), fixed_plain(y(*z)));
        }
        let _ = write!(svg, "<polygon class=\"{}\" points=\"{right}{left}\"/>", outline.what);
    }
    let axis = [y(top) - 3.0, y(0.0) + 3.0].map(fixed_plain);
    let _ = write!(
        svg,
        "<line class=\"axis\" x1=\"0\" x2=\"0\" y1=\"{}\" y2=\"{}\"/>",
        axis[0], axis[1]
    );
    let right = scale * wide + 6.0;
    dimension(&mut svg, right, [y(card.stickout_mm), y(0.0)], card.stickout_mm);
    if card.length_mm > card.stickout_mm + 1e-6 {
        dimension(&mut svg, -right, [y(card.length_mm), y(0.0)], card.length_mm);
    }
    let _ = write!(
        svg,
        "<text class=\"d\" x=\"0\" y=\"{}\">⌀{}</text></svg>",
        fixed_plain(y(0.0) + 4.6),
        fixed(card.diameter_mm, 1)
    );
    (svg, name)
}

/// A length along the axis with its figure.
fn dimension(svg: &mut String, x: f64, ends: [f64; 2], value: f64) {
    let [a, b] = ends.map(fixed_plain);
    let at = fixed_plain(x);
    let [from, to] = [x - 1.2, x + 1.2].map(fixed_plain);
    let middle = fixed_plain(0.5 * (ends[0] + ends[1]));
    let text = fixed_plain(x + if x > 0.0 { 3.6 } else { -1.4 });
    // writing to a text cannot fail
    let _ = write!(
        svg,
        "<path class=\"dim\" d=\"M{at} {a}V{b}M{from} {a}H{to}M{from} {b}H{to}\"/>\
         <text class=\"d\" transform=\"translate({text} {middle}) rotate(-90)\">{}</text>",
        fixed(value, 1)
    );
}

/// A number as SVG has it.
fn fixed_plain(value: f64) -> String {
    format!("{value:.2}")
}
