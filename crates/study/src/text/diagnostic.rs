//! What is wrong, where, what was expected and what to do.

use std::fmt;
use std::ops::Range;
use std::sync::Arc;

use super::place::Source;

/// One fault of an input file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Diagnostic {
    /// Name of the file as the user gave it.
    pub file: String,
    /// The whole text of the file, to draw the place from; empty where the file is not text.
    pub text: Arc<str>,
    /// Bytes of the text that are meant.
    pub span: Range<usize>,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// The line as it stands in the file.
    pub source_line: String,
    /// What is wrong.
    pub message: String,
    /// What was expected in its place.
    pub expected: String,
    /// What to do.
    pub remedy: String,
}

impl Diagnostic {
    /// A fault at a stretch of a source.
    pub fn new(
        source: &Source,
        span: Range<usize>,
        message: impl Into<String>,
        expected: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Self {
        let (line, column) = source.line_and_column(span.start);
        Self {
            file: source.name.clone(),
            text: Arc::clone(&source.text),
            line,
            column,
            source_line: source.line_of(span.start).to_owned(),
            span,
            message: message.into(),
            expected: expected.into(),
            remedy: remedy.into(),
        }
    }
}

impl fmt::Display for Diagnostic {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { file, line, column, message, .. } = self;
        write!(f, "{file}:{line}:{column}: {message}; expected {}; {}", self.expected, self.remedy)
    }
}

impl std::error::Error for Diagnostic {}

/// An input that cannot be used, with all faults that were found; never empty.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rejected {
    /// The faults in the order of the files and of their places.
    pub diagnostics: Vec<Diagnostic>,
}

impl Rejected {
    /// A rejection for one fault.
    pub fn one(diagnostic: Diagnostic) -> Self {
        Self { diagnostics: vec![diagnostic] }
    }
}

impl fmt::Display for Rejected {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, diagnostic) in self.diagnostics.iter().enumerate() {
            if i > 0 {
                writeln!(f)?;
            }
            write!(f, "{diagnostic}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Rejected {}
