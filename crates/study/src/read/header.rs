//! `[study]`: title, numbers for the cost, confidence, machine.

use super::companion::Companions;
use super::range;
use crate::text::Table;
use ::dialect::Dialect;
use ::machine::Machine;

/// What `[study]` says.
pub(super) struct Header {
    pub(super) name: String,
    pub(super) parts_per_year: Option<f64>,
    pub(super) lot_size: f64,
    pub(super) setup_s: f64,
    pub(super) confidence: f64,
    pub(super) machine: Machine,
    pub(super) dialect: Dialect,
}

pub(super) fn read(root: &Table<'_>, companions: &mut Companions<'_>) -> Option<Header> {
    let Some(table) = root.table("study") else {
        if !root.has("study") {
            root.missing(
                "study",
                "a table [study] with name and machine",
                "add [study] at the top",
            );
        }
        return None;
    };
    let name = table.need_text("name", "Mast coupling: crown");
    let parts_per_year = table.number("parts_per_year", &range::PARTS);
    let lot_size = table.number_or("lot_size", &range::PARTS, 1.0);
    let setup_min = table.number_or("setup_min", &range::MINUTES, 0.0);
    let confidence = table.number_or("confidence", &range::CONFIDENCE, 0.9);
    let named = table.need_text("machine", "machine.toml");
    let machine = named.and_then(|named| companions.machine(&table, &named));
    table.finish();
    let (machine, dialect) = machine?;
    Some(Header {
        name: name?.value,
        parts_per_year,
        lot_size: lot_size?,
        setup_s: setup_min? * 60.0,
        confidence: confidence?,
        machine,
        dialect,
    })
}
