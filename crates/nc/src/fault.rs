//! What is wrong with a program, and what of it was not followed.

use std::fmt;

/// Something that could change the path: the program is refused.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Line, from 1.
    pub line: u32,
    /// Column in bytes, from 1.
    pub column: u32,
    /// What is wrong.
    pub message: String,
    /// What was expected.
    pub expected: String,
    /// What to do.
    pub remedy: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { line, column, message, expected, remedy } = self;
        write!(f, "{line}:{column}: {message}; expected {expected}; {remedy}")
    }
}

/// What a [`Fault`] says, before its place is known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Complaint {
    /// Letter of the word that is meant; the block's beginning where it is none of the block's.
    pub(crate) letter: u8,
    pub(crate) message: String,
    pub(crate) expected: String,
    pub(crate) remedy: String,
}

/// A complaint about the word with `letter`.
pub(crate) fn complaint(
    letter: u8,
    message: impl Into<String>,
    expected: impl Into<String>,
    remedy: impl Into<String>,
) -> Complaint {
    Complaint { letter, message: message.into(), expected: expected.into(), remedy: remedy.into() }
}

/// A word that was not followed, or one that deserves a look; the path stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unread {
    /// Line, from 1.
    pub line: u32,
    /// The word or block.
    pub text: String,
    /// Why it is listed.
    pub why: String,
    /// Whether the word was not followed; false where it was followed with a reservation.
    pub skipped: bool,
    /// How often it stands in the program; 1 where every place is listed.
    pub count: u64,
}

impl fmt::Display for Unread {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}: {}: {}", self.line, self.text, self.why)?;
        if self.count > 1 {
            write!(f, " ({} times from this line on)", self.count)?;
        }
        Ok(())
    }
}

/// Reservations that are listed once, at their first line, with a count.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Topic {
    NoPoint,
    SpindleOff,
    NoTool,
    ToolUnlisted(u32),
    SpindleTooFast,
    MixedUnits,
    BlockDelete,
    RadiusOn,
    SecondReference,
    CutOff,
    Arc,
    AfterEnd,
    OpenComment,
    Vacant,
    VacantAsZero,
    NearlyEqual,
    NumberTwice,
    ProgramTwice(u32),
}

/// How many single words are listed before they are only counted.
const LISTED: usize = 1000;

/// Collects what is listed.
#[derive(Debug, Default)]
pub(crate) struct List {
    entries: Vec<Unread>,
    topics: std::collections::BTreeMap<Topic, usize>,
    words: usize,
    last: usize,
}

impl List {
    /// A reservation of that topic.
    pub(crate) fn topic(
        &mut self,
        topic: Topic,
        line: u32,
        say: impl FnOnce() -> (String, String),
    ) {
        if let Some(&at) = self.topics.get(&topic) {
            self.entries[at].count += 1;
            return;
        }
        let (text, why) = say();
        self.topics.insert(topic, self.entries.len());
        self.entries.push(Unread { line, text, why, skipped: false, count: 1 });
    }

    /// A word that was not followed.
    pub(crate) fn word(&mut self, line: u32, text: String, why: &str) {
        self.words += 1;
        if self.words > LISTED {
            self.entries[self.last].count += 1;
            return;
        }
        self.last = self.entries.len();
        let mut entry = Unread { line, text, why: why.to_owned(), skipped: true, count: 1 };
        if self.words == LISTED {
            entry.text = "further words".into();
            entry.why = "more words that are not followed stand from this line on".into();
        }
        self.entries.push(entry);
    }

    /// Everything, by line.
    pub(crate) fn finish(mut self) -> Vec<Unread> {
        self.entries.sort_by_key(|e| e.line);
        self.entries
    }
}
