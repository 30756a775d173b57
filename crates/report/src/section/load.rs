//! What an operation asks of chip, edge, cutter and spindle.

use crate::figure::{load, lobes};
use crate::markup::{escape, figure, notes, table};
use crate::number::{self, MISSING, optional, range, significant, with_unit};
use study::outcome::{FormError, Load, OperationOutcome};

/// Loads, chips, chatter, headroom and life; nothing where none was looked at.
pub(crate) fn render(o: &OperationOutcome) -> String {
    if o.loads.is_empty() {
        return String::new();
    }
    let mut out = String::new();
    if let Some(svg) = load::against_limits(&o.loads) {
        out.push_str(&figure(
            &svg,
            "Predicted peaks as a share of their limits, with intervals; dashed: the limit.",
        ));
    }
    let head = ["load", "mean", "peak", "limit", ""].map(str::to_owned);
    out.push_str(&table("loads", &head, &o.loads.iter().map(row).collect::<Vec<_>>()));
    out.push_str(&table(
        "facts",
        &["edge and chips".to_owned(), "predicted".to_owned()],
        &facts(o),
    ));
    out.push_str(&notes("Chips", &o.swarf.verdict));
    if let Some(svg) = lobes::plot(&o.chatter, o.data.rpm) {
        let caption = format!(
            "Depth along the axis that stays free of chatter, mm: the line is the best estimate, the \
             band where the limit lies at the study's confidence (drawn by the mean matrix, carried \
             to the line); the dot is the operation, the bar reaches to what is stable at the study's \
             confidence; shaded: speeds \
             at which the model does not hold. {}",
            escape(&o.chatter.rests_on)
        );
        out.push_str(&figure(&svg, &caption));
    }
    out
}

fn row(load: &Load) -> Vec<String> {
    let (name, unit) = load.kind.label();
    if let Some(why) = &load.missing {
        let note = format!("<span class=\"small\">{}</span>", escape(why));
        return vec![escape(name), MISSING.to_owned(), MISSING.to_owned(), String::new(), note];
    }
    let peak = match (load.peak, load.peak_range) {
        (Some(p), Some(r)) => format!(
            "{} <span class=\"small\">({})</span>",
            with_unit(p, 3, unit),
            range(r, 3, unit)
        ),
        (p, _) => optional(p, 3, unit),
    };
    let limit = load.limit.map_or_else(|| "not known".to_owned(), |l| with_unit(l, 3, unit));
    let mut from = load.limit_from.clone();
    if let Some(rms) = load.rms {
        let lasting = load.rms_limit.map_or_else(
            || "what it may be without end is not known".to_owned(),
            |l| format!("without end {}", with_unit(l, 3, unit)),
        );
        from.push_str(&format!("; r.m.s. while cutting {}, {lasting}", with_unit(rms, 3, unit)));
    }
    if let Some(left) = load.surface {
        let words = format!("; left on the surface {}", range(left, 2, unit));
        from.push_str(&words);
    }
    let from = format!("<span class=\"small\">{}</span>", escape(&from));
    vec![escape(name), optional(load.mean, 3, unit), peak, limit, from]
}

fn facts(o: &OperationOutcome) -> Vec<Vec<String>> {
    let cell = |name: &str, value: String| vec![name.to_owned(), value];
    let mut rows = vec![
        cell("chip along the edge", optional(o.swarf.chip_width_mm, 3, "mm")),
        cell("chip along the cut", optional(o.swarf.chip_length_mm, 3, "mm")),
        cell("metal removed", optional(o.swarf.volume_cm3, 3, "cm³")),
        cell("the same as loose chips", optional(o.swarf.bulk_volume_cm3, 3, "cm³")),
        cell("life of an edge", life(o)),
        cell(
            "uses of a cutter for one part",
            o.life.cutters_per_part.map_or_else(|| MISSING.to_owned(), |c| significant(c, 2)),
        ),
    ];
    if let Some(error) = &o.form_error {
        rows.push(cell("left on the wall because the cutter gives way", form_error(error)));
    }
    let headroom = match (&o.headroom.feed_factor, &o.headroom.next_limit) {
        (Some(factor), Some(limit)) => {
            format!("{} times the feed, then {}", significant(*factor, 3), escape(limit))
        }
        _ => MISSING.to_owned(),
    };
    rows.push(cell("room until the next limit", headroom));
    if let Some((limit, used)) = &o.headroom.binds {
        let words = format!("{}, {} of it used", escape(limit), number::percent(*used));
        rows.push(cell("limit that is closest", words));
    }
    rows.push(cell("stable depth at this speed", optional(o.chatter.ap_limit_mm, 3, "mm")));
    if let Some((rpm, depth)) = o.chatter.better {
        let words =
            format!("{}, stable to {}", with_unit(rpm, 5, "1/min"), with_unit(depth, 3, "mm"));
        rows.push(cell("nearest speed that takes the depth", words));
    }
    if o.chatter.ap_limit_mm.is_none() {
        rows.push(cell("why no stable depth", escape(&o.chatter.rests_on)));
    }
    rows
}

fn form_error(error: &FormError) -> String {
    let limit = error.limit_um.map_or_else(
        || "tolerance not given".to_owned(),
        |l| format!("tolerance {}", with_unit(l, 3, "µm")),
    );
    format!(
        "{} ({}), {limit} <span class=\"small\">{}</span>",
        range(error.left_um, 2, "µm"),
        range(error.range_um, 2, "µm"),
        escape(&error.rests_on)
    )
}

fn life(o: &OperationOutcome) -> String {
    let life = &o.life;
    let Some(minutes) = life.minutes else {
        let why = life.missing.as_deref().unwrap_or_default();
        return format!("{MISSING} <span class=\"small\">{}</span>", escape(why));
    };
    let spread = life.range_min.map(|r| format!(" ({})", range(r, 2, "min"))).unwrap_or_default();
    let bound = if life.upper_bound { "at most " } else { "" };
    format!(
        "{bound}{}{spread} <span class=\"small\">{}</span>",
        with_unit(minutes, 2, "min"),
        escape(&life.criterion)
    )
}
