//! The comparison for a terminal: processes, operations side by side, claims, cautions.

use crate::text::{Align, Table, fixed, significant};
use study::outcome::{Claim, LoadKind, OperationOutcome, Outcome, ProcessOutcome, Roughed};

/// Operations that stand side by side at most.
const SIDE_BY_SIDE: usize = 4;
/// What stands where nothing was computed.
const NOT_COMPUTED: &str = "–";

pub(super) fn render(outcome: &Outcome) -> String {
    let mut out = format!("{}\n", outcome.study);
    let Outcome { part, material, machine, .. } = outcome;
    out.push_str(&format!("{part}, {material}, on {machine}\n"));
    out.push_str("All values are predicted, except where they are called measured.\n\n");
    out.push_str(&processes(outcome));
    let columns: Vec<(&ProcessOutcome, &OperationOutcome)> =
        outcome.processes.iter().flat_map(|p| p.operations.iter().map(move |o| (p, o))).collect();
    for columns in columns.chunks(SIDE_BY_SIDE) {
        out.push('\n');
        out.push_str(&operations(columns));
    }
    section(&mut out, "Claims", outcome.claims.iter().map(|c| claim(c, &outcome.currency)));
    section(&mut out, "Limits that are broken", marked(&columns, |o| &o.broken));
    section(&mut out, "Limits that are not known", marked(&columns, |o| &o.unknown_limits));
    section(
        &mut out,
        "Assumed, because it is not given",
        outcome.assumptions.iter().map(|a| {
            let (low, high) = (significant(a.range.low, 4), significant(a.range.high, 4));
            format!("{} = {} ({low} to {high}): {}", a.key, significant(a.value, 4), a.because)
        }),
    );
    let whole = outcome.warnings.iter().cloned();
    section(&mut out, "Cautions", whole.chain(marked(&columns, |o| &o.warnings)));
    out
}

/// Lines of operations, each with where it holds; what holds for several stands once.
fn marked(
    columns: &[(&ProcessOutcome, &OperationOutcome)],
    lines: impl Fn(&OperationOutcome) -> &Vec<String>,
) -> Vec<String> {
    let mut found: Vec<(&str, Vec<usize>)> = Vec::new();
    for (i, (_, o)) in columns.iter().enumerate() {
        for line in lines(o) {
            match found.iter_mut().find(|f| f.0 == line) {
                Some((_, of)) => of.push(i),
                None => found.push((line, vec![i])),
            }
        }
    }
    let name = |i: usize| format!("{}, {}", columns[i].0.name, columns[i].1.name);
    let of = |of: &[usize]| match of.len() {
        n if n == columns.len() && n > SAID_APART => "every operation".to_owned(),
        n if n > SAID_APART => format!("{} and {} more operations", name(of[0]), n - 1),
        _ => of.iter().map(|i| name(*i)).collect::<Vec<_>>().join("; "),
    };
    found.into_iter().map(|(line, at)| format!("{}: {line}", of(&at))).collect()
}

fn section(out: &mut String, title: &str, lines: impl IntoIterator<Item = String>) {
    let lines: Vec<String> = lines.into_iter().collect();
    if lines.is_empty() {
        return;
    }
    out.push_str(&format!("\n{title}\n"));
    for line in lines {
        out.push_str(&format!("  · {line}\n"));
    }
}

fn processes(outcome: &Outcome) -> String {
    let cost =
        format!("cost/{}", if outcome.currency.is_empty() { "–" } else { &outcome.currency });
    let mut table = Table::new([
        ("process", Align::Left),
        ("time/min", Align::Right),
        ("of it tool change/s", Align::Right),
        (cost.as_str(), Align::Right),
        ("cutters", Align::Right),
    ]);
    for p in &outcome.processes {
        table.row([
            p.name.clone(),
            fixed(p.time_s / 60.0, 2),
            fixed(p.tool_change_s, 1),
            shown(p.cost_per_part(), 2),
            p.cutters.to_string(),
        ]);
    }
    table.text(0)
}

fn shown(value: Option<f64>, decimals: usize) -> String {
    value.map_or_else(|| NOT_COMPUTED.to_owned(), |v| fixed(v, decimals))
}

type Cell = Box<dyn Fn(&OperationOutcome) -> String>;

fn rows() -> Vec<(&'static str, Cell)> {
    let mut rows: Vec<(&'static str, Cell)> = vec![
        ("cutter", Box::new(|o| o.cutter.clone())),
        ("pattern", Box::new(|o| o.pattern.clone())),
        ("spindle/(rev/min)", Box::new(|o| fixed(o.data.rpm, 0))),
        ("feed at contact/(mm/min)", Box::new(|o| fixed(o.data.contact_feed_mm_min, 0))),
        ("axis to normal/°", Box::new(|o| range(o.data.kappa_deg.low, o.data.kappa_deg.high, 1))),
    ];
    rows.extend(time_rows());
    rows.extend(surface_rows());
    rows.extend(rough_rows());
    rows.extend(load_rows());
    rows
}

fn time_rows() -> Vec<(&'static str, Cell)> {
    vec![
        ("time/s", Box::new(|o| fixed(o.time.total_s, 1))),
        ("  cutting/s", Box::new(|o| fixed(o.time.cutting_s, 1))),
        ("  linking/s", Box::new(|o| fixed(o.time.linking_s, 1))),
        ("  cutting as programmed/s", Box::new(|o| fixed(o.time.programmed_s, 1))),
        ("measured/s", Box::new(|o| shown(o.measured_time_s, 1))),
        ("feed attained/%", Box::new(|o| shown(o.feed_attainment.map(|a| 100.0 * a), 1))),
        ("held back most by", Box::new(held_back)),
        ("contact path/m", Box::new(|o| fixed(o.path_mm / 1000.0, 2))),
        ("path over its bound", Box::new(|o| shown(o.path_bound_mm.map(|b| o.path_mm / b), 3))),
        ("passes", Box::new(|o| o.passes.to_string())),
    ]
}

fn surface_rows() -> Vec<(&'static str, Cell)> {
    vec![
        (
            "step-over/mm",
            Box::new(|o| {
                o.stepover_mm.map_or_else(|| NOT_COMPUTED.to_owned(), |s| range(s.min, s.max, 3))
            }),
        ),
        ("cusp by formula/µm", Box::new(|o| shown(o.cusp.predicted_max_um, 2))),
        ("cusp as cut, largest/µm", Box::new(|o| shown(o.cusp.cut_max_um, 2))),
        ("  between passes/µm", Box::new(|o| shown(o.cusp.interior_max_um, 2))),
        ("  beside the border/µm", Box::new(|o| shown(o.cusp.border_max_um, 2))),
        ("cusp as cut, mean/µm", Box::new(|o| shown(o.cusp.cut_mean_um, 2))),
        ("cusp allowed/µm", Box::new(|o| shown(o.cusp.limit_um, 2))),
        ("deepest cut below nominal/µm", Box::new(|o| shown(o.gouge.map(|g| g.depth_um), 2))),
        ("uncut/mm²", Box::new(|o| shown(o.uncut_mm2, 2))),
        (
            "closest approach/mm",
            Box::new(|o| {
                let approach = o.closest_approach.as_ref();
                approach.map_or_else(
                    || NOT_COMPUTED.to_owned(),
                    |a| format!("{} ({})", fixed(a.distance_mm, 2), a.body),
                )
            }),
        ),
    ]
}

/// Operations that a line names one by one at most.
const SAID_APART: usize = 2;

fn rough_rows() -> Vec<(&'static str, Cell)> {
    let cell = |of: fn(&Roughed) -> String| -> Cell {
        Box::new(move |o| o.roughed.as_ref().map_or_else(|| NOT_COMPUTED.to_owned(), of))
    };
    vec![
        (
            "layers, depth/mm",
            cell(|r| match r.is_even() {
                true => format!("{} × {}", r.levels, fixed(r.depth_mm, 2)),
                false => format!("{} of {}", r.levels, range(r.least_depth_mm, r.depth_mm, 2)),
            }),
        ),
        ("width of cut/mm", cell(|r| fixed(r.width_mm, 2))),
        (
            "arc of contact, largest/°",
            cell(|r| format!("{} of {}", fixed(r.arc_peak_deg, 0), fixed(r.arc_target_deg, 0))),
        ),
        ("cut full width/mm", cell(|r| fixed(r.slot_mm, 0))),
        ("metal removed/(cm³/min)", cell(|r| fixed(r.rate_cm3_min, 1))),
        ("stock that stays/cm³", cell(|r| fixed(r.rest_cm3, 3))),
        (
            "stock left, least to most/mm",
            cell(|r| match r.left {
                Some(l) => range(l.least_mm, l.most_mm, 2),
                None => NOT_COMPUTED.to_owned(),
            }),
        ),
        ("time at a constant feed/s", cell(|r| shown(r.feed_gain.map(|g| g.constant_s), 1))),
    ]
}

fn load_rows() -> Vec<(&'static str, Cell)> {
    vec![
        ("peak force across the axis/N", Box::new(|o| load(o, LoadKind::Force))),
        ("peak torque/(N m)", Box::new(|o| load(o, LoadKind::Torque))),
        ("peak power/kW", Box::new(|o| load(o, LoadKind::Power))),
        ("deflection/µm", Box::new(|o| load(o, LoadKind::Deflection))),
        ("left on the wall by giving way/µm", Box::new(form_error)),
        ("largest chip thickness/µm", Box::new(|o| load(o, LoadKind::ChipThickness))),
        ("stable depth/mm", Box::new(|o| shown(o.chatter.ap_limit_mm, 2))),
        ("room in the feed", Box::new(headroom)),
        ("life of an edge/min", Box::new(life)),
        ("metal removed/cm³", Box::new(|o| shown(o.swarf.volume_cm3, 2))),
    ]
}

/// The peak, and the limit after a stroke.
fn load(o: &OperationOutcome, kind: LoadKind) -> String {
    let found = o.loads.iter().find(|l| l.kind == kind);
    let Some((load, peak)) = found.and_then(|l| Some((l, l.peak?))) else {
        return NOT_COMPUTED.to_owned();
    };
    match load.limit {
        Some(limit) => format!("{} of {}", significant(peak, 3), significant(limit, 3)),
        None => significant(peak, 3),
    }
}

/// What is left, and the tolerance.
fn form_error(o: &OperationOutcome) -> String {
    let Some(error) = &o.form_error else { return NOT_COMPUTED.to_owned() };
    let left = range(error.left_um.low, error.left_um.high, 1);
    match error.limit_um {
        Some(limit) => format!("{left} of {}", significant(limit, 3)),
        None => left,
    }
}

fn headroom(o: &OperationOutcome) -> String {
    match (o.headroom.feed_factor, &o.headroom.next_limit) {
        (Some(factor), Some(limit)) => format!("× {} to {limit}", significant(factor, 3)),
        _ => NOT_COMPUTED.to_owned(),
    }
}

fn life(o: &OperationOutcome) -> String {
    let bound = if o.life.upper_bound { "at most " } else { "" };
    o.life.minutes.map_or_else(
        || NOT_COMPUTED.to_owned(),
        |minutes| format!("{bound}{}", significant(minutes, 2)),
    )
}

fn range(low: f64, high: f64, decimals: usize) -> String {
    let (low, high) = (fixed(low, decimals), fixed(high, decimals));
    if low == high { low } else { format!("{low} to {high}") }
}

fn held_back(o: &OperationOutcome) -> String {
    let most = o.limits.iter().max_by(|a, b| a.time_share.total_cmp(&b.time_share));
    most.map_or_else(
        || NOT_COMPUTED.to_owned(),
        |l| format!("{} ({} %)", l.limit, fixed(100.0 * l.time_share, 0)),
    )
}

fn operations(columns: &[(&ProcessOutcome, &OperationOutcome)]) -> String {
    let heading = std::iter::once(String::new()).chain(columns.iter().map(|(p, _)| p.name.clone()));
    let mut table = Table::with_heading(heading.collect());
    let names = columns.iter().map(|(_, o)| o.name.clone());
    table.row(std::iter::once("operation".to_owned()).chain(names));
    for (label, cell) in rows() {
        let cells: Vec<String> = columns.iter().map(|(_, o)| cell(o)).collect();
        if cells.iter().any(|c| c != NOT_COMPUTED) {
            table.row(std::iter::once(label.to_owned()).chain(cells));
        }
    }
    table.text(0)
}

fn claim(c: &Claim, currency: &str) -> String {
    let (factor, unit, decimals) = match c.quantity.as_str() {
        "time_saved_s" => (1.0 / 60.0, "min saved".to_owned(), 2),
        "time_saved_share" => (100.0, "% of the time saved".to_owned(), 1),
        "cost_saved_per_part" => (1.0, format!("{currency} per part saved"), 2),
        "cusp_max_um" => (1.0, "µm largest cusp".to_owned(), 2),
        "surface_offset_um" => (1.0, "µm of the surface off its nominal height".to_owned(), 1),
        other => (1.0, other.replace('_', " "), 3),
    };
    let number = |value: f64| fixed(factor * value, decimals);
    let subject = match &c.operation {
        Some(operation) => format!("{}, {operation}", c.process),
        None => c.process.clone(),
    };
    let (value, low, high) = (number(c.value), number(c.interval.low), number(c.interval.high));
    let confidence = fixed(100.0 * c.confidence, 0);
    let mut line =
        format!("{subject}: {value} {unit} ({low} to {high}, {confidence} % confidence)");
    line.push_str(match (&c.differs, c.like_for_like) {
        (_, true) => ", like for like",
        (Some(_), false) => ", quality differs: ",
        (None, false) => ", quality differs",
    });
    if let (Some(differs), false) = (&c.differs, c.like_for_like) {
        line.push_str(differs);
    }
    if let Some(s) = c.split {
        let minutes = |seconds: f64| fixed(seconds / 60.0, 2);
        line.push_str(&format!(
            "\n    of it by step-over {}, feed {}, links {}, machine {} min",
            minutes(s.stepover_s),
            minutes(s.feed_s),
            minutes(s.links_s),
            minutes(s.machine_s),
        ));
    }
    line
}
