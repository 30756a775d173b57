//! What the numbers rest on: assumptions, inputs, versions.

use crate::Provenance;
use crate::markup::{escape, table};
use crate::number::{range, significant};
use study::outcome::Outcome;

/// Assumed values, then the files with their digests.
pub(crate) fn render(outcome: &Outcome, provenance: &Provenance) -> String {
    format!(
        "<section><h2>What the numbers rest on</h2><p>Part {}, material {}, machine {}.</p>{}{}\
         </section>\n",
        escape(&outcome.part),
        escape(&outcome.material),
        escape(&outcome.machine),
        assumed(outcome),
        inputs(provenance)
    )
}

fn assumed(outcome: &Outcome) -> String {
    if outcome.assumptions.is_empty() {
        return String::new();
    }
    let head = ["assumed, because nobody gave it", "value", "believed to lie in", "because"];
    let rows: Vec<Vec<String>> = outcome
        .assumptions
        .iter()
        .map(|a| {
            vec![
                format!("<code>{}</code>", escape(&a.key)),
                significant(a.value, 4),
                range(a.range, 3, ""),
                format!("<span class=\"small\">{}</span>", escape(&a.because)),
            ]
        })
        .collect();
    table("facts", &head.map(str::to_owned), &rows)
}

/// The files with their digests.
pub(crate) fn inputs(provenance: &Provenance) -> String {
    let head = ["input", "file", "bytes", "SHA-256"];
    let rows: Vec<Vec<String>> = provenance
        .inputs
        .iter()
        .map(|f| {
            vec![
                escape(&f.role),
                escape(&f.name),
                f.bytes.to_string(),
                format!("<code class=\"digest\">{}</code>", escape(&f.sha256)),
            ]
        })
        .collect();
    if rows.is_empty() { String::new() } else { table("facts", &head.map(str::to_owned), &rows) }
}
