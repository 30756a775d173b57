//! From arguments to output and exit status.

use crate::args::{self, Cli, Command};
use crate::{complaint, output};
use commands::{Document, Failure};

/// Runs the command; the exit status.
pub(crate) fn run(cli: &Cli) -> u8 {
    let done = match &cli.command {
        Command::Calc(calc) => args::calc::run(calc).and_then(|d| show(&d, cli.json)),
    };
    match done {
        Ok(status) => status,
        Err(failure) => {
            output::note(complaint::text(&failure).trim_end());
            failure.exit_status()
        }
    }
}

/// Shows a document; the exit status.
fn show(document: &impl Document, json: bool) -> Result<u8, Failure> {
    for warning in document.warnings() {
        output::note(&format!("note: {warning}"));
    }
    let text = if json { document.json()? } else { document.text() };
    Ok(if output::show(&text) { 0 } else { 1 })
}
