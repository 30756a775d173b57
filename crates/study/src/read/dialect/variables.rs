//! Which numbers variables have, and how a control counts with them.

use super::set;
use crate::text::{Bound, Table};
use ::dialect::{AngleRange, Dialect, Variables};

const NUMBER: Bound = Bound::between("", 1.0, 999_999.0, "give the number of a variable");
const WITHIN: Bound = Bound::between("", 0.0, 1e-3, "0: every digit counts");

/// The table of variables, where the file has one.
pub(super) fn read(root: &Table<'_>, dialect: &mut Dialect) {
    let Some(table) = root.table("variables") else { return };
    match table.flag("followed") {
        Some(false) => dialect.variables = None,
        Some(true) if dialect.variables.is_none() => {
            dialect.variables = Some(Variables::default());
        }
        _ => {}
    }
    let mut rules = dialect.variables.clone().unwrap_or_default();
    set(&mut rules.common, range(&table, "common"));
    set(&mut rules.kept, range(&table, "kept"));
    set(&mut rules.system_from, table.whole("system_from", &NUMBER));
    if table.has("alarm") {
        rules.alarm = table.whole("alarm", &NUMBER);
    }
    let angles = [("full", AngleRange::Full), ("halves", AngleRange::Halves)];
    set(&mut rules.angles, table.choice("angles", &angles));
    set(&mut rules.equal_within, table.number("equal_within", &WITHIN));
    if dialect.variables.is_some() {
        dialect.variables = Some(rules);
    }
    table.finish();
}

/// First and last number of a kind of variables.
fn range(table: &Table<'_>, key: &'static str) -> Option<Vec<[u32; 2]>> {
    let [first, last] = table.numbers::<2>(key, &NUMBER)?;
    if first > last || first.fract() != 0.0 || last.fract() != 0.0 {
        let message = format!("`{key}` is from {first} to {last}");
        let expected = "two whole numbers, the smaller one first";
        table.report(table.span_of(key), message, expected, "write it as [100, 199]");
        return None;
    }
    Some(vec![[first as u32, last as u32]])
}
