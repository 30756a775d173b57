//! The feature seen from above: its passes, and its cusp or gouge as a map.

use super::{raster, scale};
use crate::number;
use study::outcome::{Picture, PlanMap};

const WIDTH: f64 = 340.0;
const LEGEND: f64 = 46.0;

/// Where the plan lies on the sheet: y runs upwards in the part and downwards on the sheet.
struct Sheet {
    low: [f64; 2],
    scale: f64,
    height: f64,
}

impl Sheet {
    fn of(picture: &Picture) -> Option<Self> {
        let ends = picture.edges_mm.iter().chain(&picture.border_mm).flatten().copied();
        let passes = picture.passes_mm.iter().flatten().map(|p| [p[0], p[1]]);
        let points: Vec<[f64; 2]> = ends.chain(passes).collect();
        let first = *points.first()?;
        let (mut low, mut high) = (first, first);
        for p in points {
            low = [low[0].min(p[0]), low[1].min(p[1])];
            high = [high[0].max(p[0]), high[1].max(p[1])];
        }
        let size = [high[0] - low[0], high[1] - low[1]];
        let margin = 0.03 * size[0].max(size[1]);
        let scale = WIDTH / (size[0] + 2.0 * margin);
        let height = (size[1] + 2.0 * margin) * scale;
        (scale.is_finite() && height.is_finite()).then_some(Self {
            low: [low[0] - margin, low[1] - margin],
            scale,
            height,
        })
    }

    fn x(&self, x_mm: f64) -> f64 {
        (x_mm - self.low[0]) * self.scale
    }

    fn y(&self, y_mm: f64) -> f64 {
        self.height - (y_mm - self.low[1]) * self.scale
    }

    fn segments(&self, segments: &[[[f64; 2]; 2]], class: &str) -> String {
        let path: String = segments
            .iter()
            .map(|[a, b]| {
                let (ax, ay, bx, by) = (self.x(a[0]), self.y(a[1]), self.x(b[0]), self.y(b[1]));
                format!("M{ax:.1} {ay:.1}L{bx:.1} {by:.1}")
            })
            .collect();
        format!("<path class=\"{class}\" d=\"{path}\"/>")
    }

    fn scale_bar(&self) -> String {
        let length_mm = scale::round_up(0.12 * WIDTH / self.scale);
        let (x0, y) = (6.0, self.height - 6.0);
        let x1 = x0 + length_mm * self.scale;
        format!(
            "<path class=\"bar\" d=\"M{x0} {y}H{x1:.1}\"/><text x=\"{:.1}\" y=\"{:.1}\">{} mm</text>",
            x1 + 4.0,
            y + 3.0,
            number::significant(length_mm, 2)
        )
    }
}

fn svg(height: f64, label: &str, inside: &str) -> String {
    format!(
        "<svg class=\"plan\" viewBox=\"0 0 {WIDTH} {height:.0}\" role=\"img\" \
         aria-label=\"{label}\">{inside}</svg>"
    )
}

/// The passes over the outline of the part.
pub(crate) fn passes(picture: &Picture) -> Option<String> {
    let sheet = Sheet::of(picture)?;
    let mut inside = sheet.segments(&picture.edges_mm, "edge");
    for pass in &picture.passes_mm {
        let points: String =
            pass.iter().map(|p| format!("{:.1},{:.1} ", sheet.x(p[0]), sheet.y(p[1]))).collect();
        inside.push_str(&format!("<polyline class=\"pass\" points=\"{}\"/>", points.trim_end()));
    }
    inside.push_str(&sheet.segments(&picture.border_mm, "border"));
    inside.push_str(&sheet.scale_bar());
    Some(svg(sheet.height, "passes in plan", &inside))
}

/// What stays of a layer, over the outline of the part; `None` where nothing stays.
pub(crate) fn rest(picture: &Picture, loops: &[Vec<[f64; 2]>]) -> Option<String> {
    if loops.is_empty() {
        return None;
    }
    let sheet = Sheet::of(picture)?;
    let mut inside = sheet.segments(&picture.edges_mm, "edge");
    let ring = |l: &Vec<[f64; 2]>| -> String {
        let point = |p: &[f64; 2]| format!("{:.2} {:.2}", sheet.x(p[0]), sheet.y(p[1]));
        format!("M{}Z", l.iter().map(point).collect::<Vec<_>>().join("L"))
    };
    let path: String = loops.iter().map(ring).collect();
    inside.push_str(&format!("<path fill=\"{}\" d=\"{path}\"/>", scale::css(0.75)));
    inside.push_str(&sheet.segments(&picture.border_mm, "border"));
    inside.push_str(&sheet.scale_bar());
    Some(svg(sheet.height, "material that stays, in plan", &inside))
}

/// A map of deviations over the outline of the part, with its scale. `full_um` is the value of the
/// dark end; a `limit_um` inside the scale is marked on it.
pub(crate) fn map(
    picture: &Picture,
    map: &PlanMap,
    full_um: f64,
    limit_um: Option<f64>,
) -> Option<String> {
    let sheet = Sheet::of(picture)?;
    let address = raster::data_address(map, full_um)?;
    let (width, height) = (map.columns as f64 * map.cell_mm, map.rows as f64 * map.cell_mm);
    let mut inside = sheet.segments(&picture.edges_mm, "edge");
    inside.push_str(&format!(
        "<image x=\"{:.2}\" y=\"{:.2}\" width=\"{:.2}\" height=\"{:.2}\" href=\"{address}\" \
         preserveAspectRatio=\"none\" style=\"image-rendering:pixelated\"/>",
        sheet.x(map.origin_mm[0]),
        sheet.y(map.origin_mm[1] + height),
        width * sheet.scale,
        height * sheet.scale,
    ));
    inside.push_str(&sheet.segments(&picture.border_mm, "border"));
    inside.push_str(&sheet.scale_bar());
    inside.push_str(&legend(sheet.height, full_um, limit_um));
    Some(svg(sheet.height + LEGEND, "map in plan", &inside))
}

fn legend(top: f64, full_um: f64, limit_um: Option<f64>) -> String {
    let (x0, length, y) = (6.0, WIDTH - 60.0, top + 8.0);
    let steps = 48;
    let mut out = String::new();
    for i in 0..steps {
        let share = (f64::from(i) + 0.5) / f64::from(steps);
        let x = x0 + length * f64::from(i) / f64::from(steps);
        let width = length / f64::from(steps) + 0.4;
        let fill = scale::css(share);
        out.push_str(&format!(
            "<rect x=\"{x:.2}\" y=\"{y:.1}\" width=\"{width:.2}\" height=\"9\" fill=\"{fill}\"/>"
        ));
    }
    for quarter in 0..=4 {
        let share = f64::from(quarter) / 4.0;
        let label = number::significant(full_um * share, 3);
        let x = x0 + length * share;
        out.push_str(&format!(
            "<text x=\"{x:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{label}</text>",
            y + 20.0
        ));
    }
    out.push_str(&format!("<text x=\"{:.1}\" y=\"{:.1}\">µm</text>", x0 + length + 22.0, y + 20.0));
    if let Some(limit) = limit_um.filter(|l| *l > 0.0 && *l <= full_um) {
        let x = x0 + length * limit / full_um;
        out.push_str(&format!(
            "<path class=\"limit\" d=\"M{x:.1} {:.1}v13\"/><text x=\"{x:.1}\" y=\"{:.1}\" \
             text-anchor=\"middle\">limit {}</text>",
            y - 2.0,
            y + 32.0,
            number::significant(limit, 3)
        ));
    }
    out
}
