//! `[part]` and `[setup]`.

use super::companion::Companions;
use super::range;
use crate::model::part::{FileRef, PartRef, Setup, Solid, Stock};
use crate::text::{Given, Table};
use ::part::LengthUnit;
use geom::Vec3;

const UNITS: [(&str, LengthUnit); 2] = [("mm", LengthUnit::Mm), ("inch", LengthUnit::Inch)];

/// The words for the shape of the stock.
#[derive(Clone, Copy)]
enum Shape {
    Block,
    Cylinder,
    NearNet,
    File,
}

const SHAPES: [(&str, Shape); 4] = [
    ("block", Shape::Block),
    ("cylinder", Shape::Cylinder),
    ("near-net", Shape::NearNet),
    ("file", Shape::File),
];

pub(super) fn read(root: &Table<'_>, companions: &mut Companions<'_>) -> Option<PartRef> {
    let Some(table) = root.table("part") else {
        if !root.has("part") {
            root.missing("part", "a table [part] with file and material", "add [part]");
        }
        return None;
    };
    let file = table.need_text("file", "part.step").map(|f| file_ref(&table, f));
    let unit = table.choice("unit", &UNITS);
    let solid = table.text("solid");
    let solid = solid.map(|s| Solid { place: table.place_of(&s.span), name: s.value });
    let material = table.need_text("material", "en-aw-7075-t651");
    let material = material.and_then(|m| companions.material(&table, &m));
    let stock = table.table("stock").map(read_stock);
    table.finish();
    let stock = match stock {
        Some(read) => Some(read?),
        None => None,
    };
    Some(PartRef { file: file?, unit, solid, material: material?, stock })
}

pub(super) fn read_setup(root: &Table<'_>) -> Option<Setup> {
    let Some(table) = root.table("setup") else { return Some(Setup::default()) };
    let origin = table.numbers::<3>("origin_mm", &range::COORDINATE);
    let rotation = table.numbers::<3>("rotation_deg", &range::TURN);
    let fixture = table.texts("fixture").into_iter().map(|f| file_ref(&table, f)).collect();
    table.finish();
    Some(Setup {
        origin_mm: origin.map_or(Vec3::ZERO, Vec3::from_array),
        rotation_rad: rotation.map_or(Vec3::ZERO, |r| Vec3::from_array(r.map(f64::to_radians))),
        fixture,
    })
}

fn file_ref(table: &Table<'_>, given: Given<String>) -> FileRef {
    FileRef { place: table.place_of(&given.span), path: given.value }
}

fn read_stock(table: Table<'_>) -> Option<Stock> {
    let shape = table.need_choice("shape", &SHAPES);
    let stock = match shape? {
        Shape::Block => margin(&table).map(|margin_mm| Stock::Block { margin_mm }),
        Shape::Cylinder => margin(&table).map(|margin_mm| Stock::Cylinder { margin_mm }),
        Shape::NearNet => table
            .need_number("layer_mm", &range::ALLOWANCE, "0.5")
            .map(|layer_mm| Stock::NearNet { layer_mm }),
        Shape::File => {
            table.need_text("file", "stock.stl").map(|f| Stock::File(file_ref(&table, f)))
        }
    };
    table.finish();
    stock
}

fn margin(table: &Table<'_>) -> Option<Vec3> {
    if !table.has("margin_mm") {
        return Some(Vec3::ZERO);
    }
    table.numbers::<3>("margin_mm", &range::MARGIN).map(Vec3::from_array)
}
