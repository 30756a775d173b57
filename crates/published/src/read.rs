//! Records from the text of a file: strict, so that a slip in a key is a fault and not a silence.

use crate::fault::Fault;
use crate::inputs::{Inputs, Quantity, unit_of};
use crate::printed::Printed;
use crate::record::{Allowed, Check, SEES, Seen};
use toml::{Table, Value};

/// Keys of a record.
const KEYS: [&str; 17] = [
    "id",
    "group",
    "quantity",
    "source",
    "place",
    "seen",
    "inputs",
    "indifferent",
    "expected",
    "unit",
    "tolerance",
    "because",
    "sees",
    "no_better",
    "domain",
    "case",
    "field",
];
/// Keys of a case.
const CASE_KEYS: [&str; 3] = ["inputs", "expected", "place"];

/// The checks of one file.
///
/// # Errors
/// Every fault that was found.
pub fn records(file: &str, text: &str) -> Result<Vec<Check>, Vec<Fault>> {
    let root: Table = text.parse().map_err(|e| vec![Fault::new(file, e)])?;
    let (mut checks, mut faults) = (Vec::new(), Vec::new());
    if let Some(key) = root.keys().find(|k| *k != "field" && *k != "record") {
        faults.push(Fault::new(file, format!("unknown key `{key}`, expected `field`, `record`")));
    }
    let field = root.get("field").and_then(Value::as_str).unwrap_or_default();
    if field.is_empty() {
        faults.push(Fault::new(file, "has no `field`: the heading of the register"));
    }
    let tables: Vec<&Table> = match root.get("record") {
        Some(Value::Array(list)) => list.iter().filter_map(Value::as_table).collect(),
        _ => Vec::new(),
    };
    if tables.is_empty() {
        faults.push(Fault::new(file, "holds no [[record]]"));
    }
    for (i, table) in tables.into_iter().enumerate() {
        let id = table.get("id").and_then(Value::as_str).unwrap_or_default();
        let place = format!("{file}, record {} `{id}`", i + 1);
        match record(field, table) {
            Ok(read) => checks.extend(read),
            Err(found) => faults.extend(found.into_iter().map(|what| Fault::new(&place, what))),
        }
    }
    if faults.is_empty() { Ok(checks) } else { Err(faults) }
}

/// Collects faults of one record while its keys are read.
struct Reader<'a> {
    table: &'a Table,
    faults: Vec<String>,
}

impl Reader<'_> {
    /// A text that must be there.
    fn text(&mut self, key: &str) -> String {
        let text = self.table.get(key).and_then(Value::as_str).unwrap_or_default().trim();
        if text.is_empty() {
            self.faults.push(format!("`{key}` is missing or no text"));
        }
        text.to_owned()
    }

    fn optional(&mut self, key: &str) -> Option<String> {
        self.table.contains_key(key).then(|| self.text(key))
    }

    fn allowed(&mut self, key: &str) -> Option<Allowed> {
        let read = allowed(self.table.get(key)?);
        if read.is_none() {
            self.faults.push(format!(
                "`{key}` expected one of {{ relative = …}}, {{ absolute = … }}, {{ last_digits = … }}"
            ));
        }
        read
    }
}

fn allowed(value: &Value) -> Option<Allowed> {
    let table = value.as_table().filter(|t| t.len() == 1)?;
    let (kind, size) = table.iter().next()?;
    let size = number(size).filter(|s| *s >= 0.0 && s.is_finite())?;
    match kind.as_str() {
        "relative" => Some(Allowed::Relative(size)),
        "absolute" => Some(Allowed::Absolute(size)),
        "last_digits" => Some(Allowed::LastDigits(size)),
        _ => None,
    }
}

fn number(value: &Value) -> Option<f64> {
    match value {
        Value::Float(x) => Some(*x),
        Value::Integer(i) => Some(*i as f64),
        _ => None,
    }
}

fn record(field: &str, table: &Table) -> Result<Vec<Check>, Vec<String>> {
    let mut reader = Reader { table, faults: unknown(table, &KEYS) };
    let seen_words = reader.text("seen");
    let seen = Seen::ALL.into_iter().find(|s| s.words() == seen_words);
    if seen.is_none() {
        let words = Seen::ALL.map(Seen::words).join(", ");
        reader.faults.push(format!("`seen` is \"{seen_words}\", expected one of {words}"));
    }
    let derived = seen == Some(Seen::Derived);
    let tolerance = reader.allowed("tolerance");
    if tolerance.is_none() && !table.contains_key("tolerance") {
        reader.faults.push("`tolerance` is missing".to_owned());
    }
    let shared = inputs(table.get("inputs"), &Inputs::default(), &mut reader.faults);
    let template = Check {
        id: reader.text("id"),
        case: 0,
        field: reader.optional("field").unwrap_or_else(|| field.to_owned()),
        group: reader.text("group"),
        quantity: reader.text("quantity"),
        source: match reader.optional("source") {
            None if derived => String::new(),
            None => reader.text("source"),
            Some(key) => key,
        },
        place: reader.text("place"),
        seen: seen.unwrap_or(Seen::FromMemory),
        inputs: shared,
        indifferent: words(table.get("indifferent"), &mut reader.faults),
        expected: Printed { text: String::new(), value: 0.0, last_digit: 1.0, digits: 1 },
        unit: table.get("unit").and_then(Value::as_str).unwrap_or_default().to_owned(),
        allowed: tolerance.unwrap_or(Allowed::Relative(0.0)),
        because: reader.text("because"),
        sees: reader.allowed("sees").unwrap_or(Allowed::Relative(SEES)),
        no_better: reader.optional("no_better"),
        domain: reader.text("domain"),
    };
    if !table.contains_key("unit") {
        reader.faults.push("`unit` is missing; \"\" for a ratio".to_owned());
    }
    let checks = cases(&template, table, &mut reader.faults);
    if reader.faults.is_empty() { Ok(checks) } else { Err(reader.faults) }
}

/// One check, or one for each case.
fn cases(template: &Check, table: &Table, faults: &mut Vec<String>) -> Vec<Check> {
    let Some(list) = table.get("case") else {
        return one(template, table, 0, faults).into_iter().collect();
    };
    if table.contains_key("expected") {
        faults.push("both `expected` and `case`: the value belongs into the cases".to_owned());
    }
    let list: Vec<&Table> =
        list.as_array().into_iter().flatten().filter_map(Value::as_table).collect();
    if list.is_empty() {
        faults.push("`case` holds no table".to_owned());
    }
    let mut checks = Vec::new();
    for (i, case) in list.into_iter().enumerate() {
        faults
            .extend(unknown(case, &CASE_KEYS).into_iter().map(|f| format!("case {}: {f}", i + 1)));
        let mut template = template.clone();
        template.inputs = inputs(case.get("inputs"), &template.inputs, faults);
        if let Some(place) = case.get("place").and_then(Value::as_str) {
            template.place = format!("{}; {place}", template.place);
        }
        checks.extend(one(&template, case, i + 1, faults));
    }
    checks
}

fn one(template: &Check, table: &Table, case: usize, faults: &mut Vec<String>) -> Option<Check> {
    let text = table.get("expected").and_then(Value::as_str).unwrap_or_default();
    let Some(expected) = Printed::new(text) else {
        faults.push(format!("`expected` is \"{text}\": a number as printed, in quotes"));
        return None;
    };
    if template.inputs.is_empty() {
        faults.push("has no inputs".to_owned());
    }
    Some(Check { case, expected, ..template.clone() })
}

fn inputs(value: Option<&Value>, shared: &Inputs, faults: &mut Vec<String>) -> Inputs {
    let mut inputs = shared.clone();
    let Some(value) = value else { return inputs };
    let Some(table) = value.as_table() else {
        faults.push("`inputs` is no table".to_owned());
        return inputs;
    };
    for (name, value) in table {
        let quantity = match value {
            Value::Float(x) if x.is_finite() => Quantity::Real(*x),
            Value::Integer(i) => Quantity::Whole(*i),
            Value::String(word) => Quantity::Word(word.clone()),
            _ => {
                faults.push(format!("input `{name}`: expected a number or a word"));
                continue;
            }
        };
        if matches!(quantity, Quantity::Real(_)) && unit_of(name).is_none() {
            faults.push(format!("input `{name}` does not end in a unit (or _ratio, _count)"));
        }
        inputs.insert(name, quantity);
    }
    inputs
}

fn words(value: Option<&Value>, faults: &mut Vec<String>) -> Vec<String> {
    let Some(value) = value else { return Vec::new() };
    let list = value.as_array().map(|a| a.iter().filter_map(Value::as_str).map(str::to_owned));
    list.map(Iterator::collect).unwrap_or_else(|| {
        faults.push("`indifferent` is no list of names".to_owned());
        Vec::new()
    })
}

fn unknown(table: &Table, known: &[&str]) -> Vec<String> {
    let stray = table.keys().filter(|k| !known.contains(&k.as_str()));
    stray.map(|k| format!("unknown key `{k}`; known are {}", known.join(", "))).collect()
}
