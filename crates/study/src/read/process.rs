//! `[[process]]` and the names that its operations use.

use super::operation;
use crate::model::process::Process;
use crate::text::{Given, Table, listed, nearest};

/// Names that operations may use, in the order of the things they stand for.
pub(super) struct Names {
    pub(super) features: Vec<String>,
    /// `None` where not all are known because a companion could not be read.
    pub(super) cutters: Option<Vec<String>>,
}

/// Index of a name; where there is none, the fault is noted with the one that is most like it.
pub(super) fn resolve(
    table: &Table<'_>,
    what: &str,
    given: &Given<String>,
    names: &[String],
) -> Option<usize> {
    if let Some(index) = names.iter().position(|n| *n == given.value) {
        return Some(index);
    }
    let remedy = match nearest(&given.value, names.iter().map(String::as_str)) {
        Some(near) => format!("did you mean \"{near}\"?"),
        None => format!("name one of these or add a [[{what}]]"),
    };
    let message = format!("no {what} is called \"{}\"", given.value);
    let expected = match names {
        [] => format!("a [[{what}]] of that name"),
        names => listed(names.iter().map(String::as_str)),
    };
    table.report(given.span.clone(), message, expected, remedy);
    None
}

pub(super) fn read_all(root: &Table<'_>, names: &Names) -> Option<Vec<Process>> {
    let mut seen: Vec<String> = Vec::new();
    let mut processes = Vec::new();
    for mut table in root.tables("process") {
        let name = table.need_text("name", "today");
        if let Some(name) = &name {
            table.call(&name.value);
            table.unique("process", name, &mut seen);
        }
        processes.push(read(table, name, names));
    }
    processes.into_iter().collect()
}

fn read(table: Table<'_>, name: Option<Given<String>>, names: &Names) -> Option<Process> {
    let tables = table.tables("operation");
    let place = table.place();
    if tables.is_empty() {
        table.missing("operation", "at least one operation", "add [[process.operation]] below it");
    }
    let operations: Vec<_> = tables.into_iter().map(|t| operation::read(t, names)).collect();
    table.finish();
    let operations = operations.into_iter().collect::<Option<Vec<_>>>()?;
    Some(Process { name: name?.value, operations, place })
}
