//! What clearing in layers adds to an operation: layers, arc of contact, what stays, the feed.

use crate::figure::{arc, plan};
use crate::markup::{figure, table};
use crate::number::{MISSING, at_least, percent, significant, time, with_unit};
use study::outcome::{OperationOutcome, Roughed};

/// Area on the lowest layer from which a picture of it says something, mm².
const SHOWN_MM2: f64 = 0.01;
/// Stock below these is none.
const LEAST_MM: f64 = 1e-4;
const LEAST_CM3: f64 = 1e-5;

/// What stays, in plan; nothing where hardly anything does.
pub(crate) fn rest(operation: &OperationOutcome) -> String {
    let rest = operation.roughed.as_ref().filter(|r| r.rest_mm2 >= SHOWN_MM2);
    let svg = rest.and_then(|r| plan::rest(&operation.picture, &r.rest_plan_mm));
    svg.map_or_else(String::new, |svg| {
        figure(&svg, "Material that stays on the lowest layer, seen from above.")
    })
}

/// Figures and the arc of contact; nothing for an operation that does not clear in layers.
pub(crate) fn render(operation: &OperationOutcome) -> String {
    let Some(r) = &operation.roughed else { return String::new() };
    let mut out = String::new();
    if let Some(svg) = arc::along(&r.arc_along, r.arc_target_deg) {
        out.push_str(&figure(
            &svg,
            "Arc of contact along the path of the hardest layer; dashed: the one asked for.",
        ));
    }
    let head = ["work in layers".to_owned(), "predicted".to_owned()];
    out + &table("facts", &head, &rows(r))
}

/// Number of layers and their depth, or its range where they are not even.
fn depths(r: &Roughed) -> String {
    let most = with_unit(r.depth_mm, 3, "mm");
    if !r.is_even() {
        return format!("{} of {} to {most}", r.levels, significant(r.least_depth_mm, 2));
    }
    format!("{} × {most}", r.levels)
}

fn rows(r: &Roughed) -> Vec<Vec<String>> {
    let cell = |name: &str, value: String| vec![name.to_owned(), value];
    let left = r.left.map_or_else(
        || MISSING.to_owned(),
        |l| {
            format!(
                "{}, {}, {} <span class=\"small\">(cells of {})</span>",
                at_least(l.least_mm, LEAST_MM, 2, "mm"),
                with_unit(l.mean_mm, 2, "mm"),
                with_unit(l.most_mm, 2, "mm"),
                with_unit(l.cell_mm, 2, "mm")
            )
        },
    );
    let mut rows = vec![
        cell("layers and their depth", depths(r)),
        cell("width of cut on a straight wall", with_unit(r.width_mm, 3, "mm")),
        cell(
            "arc of contact: asked for, largest",
            format!(
                "{}, {}",
                with_unit(r.arc_target_deg, 3, "°"),
                with_unit(r.arc_peak_deg, 3, "°")
            ),
        ),
        cell(
            "share of the path within 5° of it",
            r.arc_held_share.map_or_else(|| MISSING.to_owned(), percent),
        ),
        cell("cut with the whole front", with_unit(r.slot_mm, 3, "mm")),
        cell("lifts; links that stay down", format!("{}; {}", r.lifts, r.links)),
        cell("metal removed", with_unit(r.rate_cm3_min, 3, "cm³/min")),
        cell(
            "stock that stays where the cutter does not get to",
            format!(
                "{} of {}",
                at_least(r.rest_cm3, LEAST_CM3, 3, "cm³"),
                with_unit(r.stock_cm3, 4, "cm³")
            ),
        ),
        cell("stock on the feature for the next cutter: least, mean, most", left),
    ];
    if let Some(g) = r.feed_gain {
        rows.push(cell(
            "time at a constant feed of the same peak load",
            format!(
                "{} <span class=\"small\">(feed {} to {} times)</span>",
                time(g.constant_s),
                significant(g.least, 3),
                significant(g.most, 3)
            ),
        ));
    }
    rows
}
