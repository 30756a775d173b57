//! One operation: pictures, figures, time, limits, roughness, warnings.

use crate::figure::{feed, plan, scale};
use crate::markup::{escape, figure, notes, table};
use crate::number::{MISSING, optional, percent, range, saving, significant, time, with_unit};
use crate::section::{load, rough};
use study::outcome::{OperationOutcome, Picture, PlanMap};
use units::Interval;

/// The whole operation.
pub(crate) fn render(operation: &OperationOutcome) -> String {
    format!(
        "<article><h3>{}</h3><p class=\"small\">{} on {}, cutter {}, pattern {}</p>{}{}{}{}{}{}{}{}{}{}\
         </article>\n",
        escape(&operation.name),
        escape(&operation.kind),
        escape(&operation.feature),
        escape(&operation.cutter),
        escape(&operation.pattern),
        notes("Limits that are not met", &operation.broken),
        notes("Limits that are not known", &operation.unknown_limits),
        pictures(operation),
        rough::render(operation),
        table(
            "facts",
            &["surface and path".to_owned(), "predicted".to_owned()],
            &surface(operation)
        ),
        table(
            "facts",
            &["time and cutting data".to_owned(), "predicted".to_owned()],
            &motion(operation)
        ),
        limits(operation),
        load::render(operation),
        roughness(operation),
        notes("Warnings", &operation.warnings),
    )
}

fn largest(map: &PlanMap) -> f64 {
    map.um.iter().flatten().fold(0.0_f64, |a, v| a.max(f64::from(*v)))
}

fn pictures(operation: &OperationOutcome) -> String {
    let picture: &Picture = &operation.picture;
    let mut out = String::from("<div class=\"pair\">");
    if let Some(svg) = plan::passes(picture) {
        let every = match picture.every {
            0 | 1 => "Every contact line".to_owned(),
            n => format!("One contact line in {n}"),
        };
        out.push_str(&figure(&svg, &format!("{every}, seen from above.")));
    }
    out.push_str(&rough::rest(operation));
    if let Some(map) = &picture.cusp {
        let full_um = scale::round_up(largest(map));
        if let Some(svg) = plan::map(picture, map, full_um, operation.cusp.limit_um) {
            out.push_str(&figure(
                &svg,
                "Material left on the simulated cut along the true normal, \
                 highest value in each cell.",
            ));
        }
    }
    if let Some(map) = picture.gouge.as_ref().filter(|m| largest(m) > 0.0) {
        let full_um = scale::round_up(largest(map));
        if let Some(svg) = plan::map(picture, map, full_um, None) {
            out.push_str(&figure(
                &svg,
                "Depth cut below the nominal surface along the true normal, \
                 deepest value in each cell.",
            ));
        }
    }
    out + "</div>\n"
}

fn surface(o: &OperationOutcome) -> Vec<Vec<String>> {
    let cell = |name: &str, value: String| vec![name.to_owned(), value];
    let stepover = o.stepover_mm.map_or_else(
        || MISSING.to_owned(),
        |s| {
            format!(
                "{}, mean {}",
                range(Interval::new(s.min, s.max), 4, "mm"),
                with_unit(s.mean, 4, "mm")
            )
        },
    );
    let approach = o.closest_approach.as_ref().map_or_else(
        || MISSING.to_owned(),
        |a| {
            let [x, y, z] = a.place_mm.map(|v| crate::number::fixed(v, 1));
            let good_to = a.good_to_mm.map(|mm| format!(" to within {}", with_unit(mm, 2, "mm")));
            format!(
                "{}{} by the {} at ({x}, {y}, {z})",
                with_unit(a.distance_mm, 3, "mm"),
                good_to.unwrap_or_default(),
                escape(&a.body)
            )
        },
    );
    let cut = highest(o);
    let mut rows = vec![
        cell("passes", o.passes.to_string()),
        cell(
            "contact lines, tip path, leads and links",
            format!(
                "{}, {}, {}",
                with_unit(o.path_mm, 5, "mm"),
                with_unit(o.tip_path_mm, 5, "mm"),
                with_unit(o.link_mm, 4, "mm")
            ),
        ),
    ];
    if o.roughed.is_some() {
        rows.extend([cell("closest approach of what does not cut", approach)]);
        return rows;
    }
    rows.extend([
        cell("spacing of contact lines", stepover),
        cell("shortest path possible at this cusp and axis", optional(o.path_bound_mm, 5, "mm")),
        cell("cusp by local geometry, largest", optional(o.cusp.predicted_max_um, 3, "µm")),
        cell("cusp on the simulated cut, largest", cut),
        cell(
            "of it between passes; beside the border, where a pass has no neighbour",
            format!(
                "{}; {}",
                optional(o.cusp.interior_max_um, 3, "µm"),
                optional(o.cusp.border_max_um, 3, "µm")
            ),
        ),
        cell("mean height left", optional(o.cusp.cut_mean_um, 3, "µm")),
        cell("cusp allowed", optional(o.cusp.limit_um, 3, "µm")),
        cell("deepest cut below nominal", deepest(o)),
        cell("area not reached", optional(o.uncut_mm2, 3, "mm²")),
        cell("closest approach of what does not cut", approach),
    ]);
    rows
}

fn motion(o: &OperationOutcome) -> Vec<Vec<String>> {
    let cell = |name: &str, value: String| vec![name.to_owned(), value];
    let mut rows = vec![
        cell("time", time(o.time.total_s)),
        cell(
            "cutting; leads and links",
            format!("{}; {}", time(o.time.cutting_s), time(o.time.linking_s)),
        ),
        cell("path over the feed asked for", time(o.time.programmed_s)),
        cell(
            "feed attained of the feed asked for",
            o.feed_attainment.map_or_else(|| MISSING.to_owned(), percent),
        ),
        cell("spindle speed", with_unit(o.data.rpm, 5, "1/min")),
        cell("feed per tooth at the contact", with_unit(o.data.feed_per_tooth_mm, 3, "mm")),
        cell("feed at the contact", with_unit(o.data.contact_feed_mm_min, 4, "mm/min")),
        cell("feed at the tip (programmed F)", range(o.data.tip_feed_mm_min, 4, "mm/min")),
        cell("cutting speed at the contact", optional(o.data.contact_speed_m_min, 3, "m/min")),
        cell("angle between axis and normal", range(o.data.kappa_deg, 3, "°")),
    ];
    if let Some(measured) = o.measured_time_s {
        rows.push(cell("<em>measured</em> time, by the client's clock", time(measured)));
    }
    rows
}

fn limits(o: &OperationOutcome) -> String {
    let rows: Vec<Vec<String>> = o
        .limits
        .iter()
        .filter(|l| l.time_share >= 0.0005 || l.worth_s.is_some_and(|w| w.abs() >= 0.01))
        .map(|l| {
            let worth = l.worth_s.map_or_else(
                || MISSING.to_owned(),
                |w| {
                    format!(
                        "{} <span class=\"small\">at {} times</span>",
                        saving(w),
                        significant(l.relaxed_by, 3)
                    )
                },
            );
            vec![escape(&l.limit), percent(l.time_share), worth]
        })
        .collect();
    let head = ["what holds the speed", "share of the time", "relaxing it saves"];
    let curve = feed::curve(&o.picture.feed, o.data.contact_feed_mm_min)
        .map(|svg| {
            figure(
                &svg,
                "Feed attained at the contact, mm/min, over time; dashed: the feed asked for.",
            )
        })
        .unwrap_or_default();
    let shares = if rows.is_empty() {
        String::new()
    } else {
        table("facts", &head.map(str::to_owned), &rows)
    };
    shares + &curve
}

fn roughness(o: &OperationOutcome) -> String {
    if o.roughness.is_empty() {
        return String::new();
    }
    let head = ["texture of the simulated surface", "direction", "predicted", "cut-off", ""];
    let rows: Vec<Vec<String>> = o
        .roughness
        .iter()
        .map(|r| {
            let cutoff = r
                .cutoff_mm
                .map_or_else(|| "none (unfiltered)".to_owned(), |c| with_unit(c, 2, "mm"));
            let note = escape(r.note.as_deref().unwrap_or_default());
            vec![
                escape(&r.parameter),
                escape(&r.direction),
                range(r.um, 3, "µm"),
                cutoff,
                format!("<span class=\"small\">{note}</span>"),
            ]
        })
        .collect();
    table("facts", &head.map(str::to_owned), &rows)
        + "<p class=\"small\">The low end is geometry alone, a floor; edge wear, built-up edge and vibration add to the high end.</p>"
}

/// The deepest cut below nominal, with its place and what made it.
fn deepest(o: &OperationOutcome) -> String {
    o.gouge.map_or_else(
        || crate::number::depth(None),
        |gouge| {
            let [x, y, z] = gouge.place_mm.map(|v| crate::number::fixed(v, 1));
            let depth = crate::number::depth(Some(gouge.depth_um));
            format!("{depth} <span class=\"small\">(at ({x}, {y}, {z}), {})</span>", gouge.by)
        },
    )
}

/// The largest cusp as cut, with its place and how far it is good.
fn highest(o: &OperationOutcome) -> String {
    match (o.cusp.cut_max_um, o.cusp.good_to_um) {
        (Some(max), Some(error)) => {
            let place = o.cusp.cut_max_place_mm.map_or_else(String::new, |p| {
                let [x, y, z] = p.map(|v| crate::number::fixed(v, 1));
                format!("at ({x}, {y}, {z}), ")
            });
            format!(
                "{} <span class=\"small\">({place}good to {})</span>",
                with_unit(max, 3, "µm"),
                with_unit(error, 1, "µm")
            )
        }
        (value, _) => optional(value, 3, "µm"),
    }
}
