//! The page of all rows.

use crate::literature::Literature;
use crate::record::Seen;
use crate::row::Row;
use std::collections::BTreeSet;
use std::fmt::Write;

/// The page in Markdown: rows by field, claim and record, then the sources.
pub fn page(rows: &[Row], literature: &Literature) -> String {
    let mut rows: Vec<&Row> = rows.iter().collect();
    rows.sort();
    let mut page = head(&rows);
    let fields: BTreeSet<&str> = rows.iter().map(|r| r.field.as_str()).collect();
    for field in &fields {
        let of: Vec<&Row> = rows.iter().filter(|r| r.field == *field).copied().collect();
        table(&mut page, field, &of);
    }
    sources(&mut page, &rows, literature);
    page
}

fn head(rows: &[&Row]) -> String {
    let records: BTreeSet<_> = rows.iter().map(|r| (&r.krate, &r.id)).collect();
    let mut page = String::from(
        "# Published checks\n\n\
         Written by `cargo xtask published` from the records in `crates/*/published/` and the values \
         that the tests compute; not to be edited. A test run fails when this page is stale.\n\n\
         Every record is bound to one function, every input moves the value, and an answer that is \
         wrong by 5 % in either direction is refused unless the record says why its source allows no \
         better. *Theirs* has the digits that the source prints. *From memory* was not read again and \
         never stands alone for a claim. *Derived* was computed from first principles apart from our \
         code: the place says how, and what second method agreed. Where a derived row names a source, \
         its inputs stand there and its value does not.\n\n",
    );
    let count = |s: Seen| rows.iter().filter(|r| r.seen == s.words()).count();
    let by: Vec<String> =
        Seen::ALL.into_iter().map(|s| format!("{} {}", count(s), s.words())).collect();
    let _ = writeln!(page, "{} records, {} values: {}.", records.len(), rows.len(), by.join(", "));
    page
}

fn table(page: &mut String, field: &str, rows: &[&Row]) {
    let _ = write!(
        page,
        "\n## {field}\n\n\
         | quantity | from | ours | theirs | deviation | tolerance | source and place | seen |\n\
         | --- | --- | --: | --: | --: | --- | --- | --- |\n"
    );
    for row in rows {
        let quantity = match row.unit.as_str() {
            "" => row.quantity.clone(),
            unit => format!("{}, {unit}", row.quantity),
        };
        let source = match row.source.as_str() {
            "" => row.place.clone(),
            key => format!("[{key}] {}", row.place),
        };
        let tolerance = format!("{}: {}", row.tolerance, row.because);
        let cells = [
            &quantity,
            &row.inputs,
            &row.ours,
            &row.theirs,
            &row.deviation,
            &tolerance,
            &source,
            &row.seen,
        ];
        let cells: Vec<String> = cells.into_iter().map(|c| c.replace('|', "\\|")).collect();
        let _ = writeln!(page, "| {} |", cells.join(" | "));
    }
}

fn sources(page: &mut String, rows: &[&Row], literature: &Literature) {
    let keys: BTreeSet<&str> =
        rows.iter().map(|r| r.source.as_str()).filter(|k| !k.is_empty()).collect();
    if keys.is_empty() {
        return;
    }
    page.push_str("\n## Sources\n\n");
    for key in keys {
        let citation = literature.citation(key).unwrap_or("not in the literature");
        let _ = writeln!(page, "- [{key}] {citation}");
    }
}
