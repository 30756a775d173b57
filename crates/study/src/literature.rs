//! The publications that values rest on, by a short key.

use crate::text::{Sink, Source, Table, parse};
use std::sync::OnceLock;

const LITERATURE: &str = include_str!("../../../data/literature.toml");

/// A publication.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Publication {
    /// Key that data files use.
    pub key: String,
    /// Authors, title, where and when, and how to find it.
    pub citation: String,
    /// What was read of it: `table 5`, `abstract`; `from memory` where it was not read again.
    pub seen: String,
}

/// All publications, by the order of the file.
pub fn publications() -> &'static [Publication] {
    static READ: OnceLock<Vec<Publication>> = OnceLock::new();
    READ.get_or_init(|| read().0)
}

/// The citation of a key.
pub fn citation(key: &str) -> Option<&'static str> {
    publications().iter().find(|p| p.key == key).map(|p| p.citation.as_str())
}

/// The publications, and how many faults the file has.
fn read() -> (Vec<Publication>, usize) {
    let source = Source { name: "literature.toml".to_owned(), text: LITERATURE.into() };
    let sink = Sink::new(0, source);
    let read = parse(&sink).map(|document| {
        let root = Table::root(&document, "the literature", &sink);
        let mut read = Vec::new();
        for (key, table) in root.named_tables() {
            let citation = table.need_text("citation", "A. Author, Title, 2020");
            let seen = table.need_text("seen", "table 5");
            table.finish();
            if let (Some(citation), Some(seen)) = (citation, seen) {
                let (citation, seen) = (citation.value, seen.value);
                read.push(Publication { key: key.value, citation, seen });
            }
        }
        read
    });
    (read.unwrap_or_default(), sink.faults())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_literature_reads_without_a_fault_and_every_key_stands_once() {
        let (read, faults) = read();
        assert_eq!(faults, 0);
        assert!(read.len() >= 10);
        for (i, p) in read.iter().enumerate() {
            assert!(read[..i].iter().all(|other| other.key != p.key), "{} twice", p.key);
            assert!(p.citation.len() > 20, "{}", p.citation);
        }
        assert!(citation("no such key").is_none());
    }
}
