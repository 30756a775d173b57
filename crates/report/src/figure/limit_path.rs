//! The path of a program seen from above, each piece in the colour of the limit that holds it.

use super::scale;
use crate::markup::escape;
use crate::number;
use nc::audit::PathPicture;

const WIDTH: f64 = 700.0;
const TALLEST: f64 = 620.0;
const ROW: f64 = 15.0;
/// Colours and line widths by rank of the limit, so that a print without colour tells most of them
/// apart; the last stands for all further limits.
const INKS: [(&str, f64); 6] = [
    ("#2f6b73", 0.6),
    ("#a8552f", 1.4),
    ("#3d2c5e", 2.2),
    ("#8a7a1f", 1.8),
    ("#b04a6f", 2.6),
    ("#5d6b73", 3.0),
];

/// The path with its legend. `None` where nothing is drawn.
pub(crate) fn render(picture: &PathPicture) -> Option<String> {
    let points = || picture.pieces.iter().flat_map(|p| &p.points);
    let first = *points().next()?;
    let (mut low, mut high) = (first, first);
    for p in points() {
        low = [low[0].min(p[0]), low[1].min(p[1])];
        high = [high[0].max(p[0]), high[1].max(p[1])];
    }
    let size = [high[0] - low[0], high[1] - low[1]];
    let margin = 0.03 * size[0].max(size[1]);
    let across = size[0] + 2.0 * margin;
    let along = size[1] + 2.0 * margin;
    let scale = (WIDTH / across).min(TALLEST / along);
    if !(scale.is_finite() && scale > 0.0) {
        return None;
    }
    let plot = along * scale;
    let left = 0.5 * (WIDTH - across * scale);
    let at = |p: &[f64; 2]| {
        format!(
            "{:.1} {:.1}",
            left + (p[0] - low[0] + margin) * scale,
            plot - (p[1] - low[1] + margin) * scale
        )
    };
    let mut inked = vec![String::new(); INKS.len() + 1];
    for piece in &picture.pieces {
        let ink = piece.limit.map_or(INKS.len(), |rank| rank.min(INKS.len() - 1));
        for (i, p) in piece.points.iter().enumerate() {
            inked[ink].push_str(&format!("{}{}", if i == 0 { "M" } else { "L" }, at(p)));
        }
    }
    let mut out = format!(
        "<path d=\"{}\" fill=\"none\" stroke=\"#b9b3a5\" stroke-width=\".5\" stroke-dasharray=\"3 3\"/>",
        inked[INKS.len()]
    );
    for (path, (colour, width)) in inked.iter().zip(INKS).filter(|(path, _)| !path.is_empty()) {
        out.push_str(&format!(
            "<path d=\"{path}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\"/>"
        ));
    }
    out.push_str(&bar(plot, scale));
    let rows = picture.limits.len().min(INKS.len());
    out.push_str(&legend(picture, plot + 14.0));
    let height = plot + 14.0 + ROW * (rows + 1) as f64;
    Some(format!(
        "<svg viewBox=\"0 0 {WIDTH} {height:.0}\" role=\"img\" aria-label=\"path by limit\">{out}</svg>"
    ))
}

fn bar(plot: f64, scale: f64) -> String {
    let length_mm = scale::round_up(0.08 * WIDTH / scale);
    format!(
        "<path class=\"bar\" d=\"M6 {0:.1}H{1:.1}\"/><text x=\"{2:.1}\" y=\"{3:.1}\">{4} mm</text>",
        plot - 6.0,
        6.0 + length_mm * scale,
        10.0 + length_mm * scale,
        plot - 3.0,
        number::significant(length_mm, 2)
    )
}

fn legend(picture: &PathPicture, top: f64) -> String {
    let shown = picture.limits.len().min(INKS.len());
    let mut out = String::new();
    for (i, (colour, width)) in INKS.iter().enumerate().take(shown) {
        let y = top + ROW * i as f64;
        let more = picture.limits.len() > INKS.len() && i + 1 == INKS.len();
        let name = if more { "other limits" } else { picture.limits[i].as_str() };
        out.push_str(&format!(
            "<path d=\"M6 {y:.1}h22\" stroke=\"{colour}\" stroke-width=\"{width}\"/><text x=\"34\" y=\"{:.1}\">{}</text>",
            y + 4.0,
            escape(name)
        ));
    }
    let y = top + ROW * shown as f64;
    out.push_str(&format!(
        "<path d=\"M6 {y:.1}h22\" stroke=\"#b9b3a5\" stroke-dasharray=\"3 3\"/><text x=\"34\" y=\"{:.1}\">rapids</text>",
        y + 4.0
    ));
    out
}
