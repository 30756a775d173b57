//! The audit as text: where the time goes, what holds it, the worst stretches.

use super::document::Audited;
use super::loads::{Along, Pair};
use crate::text::{Align, Table, fixed, significant};

/// Words that are listed; the rest is only counted.
const LISTED: usize = 30;

pub(super) fn text(audited: &Audited) -> String {
    let mut out = format!(
        "{} on {}: {} blocks, {} moves\n\n",
        audited.program, audited.machine, audited.blocks, audited.moves
    );
    if let Some(path) = &audited.report {
        out = format!("{}\n{out}", path.display());
    }
    out.push_str(&times(audited));
    for (title, table) in [
        ("per tool", tools(audited)),
        ("what holds the time", limits(audited)),
        ("stretches that lose most against their programmed feed", worst(audited)),
    ] {
        if let Some(table) = table {
            out.push_str(&format!("\n{title}\n{table}"));
        }
    }
    if let Some(loads) = &audited.loads {
        out.push_str(&along(loads));
    }
    out.push_str(&listed("travel exceeded", &travel(audited)));
    out.push_str(&listed("not followed, or followed with a reservation", &unread(audited)));
    out.push_str(&listed("cautions", &audited.cautions));
    out
}

fn clock(seconds: f64) -> String {
    if seconds < 60.0 {
        return format!("{} s", significant(seconds, 4));
    }
    let whole = seconds.round() as u64;
    let (hours, minutes, rest) = (whole / 3600, whole / 60 % 60, whole % 60);
    if hours > 0 {
        format!("{hours}:{minutes:02}:{rest:02} h")
    } else {
        format!("{minutes}:{rest:02} min")
    }
}

fn times(audited: &Audited) -> String {
    let t = &audited.time_s;
    let mut table = Table::plain(vec![Align::Left, Align::Right, Align::Right, Align::Left]);
    let share = |s: f64| {
        let share = if t.total > 0.0 { 100.0 * s / t.total } else { 0.0 };
        format!("{} %", fixed(share, 1))
    };
    let range = format!(
        "{} to {} s at {} % confidence",
        fixed(t.low, 1),
        fixed(t.high, 1),
        fixed(100.0 * audited.confidence, 0)
    );
    table.row([
        "total, predicted".to_owned(),
        format!("{} s", fixed(t.total, 2)),
        clock(t.total),
        range,
    ]);
    let attained = audited.feed_attainment.map_or_else(String::new, |a| {
        format!(
            "programmed {} s: feed attained to {} %",
            fixed(t.programmed, 2),
            fixed(100.0 * a, 1)
        )
    });
    for (name, seconds, note) in [
        ("cutting", t.cutting, attained),
        ("rapid", t.rapid, String::new()),
        ("tool change", t.tool_change, String::new()),
        ("dwell", t.dwell, String::new()),
        ("other", t.other, String::new()),
    ] {
        table.row([format!("  {name}"), format!("{} s", fixed(seconds, 2)), share(seconds), note]);
    }
    if let Some(air) = audited.air_s {
        let by_stock = audited.loads.as_ref().is_some_and(|l| l.air_s.is_some());
        let note = if by_stock {
            "at feed where the stock is gone, by the loads below"
        } else {
            "at feed while the spindle stands or holds no tool"
        };
        let note = note.to_owned();
        table.row(["in air, known".to_owned(), format!("{} s", fixed(air, 2)), share(air), note]);
    }
    table.text(0)
}

fn tool_name(number: u32) -> String {
    if number == 0 { "none".to_owned() } else { format!("T{number}") }
}

fn tools(audited: &Audited) -> Option<String> {
    let mut table = Table::new([
        ("tool", Align::Left),
        ("time s", Align::Right),
        ("cutting s", Align::Right),
        ("programmed s", Align::Right),
        ("attained", Align::Right),
        ("path mm", Align::Right),
    ]);
    for tool in &audited.tools {
        table.row([
            tool_name(tool.number),
            fixed(tool.time_s, 2),
            fixed(tool.cutting_s, 2),
            fixed(tool.programmed_s, 2),
            tool.feed_attainment
                .map_or_else(|| "-".into(), |a| format!("{} %", fixed(100.0 * a, 1))),
            fixed(tool.path_mm, 1),
        ]);
    }
    (!audited.tools.is_empty()).then(|| table.text(0))
}

fn limits(audited: &Audited) -> Option<String> {
    let mut table = Table::new([
        ("limit", Align::Left),
        ("share", Align::Right),
        ("worth s", Align::Right),
        ("why, and what the worth belongs to", Align::Left),
    ]);
    for limit in &audited.limits {
        table.row([
            limit.limit.clone(),
            format!("{} %", fixed(100.0 * limit.time_share, 1)),
            limit.worth_s.map_or_else(|| "-".into(), |w| fixed(w, 2)),
            limit.because.clone(),
        ]);
    }
    (!audited.limits.is_empty()).then(|| table.text(0))
}

fn worst(audited: &Audited) -> Option<String> {
    let mut table = Table::new([
        ("lines", Align::Left),
        ("tool", Align::Left),
        ("time s", Align::Right),
        ("lost s", Align::Right),
        ("lost mostly to", Align::Left),
        ("why", Align::Left),
    ]);
    for stretch in &audited.worst {
        table.row([
            format!("{}-{}", stretch.from_line, stretch.to_line),
            tool_name(stretch.tool),
            fixed(stretch.time_s, 2),
            fixed(stretch.lost_s, 2),
            format!("{} ({} %)", stretch.limit, fixed(100.0 * stretch.limit_share, 0)),
            stretch.because.clone(),
        ]);
    }
    (!audited.worst.is_empty()).then(|| table.text(0))
}

fn along(loads: &Along) -> String {
    let mut table = Table::new([
        ("tool", Align::Left),
        ("cutter", Align::Left),
        ("in cut s", Align::Right),
        ("in air s", Align::Right),
        ("removed cm3", Align::Right),
        ("engaged deg", Align::Right),
        ("chip um", Align::Right),
        ("force N", Align::Right),
        ("matched by", Align::Left),
    ]);
    let one = |value: Option<f64>, decimals| value.map_or("-".to_owned(), |v| fixed(v, decimals));
    let two = |value: Option<Pair>, decimals| {
        value.map_or("-".to_owned(), |v| {
            format!("{} / {}", fixed(v.mean, decimals), fixed(v.peak, decimals))
        })
    };
    for tool in &loads.tools {
        table.row([
            tool_name(tool.number),
            tool.cutter.clone().unwrap_or_else(|| "not matched".to_owned()),
            one(tool.in_cut_s, 2),
            one(tool.air_s, 2),
            one(tool.volume_cm3, 2),
            two(tool.engagement_deg, 0),
            two(tool.chip_thickness_um, 1),
            two(tool.force_n, 0),
            tool.matched_by.clone(),
        ]);
    }
    let air = match (loads.air_s, loads.air_share) {
        (Some(s), Some(share)) => format!(
            "{} s at feed are in air, {} % of the time at feed of the tools that were matched\n",
            fixed(s, 2),
            fixed(100.0 * share, 1)
        ),
        _ => String::new(),
    };
    let rapids: Vec<String> = loads
        .rapid_in_stock
        .iter()
        .take(LISTED)
        .map(|r| format!("line {}: {} mm3 of stock in the way", r.line, fixed(r.stock_mm3, 1)))
        .collect();
    let missing = loads
        .tools
        .iter()
        .filter_map(|t| t.missing.as_ref().map(|why| format!("{}: {why}", tool_name(t.number))));
    let notes: Vec<String> = loads.notes.iter().cloned().chain(missing).collect();
    let stock = loads.stock.as_ref().map_or_else(String::new, |s| {
        format!("stock before the first block: {} ({})\n", s.taken, s.because)
    });
    format!(
        "\nloads along the program, mean / peak, predicted\n{}{stock}{air}{}{}",
        table.text(0),
        listed("rapids through stock", &rapids),
        listed("of the loads", &notes)
    )
}

fn travel(audited: &Audited) -> Vec<String> {
    let line = |e: &super::TravelLine| {
        format!(
            "line {}: axis {} has to go to {} {u}, {} {u} beyond its travel to {} {u}",
            e.line,
            e.axis,
            fixed(e.position, 3),
            fixed(e.beyond, 3),
            fixed(e.end, 3),
            u = e.unit
        )
    };
    audited.travel_exceeded.iter().map(line).collect()
}

fn unread(audited: &Audited) -> Vec<String> {
    let mut lines: Vec<String> = audited
        .unread
        .iter()
        .take(LISTED)
        .map(|u| {
            let times = if u.count > 1 { format!(" ({} times)", u.count) } else { String::new() };
            format!("line {}: {}: {}{times}", u.line, u.text, u.why)
        })
        .collect();
    let more = audited.unread.len().saturating_sub(LISTED);
    if more > 0 {
        lines.push(format!("and {more} more: --json lists them all"));
    }
    lines
}

fn listed(title: &str, lines: &[String]) -> String {
    if lines.is_empty() {
        return String::new();
    }
    let items: String = lines.iter().map(|l| format!("- {l}\n")).collect();
    format!("\n{title}\n{items}")
}
