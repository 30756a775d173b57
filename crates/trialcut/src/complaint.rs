//! Failures as a person reads them: the line of the file, a caret under the place, the remedy.

use commands::Failure;
use commands::failure::Diagnostic;
use miette::{
    GraphicalReportHandler, GraphicalTheme, LabeledSpan, MietteError, MietteSpanContents,
    SourceCode, SourceSpan, SpanContents,
};
use std::fmt;
use std::io::IsTerminal;

/// Width of messages where there is no terminal whose width counts: nothing is broken up.
const WIDE: usize = 400;
/// Width of messages on a terminal.
const NARROW: usize = 100;
/// Characters of a line that are shown, and how many of them before the fault.
const LONGEST: usize = 160;
const BEFORE: usize = 60;
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
    source: Excerpt,
    span: LabeledSpan,
}

impl Drawn {
    fn new(diagnostic: &Diagnostic) -> Self {
        let source = Excerpt::of(diagnostic);
        let start = source.mark;
        // a table that goes on for many lines is marked at its first line only
        let rest = source.text[start..].lines().next().map_or(0, str::len);
        let length = diagnostic.span.len().min(rest);
        let span = LabeledSpan::new(Some("here".to_owned()), start, length);
        Self { source, span }
    }
}

/// The line of a fault and its neighbours, long ones cut off.
#[derive(Debug)]
struct Excerpt {
    name: String,
    text: String,
    /// Line of the file in which it begins, from 0.
    first_line: usize,
    /// Line of the excerpt and column of the file that are meant, from 0.
    meant: (usize, usize),
    /// Where in the excerpt the fault stands.
    mark: usize,
}

impl Excerpt {
    fn of(diagnostic: &Diagnostic) -> Self {
        let text = &*diagnostic.text;
        let place = diagnostic.span.start.min(text.len());
        let start = text[..place].rfind('\n').map_or(0, |at| at + 1);
        let end = text[place..].find('\n').map_or(text.len(), |at| place + at);
        let (line, mark) = around(&text[start..end], place - start);
        let before = text[..start].strip_suffix('\n').map(|t| t.rsplit('\n').next().unwrap_or(t));
        let after = text[end..].strip_prefix('\n').filter(|t| !t.is_empty());
        let after = after.and_then(|t| t.split('\n').next());
        let mut out = String::new();
        if let Some(before) = before {
            out.push_str(&around(before, 0).0);
            out.push('\n');
        }
        let mark = out.len() + mark;
        out.push_str(&line);
        out.push('\n');
        if let Some(after) = after {
            out.push_str(&around(after, 0).0);
            out.push('\n');
        }
        let own = usize::from(before.is_some());
        Self {
            name: diagnostic.file.clone(),
            text: out,
            first_line: (diagnostic.line - 1).saturating_sub(own),
            meant: (own, diagnostic.column - 1),
            mark,
        }
    }
}

/// A line as it may be shown, and where in it the byte `place` stands.
fn around(line: &str, place: usize) -> (String, usize) {
    let line = line.trim_end_matches('\r');
    // signs that would steer a terminal; the others keep their places
    let steers = |c: char| c.is_control() && c != '\t';
    let line: String = line
        .chars()
        .flat_map(|c| {
            let (sign, count) = if steers(c) { ('?', c.len_utf8()) } else { (c, 1) };
            std::iter::repeat_n(sign, count)
        })
        .collect();
    let place = place.min(line.len());
    if line.len() <= LONGEST {
        return (line, place);
    }
    let back = line[..place].char_indices().rev().nth(BEFORE).map_or(0, |(at, _)| at);
    let ends = line[back..].char_indices().nth(LONGEST).map_or(line.len(), |(at, _)| back + at);
    let [head, tail] =
        [(back > 0, "…"), (ends < line.len(), "…")].map(|(cut, sign)| if cut { sign } else { "" });
    (format!("{head}{}{tail}", &line[back..ends]), head.len() + place - back)
}

impl SourceCode for Excerpt {
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        before: usize,
        after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let inner = self.text.read_span(span, before, after)?;
        let column = if inner.line() == self.meant.0 { self.meant.1 } else { inner.column() };
        Ok(Box::new(MietteSpanContents::new_named(
            self.name.clone(),
            inner.data(),
            *inner.span(),
            inner.line() + self.first_line,
            column,
            inner.line_count(),
        )))
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

#[cfg(test)]
mod tests {
    use super::*;

    fn drawn(text: &str, start: usize, line: usize, column: usize) -> String {
        let diagnostic = Diagnostic {
            file: "p.nc".into(),
            text: text.into(),
            span: start..start + 3,
            line,
            column,
            source_line: String::new(),
            message: "m".into(),
            expected: "e".into(),
            remedy: "r".into(),
        };
        super::text(&Failure::Input(vec![diagnostic]))
    }

    #[test]
    fn a_line_of_a_megabyte_is_shown_around_its_fault() {
        for at in [0, 70, 500_000, 999_997] {
            let mut line = "x".repeat(1_000_000);
            line.replace_range(at..at + 3, "ABC");
            let shown = drawn(&format!("G0 X1.\n{line}\nM30\n"), 7 + at, 2, at + 1);
            assert!(shown.len() < 2000, "{}", shown.len());
            assert!(shown.contains("ABC") && shown.contains(&format!("[p.nc:2:{}]", at + 1)));
            let rows: Vec<&str> = shown.lines().collect();
            let row = rows.iter().position(|r| r.contains("ABC")).unwrap();
            let under = |r: &str, c: char| r.chars().position(|x| x == c);
            assert_eq!(under(rows[row], 'A'), under(rows[row + 1], '─'), "{shown}");
            assert!(rows[row].contains(" 2 │"), "{shown}");
        }
    }

    #[test]
    fn an_excerpt_keeps_the_lines_of_its_file() {
        let shown = drawn("G0 X1.\r\nG1 Y5.\r\n", 11, 400, 4);
        assert!(shown.contains("400 │ G1 Y5.") && shown.contains("399 │ G0 X1."), "{shown}");
        assert!(shown.contains("[p.nc:400:4]"), "{shown}");
        let steering = drawn("G0 \u{1b}[2J X1.\n", 3, 1, 4);
        assert!(steering.contains("G0 ?[2J X1.") && !steering.contains('\u{1b}'), "{steering}");
        assert!(drawn("", 0, 1, 1).starts_with("error: p.nc:1:1: m\n  expected"));
    }
}
