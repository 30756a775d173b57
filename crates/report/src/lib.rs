//! The document for the client: one self-contained HTML page made from an outcome.
//!
//! It shows predicted numbers as predicted, each claim with its interval and what it rests on, and
//! carries the cautions that milling demands. It reads nothing and computes nothing about cutting.

mod figure;
mod markup;
mod number;
mod page;
mod section;
pub mod sheet;

use nc::Audit;
use study::outcome::Outcome;

/// One file that the numbers rest on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InputFile {
    /// What it is: `part`, `study`, `machine`, `cutters`.
    pub role: String,
    /// Its name as it was given.
    pub name: String,
    /// Its size in bytes.
    pub bytes: u64,
    /// SHA-256 of its content, hexadecimal.
    pub sha256: String,
}

/// Where the document comes from.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Provenance {
    /// Version of the program.
    pub version: String,
    /// Date on which it was made, as it shall be printed; empty: none is printed.
    pub date: String,
    /// Files that it rests on.
    pub inputs: Vec<InputFile>,
}

/// Renders the whole document.
pub fn html(outcome: &Outcome, provenance: &Provenance) -> String {
    let mut body = section::answer::render(outcome);
    body.push_str(&section::comparison::render(outcome));
    body.push_str(&section::claims::render(outcome));
    for process in &outcome.processes {
        body.push_str(&section::process::render(process));
    }
    body.push_str(&section::basis::render(outcome, provenance));
    body.push_str(section::cautions::HTML);
    page::wrap(&outcome.study, page::Kind::Comparison, &body, provenance)
}

/// Renders the audit of an NC program.
pub fn audit_html(audit: &Audit, program: &str, machine: &str, provenance: &Provenance) -> String {
    let mut body = section::audit::render(audit, machine);
    body.push_str(&section::audit::files(provenance));
    body.push_str(section::cautions::HTML);
    page::wrap(program, page::Kind::Audit, &body, provenance)
}
