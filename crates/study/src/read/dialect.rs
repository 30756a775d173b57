//! The file of a dialect: which words a control uses for what.

mod meaning;
mod variables;

use super::files::Files;
use super::range;
use super::source_of;
use crate::text::{Bound, Diagnostic, Given, Rejected, Sink, Source, Table, parse};
use ::dialect::{
    ArcWords, Centre, Comments, CycleDepth, CycleRun, Dialect, DwellUnit, GCode, MCode, PointRule,
    ToolCall, Words,
};
use std::ops::Range;

const M_WORD: Bound = Bound::between("", 0.0, 999.0, "give the number of an M word");
const STEP: Bound = Bound::between("", 0.0, 1000.0, "0 leaves block numbers out");
const PROGRAM: Bound = Bound::between("", 1.0, 99_999_999.0, "give the number of a program");
const DECIMALS: Bound = Bound::between("", 3.0, 6.0, "fewer than 3 are no micrometres");
const NESTING: Bound = Bound::between("", 1.0, 1000.0, "give how deep calls may go");
const STEP_MM: Bound = Bound::between("mm", 1e-6, 1.0, "give the smallest step of the control");
const ARC_MM: Bound = Bound::between("mm", 1e-5, 1.0, "the key is in mm");

const DWELLS: [(&str, DwellUnit); 3] = [
    ("seconds", DwellUnit::Seconds),
    ("milliseconds", DwellUnit::Millis),
    ("milliseconds-or-seconds", DwellUnit::MillisOrSeconds),
];

/// Reads the file of a dialect.
///
/// # Errors
/// Every fault that could be found, each with its place.
pub fn dialect_file(bytes: &[u8], display_name: &str) -> Result<Dialect, Rejected> {
    read(Sink::new(0, source_of(bytes, display_name)?)).0
}

/// The dialect that a machine file names: a packaged one, or a file in `folder` seen from where
/// `files` reads; and that file.
pub(super) fn named(
    named: Option<&Given<String>>,
    machine_file: &Source,
    folder: &str,
    files: &dyn Files,
) -> Result<(Dialect, Option<Source>), Vec<Diagnostic>> {
    let Some(named) = named else { return Ok((Dialect::a(), None)) };
    if let Some(packaged) = Dialect::named(&named.value) {
        return Ok((packaged, None));
    }
    let path = format!("{folder}{}", named.value);
    let fault = |message: String, remedy: &str| {
        let expected = "a, b, or a dialect file beside the machine file";
        vec![Diagnostic::new(machine_file, named.span.clone(), message, expected, remedy)]
    };
    let bytes = match files.bytes(&path) {
        Ok(Some(bytes)) => bytes,
        Ok(None) => {
            let remedy = "put the file beside the machine file, or name a or b";
            return Err(fault(format!("there is no dialect file \"{path}\""), remedy));
        }
        Err(error) => {
            let message = format!("\"{path}\" cannot be read: {}", error.reason);
            return Err(fault(message, "name a file that can be read, or mend its permissions"));
        }
    };
    let source = source_of(&bytes, &path).map_err(|rejected| rejected.diagnostics)?;
    let (dialect, source) = read(Sink::new(0, source));
    Ok((dialect.map_err(|rejected| rejected.diagnostics)?, Some(source)))
}

fn read(sink: Sink) -> (Result<Dialect, Rejected>, Source) {
    let dialect = parse(&sink).and_then(|document| {
        let root = Table::root(&document, "the dialect file", &sink);
        read_root(root)
    });
    let (source, faults) = sink.into_parts();
    match dialect {
        Some(dialect) if faults.is_empty() => (Ok(dialect), source),
        _ => (Err(Rejected { diagnostics: faults }), source),
    }
}

fn read_root(root: Table<'_>) -> Option<Dialect> {
    let name = root.need_text("name", "shop-mill");
    let base = [("a", Dialect::a as fn() -> Dialect), ("b", Dialect::b)];
    let mut dialect = root.choice_or("based_on", &base, Dialect::a)?();
    dialect.name = name?.value;
    read_text(&root, &mut dialect);
    read_tool(&root, &mut dialect);
    read_arcs(&root, &mut dialect);
    read_cycles(&root, &mut dialect);
    read_subprograms(&root, &mut dialect);
    read_dwell(&root, &mut dialect);
    read_coolant(&root, &mut dialect);
    variables::read(&root, &mut dialect);
    read_words(&root, &mut dialect);
    check(&root, &dialect);
    root.finish();
    Some(dialect)
}

/// Overwrites a value where the file gives one.
fn set<T>(value: &mut T, given: Option<T>) {
    if let Some(given) = given {
        *value = given;
    }
}

fn read_text(root: &Table<'_>, dialect: &mut Dialect) {
    let Some(table) = root.table("text") else { return };
    let comments = [("parentheses", Comments::Parentheses), ("semicolon", Comments::Semicolon)];
    set(&mut dialect.comments, table.choice("comments", &comments));
    set(&mut dialect.equals, table.flag("equals"));
    set(&mut dialect.tape, table.flag("tape"));
    set(&mut dialect.program_mark, sign(&table, "program_mark"));
    set(&mut dialect.block_step, table.whole("block_step", &STEP));
    if table.has("program_number") {
        dialect.program_number = table.whole("program_number", &PROGRAM);
    }
    let decimals = |key| table.whole(key, &DECIMALS).map(|n| n as u8);
    set(&mut dialect.length_decimals, decimals("length_decimals"));
    set(&mut dialect.angle_decimals, decimals("angle_decimals"));
    let step_mm = table.number("step_mm", &STEP_MM);
    let rules = [
        ("whole", PointRule::Whole),
        ("whole-warned", PointRule::WholeWarned),
        ("steps", PointRule::Steps(step_mm.unwrap_or(0.001))),
    ];
    set(&mut dialect.point, table.choice("no_point", &rules));
    table.finish();
}

/// A sign or a letter that stands alone.
fn sign(table: &Table<'_>, key: &'static str) -> Option<char> {
    let text = table.text(key)?;
    let mut signs = text.value.chars();
    match (signs.next(), signs.next()) {
        (Some(sign), None) if sign.is_ascii_graphic() => Some(sign.to_ascii_uppercase()),
        _ => {
            let message = format!("`{key}` is \"{}\"", text.value);
            table.report(text.span, message, "one letter or sign", "give one, such as \"O\"");
            None
        }
    }
}

/// A letter of a word.
fn letter(table: &Table<'_>, key: &'static str) -> Option<char> {
    let found = sign(table, key)?;
    if !found.is_ascii_uppercase() {
        let message = format!("`{key}` is \"{found}\"");
        table.report(
            table.span_of(key),
            message,
            "a letter from A to Z",
            "give one, such as \"H\"",
        );
        return None;
    }
    Some(found)
}

fn read_tool(root: &Table<'_>, dialect: &mut Dialect) {
    if let Some(table) = root.table("tool") {
        let calls = [("change-word", ToolCall::ByChangeWord), ("tool-word", ToolCall::ByTool)];
        set(&mut dialect.tool_call, table.choice("changes_at", &calls));
        if table.text("length_letter").is_some_and(|t| t.value == "none") {
            dialect.length_letter = None;
        } else if table.has("length_letter") {
            dialect.length_letter = letter(&table, "length_letter");
        }
        table.finish();
    }
    if let Some(table) = root.table("tip_control") {
        let words = [("always", Words::Tip), ("switched", Words::Axes)];
        set(&mut dialect.words, table.choice("rule", &words));
        table.finish();
    }
}

fn read_arcs(root: &Table<'_>, dialect: &mut Dialect) {
    let Some(table) = root.table("arcs") else { return };
    let written = [
        ("centre", ArcWords::Centre),
        ("radius", ArcWords::Radius),
        ("straight", ArcWords::Straight),
    ];
    set(&mut dialect.arcs, table.choice("written_by", &written));
    let centres = [("start", Centre::FromStart), ("program-zero", Centre::AsWords)];
    set(&mut dialect.centre, table.choice("centre_from", &centres));
    set(&mut dialect.arc_tolerance_mm, table.number("tolerance_mm", &ARC_MM));
    table.finish();
}

fn read_cycles(root: &Table<'_>, dialect: &mut Dialect) {
    let Some(table) = root.table("cycles") else { return };
    let runs = [("every-place", CycleRun::EveryPlace), ("called", CycleRun::Called)];
    set(&mut dialect.cycle_run, table.choice("run_at", &runs));
    let depths = [("places", CycleDepth::Places), ("below-start", CycleDepth::BelowStart)];
    set(&mut dialect.cycle_depth, table.choice("depth", &depths));
    set(&mut dialect.peck_clearance_mm, table.number("peck_clearance_mm", &range::CLEARANCE));
    set(&mut dialect.chip_break_mm, table.number("chip_break_mm", &range::CLEARANCE));
    set(&mut dialect.cycle_dwell, table.choice("dwell", &DWELLS));
    table.finish();
}

fn read_subprograms(root: &Table<'_>, dialect: &mut Dialect) {
    let Some(table) = root.table("subprograms") else { return };
    if table.has("repeat_letter") {
        set(&mut dialect.repeat, letter(&table, "repeat_letter"));
    }
    set(&mut dialect.nesting, table.whole("nesting", &NESTING).map(|n| n as usize));
    table.finish();
}

fn read_dwell(root: &Table<'_>, dialect: &mut Dialect) {
    let Some(table) = root.table("dwell") else { return };
    let mut letters = Vec::new();
    for (name, unit) in table.named_texts() {
        let unit = table.one_of(&name.value, &unit, &DWELLS);
        match (name.value.as_bytes(), unit) {
            ([sign], Some(unit)) if sign.is_ascii_alphabetic() => {
                letters.push((char::from(sign.to_ascii_uppercase()), unit));
            }
            (_, None) => {}
            _ => {
                let message = format!("`{}` is no letter", name.value);
                table.report(name.span, message, "a letter of a dwell", "write X = \"seconds\"");
            }
        }
    }
    if letters.is_empty() {
        table.missing("X", "a letter and its unit", "add `X = \"seconds\"`");
    }
    dialect.dwell = letters;
}

fn read_coolant(root: &Table<'_>, dialect: &mut Dialect) {
    let Some(table) = root.table("coolant") else { return };
    let word = |key| table.whole(key, &M_WORD).map(|n| n as u16);
    let words = &mut dialect.coolant;
    set(&mut words.flood, word("flood"));
    set(&mut words.mist, word("mist"));
    set(&mut words.air, word("air"));
    set(&mut words.through, word("through"));
    set(&mut words.off, word("off"));
    for number in [words.flood, words.mist, words.air, words.through, words.off] {
        if !dialect.m.iter().any(|(m, _)| *m == number) {
            dialect.m.push((number, MCode::Auxiliary));
        }
    }
    table.finish();
}

fn read_words(root: &Table<'_>, dialect: &mut Dialect) {
    if let Some(table) = root.table("g") {
        for (word, meant) in table.named_texts() {
            let code = code(&table, &word, 'G', 10.0, 9999);
            let meaning = table.one_of(&word.value, &meant, &meaning::G);
            if let (Some(code), Some(meaning)) = (code, meaning) {
                replace(&mut dialect.g, code, meaning);
            }
        }
    }
    if let Some(table) = root.table("m") {
        for (word, meant) in table.named_texts() {
            let code = code(&table, &word, 'M', 1.0, 999);
            let meaning = table.one_of(&word.value, &meant, &meaning::M);
            if let (Some(code), Some(meaning)) = (code, meaning) {
                replace(&mut dialect.m, code, meaning);
            }
        }
    }
    if let Some(table) = root.table("meaning") {
        for (word, text) in table.named_texts() {
            let Some(code) = code(&table, &word, 'M', 1.0, 999) else { continue };
            if !dialect.m.iter().any(|(m, _)| *m == code) {
                dialect.m.push((code, MCode::Auxiliary));
            }
            dialect.meanings.push((code, text.value));
        }
    }
}

/// A word of the file replaces what the word meant before; it stands first for its meaning.
fn replace<T>(list: &mut Vec<(u16, T)>, code: u16, meaning: Option<T>) {
    list.retain(|(known, _)| *known != code);
    if let Some(meaning) = meaning {
        list.insert(0, (code, meaning));
    }
}

/// The number of a word: `G43.4` in tenths is 434.
fn code(table: &Table<'_>, word: &Given<String>, kind: char, scale: f64, most: u16) -> Option<u16> {
    let digits = word.value.strip_prefix([kind, kind.to_ascii_lowercase()]);
    let number = digits.and_then(|d| d.parse::<f64>().ok()).map(|n| n * scale);
    let whole = number.filter(|n| (n - n.round()).abs() < 1e-6);
    match whole.filter(|n| (0.0..=f64::from(most)).contains(n)) {
        Some(number) => Some(number.round() as u16),
        None => {
            let message = format!("`{}` is no {kind} word", word.value);
            let expected = format!("{kind} and a number: {kind}54");
            let remedy = "correct it; a word with a point stands in quotes: \"G43.4\"";
            table.report(word.span.clone(), message, expected, remedy);
            None
        }
    }
}

/// What every program needs.
fn check(root: &Table<'_>, dialect: &Dialect) {
    let at = |key: &'static str| -> Range<usize> { root.span_of(key) };
    for (code, what) in [(GCode::Rapid, "rapid"), (GCode::Line, "line")] {
        if dialect.g_for(code).is_none() {
            let message = format!("no G word means \"{what}\"");
            let remedy = format!("give one, such as G0 or G1 = \"{what}\"");
            root.report(at("g"), message, "a word for it", remedy);
        }
    }
    if dialect.m_for(MCode::End).is_none() {
        root.report(at("m"), "no M word means \"end\"", "a word for it", "give one: M30 = \"end\"");
    }
    if dialect.tool_call == ToolCall::ByChangeWord && dialect.m_for(MCode::ToolChange).is_none() {
        let remedy = "give one: M6 = \"tool-change\", or changes_at = \"tool-word\" under [tool]";
        root.report(at("m"), "no M word means \"tool-change\"", "a word for it", remedy);
    }
    if dialect.words == Words::Axes
        && (dialect.tip_word(true).is_none() != dialect.tip_word(false).is_none())
    {
        let message = "tip control can be switched on but not off, or off but not on";
        let remedy = "give \"tip-control-on\" and \"tip-control-off\" to a word each";
        root.report(at("tip_control"), message, "a word for both", remedy);
    }
}
