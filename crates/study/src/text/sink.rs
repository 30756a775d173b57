//! Collects the faults of one file while it is read.

use std::cell::RefCell;
use std::ops::Range;

use super::diagnostic::Diagnostic;
use super::place::{Place, Source};

/// The file that is read, and what is wrong with it so far.
pub(crate) struct Sink {
    index: usize,
    source: Source,
    found: RefCell<Vec<Diagnostic>>,
    /// Faults of files that this one names.
    elsewhere: RefCell<Vec<Diagnostic>>,
}

impl Sink {
    /// A sink for a source that will stand at `index` in the study's sources.
    pub(crate) fn new(index: usize, source: Source) -> Self {
        Self { index, source, found: RefCell::default(), elsewhere: RefCell::default() }
    }

    /// The text that is read.
    pub(crate) fn text(&self) -> &str {
        &self.source.text
    }

    /// Notes a fault.
    pub(crate) fn report(
        &self,
        span: Range<usize>,
        message: impl Into<String>,
        expected: impl Into<String>,
        remedy: impl Into<String>,
    ) {
        let fault = Diagnostic::new(&self.source, span, message, expected, remedy);
        self.found.borrow_mut().push(fault);
    }

    /// Notes a fault of a file that this one names.
    pub(crate) fn report_elsewhere(&self, fault: Diagnostic) {
        self.elsewhere.borrow_mut().push(fault);
    }

    /// A stretch of this source as a place.
    pub(crate) fn place(&self, span: Range<usize>) -> Place {
        Place::new(self.index, span)
    }

    /// How many faults were noted so far.
    pub(crate) fn faults(&self) -> usize {
        self.found.borrow().len() + self.elsewhere.borrow().len()
    }

    /// The source, and its faults in the order of their places: those of single keys first, since
    /// what is wrong with a whole table often follows from them; then those of files that it names.
    pub(crate) fn into_parts(self) -> (Source, Vec<Diagnostic>) {
        let mut faults = self.found.into_inner();
        let of_table = |span: &Range<usize>| {
            let (before, after) =
                (&self.source.text[..span.start], &self.source.text[span.start..]);
            after.starts_with('[') && (before.is_empty() || before.ends_with('\n'))
        };
        faults.sort_by_key(|d| (of_table(&d.span), d.span.start, d.span.end));
        faults.extend(self.elsewhere.into_inner());
        (self.source, faults)
    }
}
