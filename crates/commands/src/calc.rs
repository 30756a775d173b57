//! `calc NAME`: one formula at the machine, each a door to a function of the engine.

pub mod chip;
pub mod contact;
pub mod cost;
pub mod cusp;
pub mod deflection;
pub mod feed;
pub mod force;
pub mod life;
pub mod lobes;
pub mod moving;
pub mod speed;
pub mod stepover;

use crate::document::Document;
use crate::text::{Align, Table, significant};
use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};

/// Digits that the text shows.
const DIGITS: usize = 7;

/// A named value of a calculation.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Key in the document, with its unit.
    pub key: &'static str,
    /// Words for people.
    pub label: &'static str,
    /// The value.
    pub value: Value,
    /// Unit as people write it; may be empty.
    pub unit: &'static str,
}

/// What an entry holds.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(untagged)]
pub enum Value {
    /// A number; `None` where the input was left out or the quantity has no value.
    Number(Option<f64>),
    /// A word.
    Word(String),
    /// Yes or no.
    Flag(bool),
    /// A sentence; the text shows it below the table.
    Sentence(String),
    /// Sentences; the text shows one a line below the table.
    Words(Vec<String>),
    /// Values that belong together; the text shows them under their common name.
    #[serde(serialize_with = "as_map")]
    Group(Vec<Entry>),
    /// Rows of like values; the text shows them as a table of its own.
    #[serde(serialize_with = "as_rows")]
    List(Vec<Vec<Entry>>),
}

/// A row of a list, as a document.
struct Row<'a>(&'a [Entry]);

impl Serialize for Row<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        as_map(self.0, serializer)
    }
}

fn as_rows<S: Serializer>(rows: &[Vec<Entry>], serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_seq(rows.iter().map(|row| Row(row)))
}

/// What went in and what came out.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Calculation {
    /// What went in.
    #[serde(serialize_with = "as_map")]
    pub inputs: Vec<Entry>,
    /// What came out.
    #[serde(serialize_with = "as_map")]
    pub results: Vec<Entry>,
}

fn as_map<S: Serializer>(entries: &[Entry], serializer: S) -> Result<S::Ok, S::Error> {
    let mut map = serializer.serialize_map(Some(entries.len()))?;
    for entry in entries {
        map.serialize_entry(entry.key, &entry.value)?;
    }
    map.end()
}

fn number(key: &'static str, label: &'static str, value: f64, unit: &'static str) -> Entry {
    Entry { key, label, value: Value::Number(Some(value)), unit }
}

fn optional(
    key: &'static str,
    label: &'static str,
    value: Option<f64>,
    unit: &'static str,
) -> Entry {
    Entry { key, label, value: Value::Number(value), unit }
}

fn flag(key: &'static str, label: &'static str, value: bool) -> Entry {
    Entry { key, label, value: Value::Flag(value), unit: "" }
}

fn sentence(key: &'static str, label: &'static str, text: impl Into<String>) -> Entry {
    Entry { key, label, value: Value::Sentence(text.into()), unit: "" }
}

fn words(key: &'static str, label: &'static str, sentences: Vec<String>) -> Entry {
    Entry { key, label, value: Value::Words(sentences), unit: "" }
}

impl Document for Calculation {
    fn text(&self) -> String {
        let mut table = Table::plain(vec![Align::Left, Align::Right, Align::Left]);
        let mut below = String::new();
        rows(&self.results, "", &mut table, &mut below);
        table.text(0) + &below
    }
}

/// Rows of like values under their names and units.
fn listed(rows: &[Vec<Entry>]) -> String {
    let Some(first) = rows.first() else { return String::new() };
    let mut table = Table::plain(vec![Align::Right; first.len()]);
    let head = |e: &Entry| {
        if e.unit.is_empty() { e.label.to_owned() } else { format!("{}/({})", e.label, e.unit) }
    };
    table.row(first.iter().map(head));
    for row in rows {
        table.row(row.iter().map(|e| match &e.value {
            Value::Number(Some(number)) => significant(*number, DIGITS),
            Value::Word(word) => word.clone(),
            _ => "–".to_owned(),
        }));
    }
    table.text(0)
}

/// One row for each value; sentences go `below`.
fn rows(entries: &[Entry], before: &str, table: &mut Table, below: &mut String) {
    for entry in entries {
        let value = match &entry.value {
            Value::Number(Some(number)) => significant(*number, DIGITS),
            Value::Number(None) => "–".to_owned(),
            Value::Word(word) => word.clone(),
            Value::Flag(flag) => if *flag { "yes" } else { "no" }.to_owned(),
            Value::Sentence(sentence) => {
                below.push_str(&format!("{}: {sentence}\n", entry.label));
                continue;
            }
            Value::Words(sentences) => {
                below.extend(sentences.iter().map(|s| format!("{}: {s}\n", entry.label)));
                continue;
            }
            Value::List(list) => {
                below.insert_str(0, &listed(list));
                continue;
            }
            Value::Group(members) => {
                rows(members, &format!("{before}{} ", entry.label), table, below);
                continue;
            }
        };
        table.row([format!("{before}{}", entry.label), value, entry.unit.to_owned()]);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_document_keeps_the_order_and_every_digit() {
        let calculation = Calculation {
            inputs: vec![optional("surface_radius_mm", "surface radius", None, "mm")],
            results: vec![number("cusp_um", "cusp", 1.0 / 3.0, "µm"), number("b", "b", 2.0, "")],
        };
        let json = calculation.json().unwrap();
        assert!(json.contains("\"surface_radius_mm\": null"), "{json}");
        assert!(json.find("0.3333333333333333").unwrap() < json.find("\"b\"").unwrap(), "{json}");
        assert_eq!(calculation.text(), "cusp  0.3333333  µm\nb             2\n");
    }
}
