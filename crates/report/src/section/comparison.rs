//! The processes side by side.

use crate::markup::{escape, table};
use crate::number::{MISSING, depth, optional, significant, time};
use study::outcome::{Outcome, ProcessOutcome};

/// One column for each process; then the cost by lines.
pub(crate) fn render(outcome: &Outcome) -> String {
    let mut head = vec!["predicted".to_owned()];
    head.extend(outcome.processes.iter().map(|p| escape(&p.name)));
    let row = |name: &str, cell: &dyn Fn(&ProcessOutcome) -> String| -> Vec<String> {
        std::iter::once(name.to_owned()).chain(outcome.processes.iter().map(cell)).collect()
    };
    let sum = |p: &ProcessOutcome, f: &dyn Fn(&study::outcome::OperationOutcome) -> f64| -> f64 {
        p.operations.iter().map(f).sum()
    };
    let largest = |p: &ProcessOutcome,
                   f: &dyn Fn(&study::outcome::OperationOutcome) -> Option<f64>|
     -> Option<f64> { p.operations.iter().filter_map(f).reduce(f64::max) };
    let rows = vec![
        row("cycle time", &|p| time(p.time_s)),
        row("of it cutting", &|p| time(sum(p, &|o| o.time.cutting_s))),
        row("leads, links, approach", &|p| time(sum(p, &|o| o.time.linking_s))),
        row("tool changes", &|p| time(p.tool_change_s)),
        row("path length over the feed asked for", &|p| time(sum(p, &|o| o.time.programmed_s))),
        row("contact lines", &|p| {
            format!("{}\u{202f}m", significant(sum(p, &|o| o.path_mm) / 1000.0, 4))
        }),
        row("largest cusp on the simulated cut", &|p| {
            optional(largest(p, &|o| o.cusp.cut_max_um), 3, "µm")
        }),
        row("deepest cut below nominal", &|p| depth(largest(p, &|o| o.gouge.map(|g| g.depth_um)))),
        row("different cutters", &|p| p.cutters.to_string()),
        row("cost of one part", &|p| cost(p.cost_per_part(), &outcome.currency)),
    ];
    let limits: Vec<String> = outcome.processes.iter().flat_map(broken).collect();
    format!(
        "<section><h2>Side by side</h2>{}{}{}</section>\n",
        table("compare", &head, &rows),
        by_cutter(outcome) + &cost_lines(outcome),
        crate::markup::notes("Limits that are not met", &limits)
    )
}

/// How long each cutter works; nothing where every process has but one and the same.
fn by_cutter(outcome: &Outcome) -> String {
    let mut cutters: Vec<&str> = Vec::new();
    for o in outcome.processes.iter().flat_map(|p| &p.operations) {
        if !cutters.contains(&o.cutter.as_str()) {
            cutters.push(&o.cutter);
        }
    }
    if cutters.len() < 2 {
        return String::new();
    }
    let mut head = vec!["time of each cutter, without its change".to_owned()];
    head.extend(outcome.processes.iter().map(|p| escape(&p.name)));
    let of = |p: &ProcessOutcome, cutter: &str| {
        let own = p.operations.iter().filter(|o| o.cutter == cutter);
        let times: Vec<f64> = own.map(|o| o.time.total_s).collect();
        if times.is_empty() { "–".to_owned() } else { time(times.iter().sum()) }
    };
    let row = |cutter: &&str| {
        let cells = outcome.processes.iter().map(|p| of(p, cutter));
        std::iter::once(escape(cutter)).chain(cells).collect()
    };
    table("compare", &head, &cutters.iter().map(row).collect::<Vec<_>>())
}

fn cost(value: Option<f64>, currency: &str) -> String {
    value.map_or_else(
        || MISSING.to_owned(),
        |v| format!("{}\u{202f}{}", crate::number::fixed(v, 2), escape(currency)),
    )
}

fn cost_lines(outcome: &Outcome) -> String {
    let Some(first) = outcome.processes.first() else { return String::new() };
    let mut head = vec!["cost of one part by lines".to_owned()];
    head.extend(outcome.processes.iter().map(|p| escape(&p.name)));
    head.push("rests on".to_owned());
    let rows: Vec<Vec<String>> = first
        .cost
        .iter()
        .map(|line| {
            let of = |p: &ProcessOutcome| {
                let same = p.cost.iter().find(|l| l.what == line.what);
                cost(same.and_then(|l| l.per_part), &outcome.currency)
            };
            let mut row = vec![escape(&line.what)];
            row.extend(outcome.processes.iter().map(of));
            row.push(format!("<span class=\"small\">{}</span>", escape(&line.rests_on)));
            row
        })
        .collect();
    table("compare", &head, &rows)
}

fn broken(process: &ProcessOutcome) -> Vec<String> {
    let of = process.operations.iter();
    of.flat_map(|o| o.broken.iter().map(|b| format!("{}, {}: {b}", process.name, o.name))).collect()
}
