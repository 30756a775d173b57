//! A file of one material: every value with its source, or the reason why there is none.

mod force;
mod life;
mod origin;

use super::{range, source_of};
use crate::text::{Bound, Given, Rejected, Sink, Source, Table, parse};
use crate::words::{EDGE_ENDS, HARDNESS_SCALES, HAZARDS, ISO_GROUPS};
use ::material::{
    Caution, ChipHabits, EdgeEnds, Hardness, Interval, Known, Material, Missing, Quantity, Sourced,
};
use origin::{origin_of, sourced};

/// Reads a file of one material.
///
/// # Errors
/// Every fault that could be found, each with its place.
pub fn material_file(bytes: &[u8], display_name: &str) -> Result<Material, Rejected> {
    read(Sink::new(0, source_of(bytes, display_name)?)).0
}

/// The material of a file, or its faults; and the file.
pub(super) fn read(sink: Sink) -> (Result<Material, Rejected>, Source) {
    let material = parse(&sink).and_then(|document| {
        let root = Table::root(&document, "the material file", &sink);
        let material = read_root(&root);
        root.finish();
        material
    });
    let (source, diagnostics) = sink.into_parts();
    match material {
        Some(material) if diagnostics.is_empty() => (Ok(material), source),
        _ => (Err(Rejected { diagnostics }), source),
    }
}

fn read_root(root: &Table<'_>) -> Option<Material> {
    let id = root.need_text("id", "en-aw-7075-t651");
    let name = root.need_text("name", "Aluminium EN AW-7075 T651");
    let aliases = root.texts("aliases").into_iter().map(|a| a.value).collect();
    let iso_group = root.need_choice("group", &ISO_GROUPS);
    let state = root.need_text("state", "solution treated, stretched, aged");
    let missing = Absent::of(root);
    let density = need_table(root, "density");
    let density = density.and_then(|t| value(t, "kg_m3", &range::DENSITY, Quantity::Property));
    let hardness = missing.known(root, "hardness", read_hardness);
    let force = force::read(root, &missing);
    let chip = need_table(root, "chip").and_then(read_chip);
    let coated = missing.known(root, "coated_speed", read_speed);
    let bright = missing.known(root, "bright_speed", read_speed);
    let life = missing.known_list(root, "life", life::read);
    let edge_ends = need_table(root, "edge_ends").and_then(read_edge_ends);
    let cautions: Vec<_> = root.tables("caution").into_iter().map(read_caution).collect();
    missing.finish();
    Some(Material {
        id: id?.value,
        name: name?.value,
        aliases,
        iso_group: iso_group?,
        state: state?.value,
        density_kg_m3: density?,
        hardness: hardness?,
        force: force?,
        chip: chip?,
        coated_speed_m_min: coated?,
        bright_speed_m_min: bright?,
        life: life?,
        edge_ends: edge_ends?,
        cautions: cautions.into_iter().collect::<Option<_>>()?,
    })
}

fn need_table<'a>(root: &Table<'a>, key: &'static str) -> Option<Table<'a>> {
    if !root.has(key) {
        root.missing(key, "a table with value, scatter and source", format!("add [{key}]"));
    }
    root.table(key)
}

/// One number with its origin.
fn value(
    table: Table<'_>,
    key: &'static str,
    bound: &Bound,
    kind: Quantity,
) -> Option<Sourced<f64>> {
    let number = table.need_number(key, bound, "1.0");
    let read = sourced(&table, number, kind);
    table.finish();
    read
}

/// A range with its origin.
fn span(
    table: Table<'_>,
    key: &'static str,
    bound: &Bound,
    kind: Quantity,
) -> Option<Sourced<Interval>> {
    let range = need_interval(&table, key, bound);
    let read = sourced(&table, range, kind);
    table.finish();
    read
}

fn need_interval(table: &Table<'_>, key: &'static str, bound: &Bound) -> Option<Interval> {
    if !table.has(key) {
        table.missing(key, "a list of 2 numbers", format!("add `{key} = [low, high]`"));
    }
    interval(table, key, bound)
}

/// A range; its ends stand in order.
fn interval(table: &Table<'_>, key: &'static str, bound: &Bound) -> Option<Interval> {
    let [low, high] = table.numbers::<2>(key, bound)?;
    if low > high {
        let message = format!("`{key}` goes from {low} down to {high}");
        table.report(table.span_of(key), message, "the smaller number first", "swap the two");
        return None;
    }
    Some(Interval::new(low, high))
}

fn read_speed(table: Table<'_>) -> Option<Sourced<Interval>> {
    span(table, "m_min", &range::VC_M_MIN, Quantity::Habit)
}

fn read_hardness(table: Table<'_>) -> Option<Sourced<Hardness>> {
    let scale = table.need_choice("scale", &HARDNESS_SCALES);
    let range = need_interval(&table, "range", &range::HARDNESS);
    let hardness = scale.zip(range).map(|(scale, range)| Hardness { scale, range });
    let read = sourced(&table, hardness, Quantity::Property);
    table.finish();
    read
}

fn read_chip(table: Table<'_>) -> Option<ChipHabits> {
    let part = |key| need_table(&table, key);
    let habit = Quantity::Habit;
    let bulk = part("bulk_ratio").and_then(|t| span(t, "range", &range::BULK, habit));
    let usual = part("usual_thickness").and_then(|t| span(t, "mm", &range::CHIP, habit));
    let least =
        part("least_over_edge_radius").and_then(|t| span(t, "range", &range::EDGE_SHARE, habit));
    let edge = |key| part(key).and_then(|t| value(t, "mm", &range::EDGE_RADIUS, habit));
    let (coated, bright) = (edge("coated_edge_radius"), edge("bright_edge_radius"));
    table.finish();
    Some(ChipHabits {
        bulk_ratio: bulk?,
        usual_thickness_mm: usual?,
        least_over_edge_radius: least?,
        coated_edge_radius_mm: coated?,
        bright_edge_radius_mm: bright?,
    })
}

fn read_edge_ends(table: Table<'_>) -> Option<Sourced<EdgeEnds>> {
    let given = table.texts("ends");
    if given.is_empty() {
        table.missing("ends", "what usually ends an edge", "add `ends = [\"flank wear\"]`");
    }
    let ends: Option<Vec<_>> = given.iter().map(|g| table.one_of("ends", g, &EDGE_ENDS)).collect();
    let built_up_below_m_min = table.number("built_up_below_m_min", &range::VC_M_MIN);
    let ends = ends.filter(|e| !e.is_empty());
    let ends = ends.map(|ends| EdgeEnds { ends, built_up_below_m_min });
    let read = sourced(&table, ends, Quantity::Habit);
    table.finish();
    read
}

fn read_caution(table: Table<'_>) -> Option<Caution> {
    let hazard = table.need_choice("hazard", &HAZARDS);
    let text = table.need_text("text", "keep sand at hand, no water");
    let source = origin_of(&table);
    table.finish();
    Some(Caution { hazard: hazard?, text: text?.value, source: source? })
}

/// `[missing]`: what the file does not give, and why.
struct Absent<'a> {
    table: Option<Table<'a>>,
}

impl<'a> Absent<'a> {
    fn of(root: &Table<'a>) -> Self {
        Self { table: root.table("missing") }
    }

    fn reason(&self, key: &'static str) -> Option<Given<String>> {
        self.table.as_ref()?.text(key)
    }

    /// What a table holds, or the reason why there is none; one of the two has to be there.
    fn known<T>(
        &self,
        root: &Table<'a>,
        key: &'static str,
        read: impl FnOnce(Table<'a>) -> Option<T>,
    ) -> Option<Known<T>> {
        if !self.given(root, key) {
            return self.reason(key).map(|g| Err(Missing::because(g.value)));
        }
        read(root.table(key)?).map(Ok)
    }

    /// What a list of tables holds, or the reason why there is none.
    fn known_list<T>(
        &self,
        root: &Table<'a>,
        key: &'static str,
        read: impl Fn(Table<'a>) -> Option<T>,
    ) -> Option<Known<Vec<T>>> {
        if !self.given(root, key) {
            return self.reason(key).map(|g| Err(Missing::because(g.value)));
        }
        let all: Vec<Option<T>> = root.tables(key).into_iter().map(read).collect();
        if all.is_empty() {
            let remedy = format!("fill it, or give the reason as `{key}` under [missing]");
            root.report(root.span_of(key), format!("`{key}` is empty"), "entries", remedy);
        }
        all.into_iter().collect::<Option<Vec<T>>>().filter(|a| !a.is_empty()).map(Ok)
    }

    /// Whether the key is given; notes where neither it nor a reason is there, or both are.
    fn given(&self, root: &Table<'a>, key: &'static str) -> bool {
        let given = root.has(key);
        let reason = self.reason(key);
        if given && let Some(reason) = &reason {
            let message = format!("`{key}` is given, and called missing as well");
            root.report(reason.span.clone(), message, "one of the two", "take out one of them");
        }
        let said = self.table.as_ref().is_some_and(|t| t.has(key));
        if !given && !said {
            let remedy = format!("add it, or say why under [missing]: {key} = \"not published\"");
            let place = self.table.as_ref().unwrap_or(root);
            let message = format!("{} has no `{key}`", root.what());
            let expected = "the values, or the reason why there are none";
            root.report(place.span(), message, expected, remedy);
        }
        given
    }

    fn finish(self) {
        if let Some(table) = self.table {
            table.finish();
        }
    }
}
