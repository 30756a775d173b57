//! Failures as a person reads them: the line of the file, a caret under the place, the remedy.

use commands::Failure;
use commands::failure::Diagnostic;
use miette::{GraphicalReportHandler, GraphicalTheme, LabeledSpan, NamedSource, SourceCode};
use std::fmt;
use std::io::IsTerminal;

/// Width of messages where there is no terminal whose width counts: nothing is broken up.
const WIDE: usize = 400;
/// Width of messages on a terminal.
const NARROW: usize = 100;
/// Faults of one call that are shown.
const SHOWN: usize = 20;

/// A failure as text, ending in a line end.
pub(crate) fn text(failure: &Failure) -> String {
    match failure {
        Failure::Input(diagnostics) => input(diagnostics),
        Failure::Call { message, expected, remedy } => {
            format!("error: {message}\n  expected: {expected}\n  to do: {remedy}\n")
        }
        Failure::Other { message, remedy } => format!("error: {message}\n  to do: {remedy}\n"),
    }
}

fn input(diagnostics: &[Diagnostic]) -> String {
    let mut out = String::new();
    for diagnostic in diagnostics.iter().take(SHOWN) {
        let Diagnostic { file, line, column, message, .. } = diagnostic;
        out.push_str(&format!("error: {file}:{line}:{column}: {message}\n"));
        // a drawing that cannot be made is left out: the lines around it say everything
        let mut drawn = String::new();
        if !diagnostic.text.is_empty() && draw(diagnostic, &mut drawn).is_ok() {
            out.push_str(&drawn);
        }
        out.push_str(&format!("  expected: {}\n", diagnostic.expected));
        out.push_str(&format!("  to do: {}\n\n", diagnostic.remedy));
    }
    let more = diagnostics.len().saturating_sub(SHOWN);
    if more > 0 {
        out.push_str(&format!("and {more} more\n"));
    }
    out
}

/// The fault's lines with a mark under the place.
fn draw(diagnostic: &Diagnostic, out: &mut String) -> fmt::Result {
    let width = if std::io::stderr().is_terminal() { NARROW } else { WIDE };
    let handler = GraphicalReportHandler::new_themed(GraphicalTheme::unicode_nocolor())
        .with_width(width)
        .with_links(false)
        .without_cause_chain();
    let mut whole = String::new();
    handler.render_report(&mut whole, &Drawn::new(diagnostic))?;
    // the first lines repeat the message, which stands above already
    let snippet = whole.lines().skip_while(|line| !line.contains("╭─")).collect::<Vec<_>>();
    for line in snippet {
        out.push_str(line.trim_end());
        out.push('\n');
    }
    Ok(())
}

/// A fault in the form in which it can be drawn.
#[derive(Debug)]
struct Drawn {
    source: NamedSource<String>,
    span: LabeledSpan,
}

impl Drawn {
    fn new(diagnostic: &Diagnostic) -> Self {
        let end = diagnostic.span.end.clamp(diagnostic.span.start, diagnostic.text.len());
        // a table that goes on for many lines is marked at its first line only
        let first_line = diagnostic.text[diagnostic.span.start..end].lines().next().unwrap_or("");
        let length = first_line.len();
        let span = LabeledSpan::new(Some("here".to_owned()), diagnostic.span.start, length);
        let source = NamedSource::new(&diagnostic.file, diagnostic.text.to_string());
        Self { source, span }
    }
}

impl fmt::Display for Drawn {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("fault")
    }
}

impl std::error::Error for Drawn {}

impl miette::Diagnostic for Drawn {
    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(&self.source)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        Some(Box::new(std::iter::once(self.span.clone())))
    }
}
