//! The audit of a program: the stretches that lose most first, then where the time goes, feed over
//! time, the path by limit, tools, what was not followed, cautions.

use crate::Provenance;
use crate::figure::{feed_time, limit_path};
use crate::markup::{escape, figure, notes, table};
use crate::number::{MISSING, fixed, percent, saving, significant, time, with_unit};
use crate::section::basis;
use nc::Audit;
use nc::audit::MeanPeak;

/// Most words that are listed.
const LISTED: usize = 60;

/// All of it but the files and the cautions of every page.
pub(crate) fn render(audit: &Audit, machine: &str) -> String {
    let exceeded: Vec<String> = audit.exceeded.iter().map(ToString::to_string).collect();
    let mut unread: Vec<String> =
        audit.unread.iter().take(LISTED).map(ToString::to_string).collect();
    if audit.unread.len() > LISTED {
        unread.push(format!("and {} more", audit.unread.len() - LISTED));
    }
    format!(
        "{}{}{}{}{}{}{}{}{}{}",
        answer(audit, machine),
        notes("Travel exceeded", &exceeded),
        stretches(audit),
        limits(audit),
        feed(audit),
        path(audit),
        tools(audit),
        along(audit),
        section_of("Not followed, or followed with a reservation", &unread),
        section_of("What the numbers rest on", &audit.cautions),
    )
}

/// The files that the audit rests on.
pub(crate) fn files(provenance: &Provenance) -> String {
    basis::inputs(provenance)
}

fn section_of(title: &str, lines: &[String]) -> String {
    if lines.is_empty() {
        return String::new();
    }
    let items: String = lines.iter().map(|l| format!("<li>{}</li>", escape(l))).collect();
    format!("<section><h2>{title}</h2><ul class=\"small\">{items}</ul></section>\n")
}

fn answer(audit: &Audit, machine: &str) -> String {
    let t = &audit.time;
    let attained = audit.feed_attainment.map_or_else(String::new, |a| {
        format!(" Moves at feed attain {} of their programmed feed.", percent(a))
    });
    let head = ["predicted", "time", "share"];
    let row = |name: &str, s: f64| {
        let share = if t.total_s > 0.0 { percent(s / t.total_s) } else { MISSING.to_owned() };
        vec![name.to_owned(), time(s), share]
    };
    let rows = vec![
        row("total", t.total_s),
        row("cutting", t.cutting_s),
        row("rapid", t.rapid_s),
        row("tool change", t.tool_change_s),
        row("dwell", t.dwell_s),
        row("spindle, coolant, auxiliary words", t.other_s),
        row("path over the programmed feed", t.programmed_s),
    ];
    format!(
        "<section class=\"answer\"><p>Predicted {} on {}, between {} and {} with {} confidence: {} \
         blocks, {} moves.{attained}</p>{}</section>\n",
        time(t.total_s),
        escape(machine),
        time(t.low_s),
        time(t.high_s),
        percent(audit.confidence),
        audit.blocks,
        audit.moves,
        table("facts", &head.map(str::to_owned), &rows)
    )
}

fn stretches(audit: &Audit) -> String {
    if audit.worst.is_empty() {
        return String::new();
    }
    let head = ["lines", "tool", "time", "lost", "lost mostly to", "why"];
    let rows: Vec<Vec<String>> = audit
        .worst
        .iter()
        .map(|s| {
            vec![
                format!("{}–{}", s.lines[0], s.lines[1]),
                tool_name(s.tool),
                time(s.time_s),
                time(s.lost_s()),
                format!("{}, {}", escape(&s.limit), percent(s.limit_share)),
                format!("<span class=\"small\">{}</span>", escape(&s.because)),
            ]
        })
        .collect();
    format!(
        "<section><h2>Stretches that lose most against their programmed feed</h2>{}</section>\n",
        table("compare", &head.map(str::to_owned), &rows)
    )
}

fn limits(audit: &Audit) -> String {
    let head = ["what holds the time", "share", "relaxing it saves", "why"];
    let rows: Vec<Vec<String>> = audit
        .limits
        .iter()
        .map(|l| {
            let worth = l.worth_s.map_or_else(|| MISSING.to_owned(), saving);
            let why = format!("<span class=\"small\">{}</span>", escape(&l.because));
            vec![escape(&l.limit), percent(l.time_share), worth, why]
        })
        .collect();
    format!(
        "<section><h2>What holds the time</h2><p class=\"small\">Each limit relaxed by itself, by a \
         factor of {}.</p>{}</section>\n",
        significant(audit.relaxed_by, 3),
        table("compare", &head.map(str::to_owned), &rows)
    )
}

fn feed(audit: &Audit) -> String {
    let Some(svg) = feed_time::render(&audit.feed) else { return String::new() };
    let caption = "Attained feed, mm/min, over time; dashed: the feed of the program; pale: rapids, cut \
                   off at the top.";
    format!("<section><h2>Feed over time</h2>{}</section>\n", figure(&svg, caption))
}

fn path(audit: &Audit) -> String {
    let Some(svg) = limit_path::render(&audit.path) else { return String::new() };
    let every = match audit.path.every {
        0 | 1 => "Every move".to_owned(),
        n => format!("One move in {n}"),
    };
    let caption = format!("{every}, seen from above, by the limit that holds it longest.");
    format!("<section><h2>The path and its limits</h2>{}</section>\n", figure(&svg, &caption))
}

fn tool_name(number: u32) -> String {
    if number == 0 { "none".to_owned() } else { format!("T{number}") }
}

fn tools(audit: &Audit) -> String {
    if audit.tools.is_empty() {
        return String::new();
    }
    let head = ["tool", "time", "cutting", "path over feed", "feed attained", "path at feed"];
    let rows: Vec<Vec<String>> = audit
        .tools
        .iter()
        .map(|t| {
            vec![
                tool_name(t.number),
                time(t.time_s),
                time(t.cutting_s),
                time(t.programmed_s),
                t.feed_attainment.map_or_else(|| MISSING.to_owned(), percent),
                with_unit(t.path_mm, 5, "mm"),
            ]
        })
        .collect();
    let air = audit.air_s.map_or_else(String::new, |s| {
        format!("<p>{} s at feed are in air: the spindle stands or holds no tool.</p>", fixed(s, 1))
    });
    format!(
        "<section><h2>Tools</h2>{}{air}</section>\n",
        table("compare", &head.map(str::to_owned), &rows)
    )
}

fn along(audit: &Audit) -> String {
    let Some(loads) = &audit.loads else { return String::new() };
    let two = |value: Option<MeanPeak>, unit: &str| {
        value.map_or_else(
            || MISSING.to_owned(),
            |v| format!("{}, {}", significant(v.mean, 3), with_unit(v.peak, 3, unit)),
        )
    };
    let head = [
        "tool",
        "cutter",
        "in the cut",
        "in air",
        "engaged, mean, peak",
        "chip, mean, peak",
        "force, mean, peak",
    ];
    let seconds = |value: Option<f64>| value.map_or_else(|| MISSING.to_owned(), time);
    let rows: Vec<Vec<String>> = loads
        .tools
        .iter()
        .map(|t| {
            let cutter = t.cutter.as_deref().unwrap_or("not matched");
            vec![
                tool_name(t.number),
                format!(
                    "{} <span class=\"small\">{}</span>",
                    escape(cutter),
                    escape(&t.matched_by)
                ),
                seconds(t.in_cut_s),
                seconds(t.air_s),
                two(t.engagement_deg, "°"),
                two(t.chip_thickness_um, "µm"),
                two(t.force_n, "N"),
            ]
        })
        .collect();
    let stock = loads.stock.as_ref().map_or_else(String::new, |s| {
        let (shape, because) = (escape(&s.shape), escape(&s.because));
        format!("<p>Stock before the first block: {shape} ({because}).</p>")
    });
    let air = match (loads.air_s, loads.air_share) {
        (Some(s), Some(share)) => {
            format!("<p>{} at feed meet no stock, {} of it.</p>", time(s), percent(share))
        }
        _ => String::new(),
    };
    let rapids: Vec<String> = loads
        .rapid_in_stock
        .iter()
        .take(LISTED)
        .map(|(line, mm3)| format!("line {line}: {} mm³ of stock in the way", fixed(*mm3, 1)))
        .collect();
    let missing = loads
        .tools
        .iter()
        .filter_map(|t| t.missing.as_ref().map(|why| format!("{}: {why}", tool_name(t.number))));
    let rest: Vec<String> = loads.notes.iter().cloned().chain(missing).collect();
    format!(
        "<section><h2>Loads along the program</h2>{stock}{air}{}{}{}</section>\n",
        table("compare", &head.map(str::to_owned), &rows),
        notes("Rapids through stock", &rapids),
        notes("What the loads rest on", &rest)
    )
}
