//! The setup sheet of a program as plain data, and the page that is made of it.

use crate::Provenance;
use crate::figure::assembly;
use crate::markup::{escape, figure, notes, table};
use crate::number::{MISSING, fixed, optional, range, time, with_unit};
use crate::{page, section};
use study::outcome::{CuttingData, Load};
use units::Interval;

/// What is set up, before a program runs.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Name of the study.
    pub study: String,
    /// Name of the process.
    pub process: String,
    /// The program's file.
    pub program: String,
    /// Machine and dialect.
    pub machine: String,
    /// Part, material, stock, program zero and clamps: a name and what is said of it.
    pub setup: Vec<[String; 2]>,
    /// What the program rests on: tool lengths, tip control, program zero.
    pub conditions: Vec<String>,
    /// Whether rotary axes turn.
    pub turns: bool,
    /// Time of the whole program, s, and its interval.
    pub total_s: f64,
    /// Both ends of the interval of that time, s.
    pub total_range_s: Interval,
    /// Share of cases that the intervals shall hold.
    pub confidence: f64,
    /// The tools.
    pub tools: Vec<ToolCard>,
    /// The operations, in order.
    pub operations: Vec<OperationCard>,
    /// What else to look at.
    pub notes: Vec<String>,
}

/// One tool in its holder.
#[derive(Debug, Clone, PartialEq)]
pub struct ToolCard {
    /// Number in the magazine and of its offsets.
    pub number: u32,
    /// Id of the cutter.
    pub id: String,
    /// Dimensions and limits: a name and a value.
    pub facts: Vec<[String; 2]>,
    /// From the nose of the holder to the tip, mm.
    pub stickout_mm: f64,
    /// From the spindle nose to the tip, mm.
    pub length_mm: f64,
    /// Cutting diameter, mm.
    pub diameter_mm: f64,
    /// Half outlines (r, z) of what cuts, of neck and shank, and of the holder, mm.
    pub outlines: Vec<Outline>,
}

/// Half the outline of one body, from its lower end up.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    /// `cutting`, `shank` or `holder`.
    pub what: &'static str,
    /// Radius and height over the tip, mm.
    pub points_mm: Vec<[f64; 2]>,
}

/// One operation.
#[derive(Debug, Clone, PartialEq)]
pub struct OperationCard {
    /// Block from which it can be started.
    pub block: String,
    /// Blocks from which it can be entered again.
    pub restarts: Vec<String>,
    /// Its name.
    pub name: String,
    /// Kind and feature.
    pub what: String,
    /// Number of its tool.
    pub tool: u32,
    /// Coolant in words.
    pub coolant: String,
    /// Speeds and feeds.
    pub data: CuttingData,
    /// Spacing of the passes, smallest to largest, or the width of cut, mm.
    pub stepover_mm: Option<Interval>,
    /// Stock on the feature before it, mm; `None` for an operation that clears in layers.
    pub allowance_mm: Option<f64>,
    /// Time, s.
    pub time_s: f64,
    /// Its interval, s; `None`: not known.
    pub time_range_s: Option<Interval>,
    /// Loads against their limits.
    pub loads: Vec<Load>,
    /// Limits that are broken.
    pub broken: Vec<String>,
    /// What to look at.
    pub warnings: Vec<String>,
}

/// Renders the sheet.
pub fn sheet_html(sheet: &Sheet, provenance: &Provenance) -> String {
    let mut body = head(sheet);
    body.push_str(&tools(sheet));
    body.push_str(&operations(sheet));
    body.push_str(&prove_out(sheet));
    body.push_str(&notes("To look at", &sheet.notes));
    body.push_str(&section::audit::files(provenance));
    body.push_str(section::cautions::HTML);
    let title = format!("{}: {}", sheet.study, sheet.process);
    page::wrap(&title, page::Kind::Sheet, &body, provenance)
}

fn counted(count: usize, what: &str) -> String {
    if count == 1 { format!("1 {what}") } else { format!("{count} {what}s") }
}

fn pairs(class: &str, head: [&str; 2], rows: &[[String; 2]]) -> String {
    let rows: Vec<Vec<String>> =
        rows.iter().map(|[name, value]| vec![escape(name), escape(value)]).collect();
    table(class, &head.map(str::to_owned), &rows)
}

fn head(sheet: &Sheet) -> String {
    let mut rows = vec![
        ["program".to_owned(), sheet.program.clone()],
        ["machine".to_owned(), sheet.machine.clone()],
    ];
    rows.extend(sheet.setup.iter().cloned());
    format!(
        "<section class=\"answer\"><p>{}, {}, predicted {}, between {} and {} with {} \
         % confidence.</p></section>{}{}",
        counted(sheet.tools.len(), "tool"),
        counted(sheet.operations.len(), "operation"),
        time(sheet.total_s),
        time(sheet.total_range_s.low),
        time(sheet.total_range_s.high),
        fixed(100.0 * sheet.confidence, 0),
        pairs("facts", ["set-up", ""], &rows),
        notes("The program holds only where this holds", &sheet.conditions),
    )
}

fn tools(sheet: &Sheet) -> String {
    let cards: String = sheet.tools.iter().map(tool).collect();
    format!("<section><h2>Tools</h2>{cards}</section>\n")
}

fn tool(card: &ToolCard) -> String {
    let (svg, scale) = assembly::render(card);
    let mut rows = vec![
        ["stick-out, holder nose to tip".to_owned(), mm(card.stickout_mm)],
        ["length, spindle nose to tip (as the program has it)".to_owned(), mm(card.length_mm)],
        ["length as measured at the machine".to_owned(), "____________ mm".to_owned()],
        ["offset numbers, length and radius".to_owned(), format!("{0} and {0}", card.number)],
    ];
    rows.extend(card.facts.iter().cloned());
    format!(
        "<article class=\"tool\"><h3>T{}: {}</h3><div class=\"pair\">{}<div class=\"card\">{}</div></div>\
         </article>\n",
        card.number,
        escape(&card.id),
        figure(&svg, &format!("Drawn {scale} on A4 at 100 %, mm.")),
        pairs("facts", ["assembly", ""], &rows),
    )
}

fn mm(value: f64) -> String {
    format!("{} mm", fixed(value, 1))
}

fn operations(sheet: &Sheet) -> String {
    let cards: String = sheet.operations.iter().map(operation).collect();
    format!("<section><h2>Operations</h2>{cards}</section>\n")
}

fn operation(card: &OperationCard) -> String {
    let data = &card.data;
    let cell = |name: &str, value: String| vec![name.to_owned(), value];
    let interval = card.time_range_s.map_or_else(
        || " (interval not computed)".to_owned(),
        |r| format!(" ({} to {})", time(r.low), time(r.high)),
    );
    let mut rows = vec![
        cell("time", format!("{}{interval}", time(card.time_s))),
        cell("spindle speed", with_unit(data.rpm, 5, "1/min")),
        cell("cutting speed at the contact", optional(data.contact_speed_m_min, 3, "m/min")),
        cell("feed per tooth at the contact", with_unit(data.feed_per_tooth_mm, 3, "mm")),
        cell("feed at the contact", with_unit(data.contact_feed_mm_min, 4, "mm/min")),
        cell("F of the program, at the tip", range(data.tip_feed_mm_min, 4, "mm/min")),
        spacing(card),
        cell("angle between axis and surface normal", range(data.kappa_deg, 3, "°")),
        cell("coolant", escape(&card.coolant)),
    ];
    if !card.restarts.is_empty() {
        rows.push(cell("can be entered again at", escape(&card.restarts.join(", "))));
    }
    let head = ["cutting data".to_owned(), "predicted".to_owned()];
    let loads: Vec<Vec<String>> = card.loads.iter().map(load).collect();
    let loads = if loads.is_empty() {
        format!("<p class=\"small\">Loads: {MISSING}.</p>")
    } else {
        let head = ["expected load", "mean", "peak", "limit"].map(str::to_owned);
        table("compare", &head, &loads)
    };
    format!(
        "<article class=\"operation\"><h3>{}: {}</h3><p class=\"small\">{}, T{}</p>{}{loads}{}{}\
         </article>\n",
        escape(&card.block),
        escape(&card.name),
        escape(&card.what),
        card.tool,
        table("facts", &head, &rows),
        notes("Limits that are not met", &card.broken),
        notes("Warnings", &card.warnings),
    )
}

fn spacing(card: &OperationCard) -> Vec<String> {
    let spacing = card.stepover_mm.map_or_else(|| MISSING.to_owned(), |s| range(s, 3, "mm"));
    match card.allowance_mm {
        Some(allowance_mm) => vec![
            "stock before, spacing of passes".to_owned(),
            format!("{}, {spacing}", with_unit(allowance_mm, 2, "mm")),
        ],
        None => vec!["width of cut".to_owned(), spacing],
    }
}

fn load(load: &Load) -> Vec<String> {
    let (name, unit) = load.kind.label();
    let peak = match (load.peak, load.peak_range) {
        (Some(peak), Some(r)) => {
            format!("{} ({})", with_unit(peak, 3, unit), range(r, 2, unit))
        }
        (peak, _) => optional(peak, 3, unit),
    };
    let limit = load.limit.map_or_else(|| "not known".to_owned(), |l| with_unit(l, 3, unit));
    vec![escape(name), optional(load.mean, 3, unit), peak, limit]
}

fn prove_out(sheet: &Sheet) -> String {
    let mut steps = vec![
        "Part, stock and clamps as in the set-up above; program zero set and checked at a second point."
            .to_owned(),
        "Every tool's stick-out, diameter and length measured, compared with this sheet and entered in \
         the offsets; cutter and holder within their speed limits and balanced."
            .to_owned(),
    ];
    if sheet.turns {
        steps.push(
            "Sign and zero of every rotary axis confirmed by a small turn, tip control by a small turn \
             clear of the part: the tip must stay where it is."
                .to_owned(),
        );
        steps.push(
            "The turn of the rotary axes to each start watched with the table empty of loose parts: \
             holder, table, clamps and hoses stay clear."
                .to_owned(),
        );
    }
    steps.extend([
        "Dry run with program zero raised clear of the part: door closed, single block, rapid low, hand \
         on feed hold; distance to go watched at every approach."
            .to_owned(),
        "First part: door closed, single block until the first pass cuts, rapid low, feed override \
         brought up from low; load and sound against the expected loads."
            .to_owned(),
        "Times and loads noted beside the predicted ones; the first part measured before the next is cut."
            .to_owned(),
    ]);
    let rows: String = steps.iter().map(|s| format!("<li>{s}</li>")).collect();
    let signed = "<p class=\"sign\">Released by ______________________  Date ______________</p>";
    let count = steps.len();
    format!(
        "<section class=\"proof\"><h2>Proving out, {count} steps</h2><ol class=\"steps\">{rows}</ol>{signed}\
         <p class=\"small on-screen\">On paper: print it on A4 at 100 %.</p>\
         </section>\n"
    )
}
