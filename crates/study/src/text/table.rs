//! Reads a table key by key; what was never asked for is an unknown key.

mod list;
mod scalar;

use std::cell::RefCell;
use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::diagnostic::Diagnostic;
use super::near::nearest;
use super::place::Place;
use super::sink::Sink;

/// A value and where it stands.
#[derive(Debug, Clone)]
pub(crate) struct Given<T> {
    /// What was given.
    pub(crate) value: T,
    /// Bytes of the file that say so.
    pub(crate) span: Range<usize>,
}

/// A table of the file that is being read.
pub(crate) struct Table<'a> {
    what: String,
    span: Range<usize>,
    entries: &'a DeTable<'a>,
    sink: &'a Sink,
    asked: RefCell<Vec<&'static str>>,
}

/// Faults of the grammar that are listed at most; later ones are mostly echoes.
const GRAMMAR_FAULTS: usize = 5;

/// Parses the text of `sink`; faults of the grammar are reported there.
pub(crate) fn parse(sink: &Sink) -> Option<Spanned<DeTable<'_>>> {
    let (document, errors) = DeTable::parse_recoverable(sink.text());
    for error in errors.iter().take(GRAMMAR_FAULTS) {
        sink.report(
            error.span().unwrap_or(0..0),
            format!("this is not TOML: {}", error.message().replace('\n', ", ")),
            "`key = value` lines under [table] or [[list]] headings",
            "mend the line; texts stand in \"quotes\", numbers without, lists in [brackets]",
        );
    }
    errors.is_empty().then_some(document)
}

impl<'a> Table<'a> {
    /// The table of the whole document.
    pub(crate) fn root(document: &'a Spanned<DeTable<'a>>, what: &str, sink: &'a Sink) -> Self {
        Self::of(document.get_ref(), 0..0, what.to_owned(), sink)
    }

    fn of(entries: &'a DeTable<'a>, span: Range<usize>, what: String, sink: &'a Sink) -> Self {
        Self { what, span, entries, sink, asked: RefCell::default() }
    }

    /// Where the table is opened.
    pub(crate) fn span(&self) -> Range<usize> {
        self.span.clone()
    }

    /// Where the table is opened, as a place of the study.
    pub(crate) fn place(&self) -> Place {
        self.sink.place(self.span())
    }

    /// A stretch of the file as a place of the study.
    pub(crate) fn place_of(&self, span: &Range<usize>) -> Place {
        self.sink.place(span.clone())
    }

    /// Adds the table's own name to the words that messages use for it.
    pub(crate) fn call(&mut self, name: &str) {
        self.what = format!("{} \"{name}\"", self.what);
    }

    /// The same table, called otherwise in messages.
    pub(crate) fn renamed(self, what: String) -> Self {
        Self { what, ..self }
    }

    /// How many faults the file has so far.
    pub(crate) fn faults(&self) -> usize {
        self.sink.faults()
    }

    /// Adds a name to those that were seen, and notes where it stands a second time.
    pub(crate) fn unique(&self, what: &str, name: &Given<String>, seen: &mut Vec<String>) {
        if seen.contains(&name.value) {
            let message = format!("the {what} \"{}\" stands twice", name.value);
            self.report(name.span.clone(), message, "a name of its own", "rename one of the two");
        }
        seen.push(name.value.clone());
    }

    /// Where a dotted key stands, or as much of it as there is.
    pub(crate) fn span_of_path(&self, path: &str) -> Range<usize> {
        let mut span = self.span();
        let mut entries = self.entries;
        for key in path.split('.') {
            let Some(value) = entries.get(key) else { break };
            match value.get_ref().as_table() {
                Some(table) => (span, entries) = (value.span(), table),
                None => return value.span(),
            }
        }
        span
    }

    /// What messages call this table.
    pub(crate) fn what(&self) -> &str {
        &self.what
    }

    /// Whether a key is there; the key counts as known from now on.
    pub(crate) fn has(&self, key: &'static str) -> bool {
        self.value(key).is_some()
    }

    /// Where a key stands, else where the table is opened.
    pub(crate) fn span_of(&self, key: &'static str) -> Range<usize> {
        self.entries.get_key_value(key).map_or_else(|| self.span(), |(k, _)| k.span())
    }

    /// Notes a fault somewhere in the file.
    pub(crate) fn report(
        &self,
        span: Range<usize>,
        message: impl Into<String>,
        expected: impl Into<String>,
        remedy: impl Into<String>,
    ) {
        self.sink.report(span, message, expected, remedy);
    }

    /// Notes a fault of a file that this one names.
    pub(crate) fn report_elsewhere(&self, fault: Diagnostic) {
        self.sink.report_elsewhere(fault);
    }

    /// Notes that a key is missing.
    pub(crate) fn missing(
        &self,
        key: &str,
        expected: impl Into<String>,
        remedy: impl Into<String>,
    ) {
        let message = format!("{} has no `{key}`", self.what);
        self.report(self.span(), message, expected, remedy);
    }

    /// Notes where both of two keys are given that exclude each other.
    pub(crate) fn only_one(&self, first: &'static str, second: &'static str) {
        if self.has(first) && self.has(second) {
            let message = format!("`{second}` and `{first}` are both given in {}", self.what);
            let remedy = format!("take out one of them; line {} has the other", self.line(first));
            self.report(self.span_of(second), message, "one of the two", remedy);
        }
    }

    /// Notes every key that was never asked for, with the known one that is most like it.
    pub(crate) fn finish(self) {
        let asked = self.asked.borrow();
        for (key, _) in self.entries {
            let name = key.get_ref().as_ref();
            if !asked.contains(&name) {
                self.unknown(name, key.span(), &asked);
            }
        }
    }

    fn unknown(&self, name: &str, span: Range<usize>, known: &[&'static str]) {
        let mut known: Vec<&str> = known.to_vec();
        known.sort_unstable();
        known.dedup();
        let remedy = match nearest(name, known.iter().copied()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => "take it out".to_owned(),
        };
        let message = format!("`{name}` is not a key of {}", self.what);
        self.report(span, message, format!("one of {}", known.join(", ")), remedy);
    }

    fn line(&self, key: &'static str) -> usize {
        let start = self.span_of(key).start.min(self.sink.text().len());
        self.sink.text().as_bytes()[..start].iter().filter(|b| **b == b'\n').count() + 1
    }

    fn value(&self, key: &'static str) -> Option<&'a Spanned<DeValue<'a>>> {
        let mut asked = self.asked.borrow_mut();
        if !asked.contains(&key) {
            asked.push(key);
        }
        self.entries.get(key)
    }

    fn wrong_type(&self, key: &str, value: &Spanned<DeValue<'_>>, expected: &str, remedy: &str) {
        let message = format!("`{key}` is {}", article(value.get_ref().type_str()));
        self.report(value.span(), message, expected, remedy);
    }
}

fn article(kind: &str) -> String {
    match kind {
        "integer" => "a whole number".to_owned(),
        "float" => "a number".to_owned(),
        "string" => "a text".to_owned(),
        "array" => "a list".to_owned(),
        other => format!("a {other}"),
    }
}
