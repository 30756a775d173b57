//! Where a value comes from and how far it scatters: the keys that every table of values has.

use super::super::range;
use crate::literature;
use crate::text::Table;
use crate::words::CERTAINTIES;
use ::material::{Quantity, Source, Sourced};

/// A value with the origin that its table states.
pub(super) fn sourced<T>(
    table: &Table<'_>,
    value: Option<T>,
    kind: Quantity,
) -> Option<Sourced<T>> {
    let scatter = table.need_number("scatter", &range::SCATTER, "0.25");
    let source = origin_of(table);
    let note = table.text("note").map_or_else(String::new, |n| n.value);
    let (value, scatter, source) = (value?, scatter?, source?);
    let least = source.certainty.least_scatter(kind);
    if scatter < least {
        let words = source.certainty.words();
        table.report(
            table.span_of("scatter"),
            format!("`scatter` is {scatter} for a value that is {words}"),
            format!("a scatter of {least} or more"),
            "widen the scatter, or name the publication with its place",
        );
        return None;
    }
    Some(Sourced { value, scatter, source, note })
}

/// The source that a table states: `certainty`, `source` and `place`. The source is a key of the
/// literature that comes with the program, or a citation in full.
pub(super) fn origin_of(table: &Table<'_>) -> Option<Source> {
    let certainty = table.need_choice("certainty", &CERTAINTIES)?;
    let source = table.text("source");
    let place = table.text("place").map_or_else(String::new, |p| p.value);
    if certainty == ::material::Certainty::Published && (source.is_none() || place.is_empty()) {
        let key = if source.is_none() { "source" } else { "place" };
        let expected = "a publication and the table, equation or page in it";
        table.missing(key, expected, format!("add `{key}`, or lower the certainty"));
        return None;
    }
    let citation = source.map_or_else(String::new, |s| match literature::citation(&s.value) {
        Some(citation) => citation.to_owned(),
        None => s.value,
    });
    Some(Source { certainty, citation, place })
}
