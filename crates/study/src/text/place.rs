//! Where something stands in a file that was read.

use std::ops::Range;
use std::sync::Arc;

/// A file that was read, as it was.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// Name as the user gave it.
    pub name: String,
    /// The whole text.
    pub text: Arc<str>,
}

/// A stretch of bytes of one of the study's sources.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Place {
    /// Index of the source in `Study::sources`.
    pub source: usize,
    /// First byte.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
}

impl Place {
    /// A place in the source of that index.
    pub(crate) fn new(source: usize, span: Range<usize>) -> Self {
        Self { source, start: span.start, end: span.end }
    }
}

impl Source {
    /// Line and column of a byte, both from 1, the column in characters.
    pub fn line_and_column(&self, byte: usize) -> (usize, usize) {
        let before = &self.text[..self.boundary(byte)];
        let line = before.matches('\n').count() + 1;
        let start = before.rfind('\n').map_or(0, |i| i + 1);
        (line, before[start..].chars().count() + 1)
    }

    /// The line that holds a byte, without its end.
    pub fn line_of(&self, byte: usize) -> &str {
        let at = self.boundary(byte);
        let start = self.text[..at].rfind('\n').map_or(0, |i| i + 1);
        let end = self.text[at..].find('\n').map_or(self.text.len(), |i| at + i);
        self.text[start..end].trim_end_matches('\r')
    }

    /// The last character boundary at or before a byte, inside the text.
    fn boundary(&self, byte: usize) -> usize {
        let mut at = byte.min(self.text.len());
        while !self.text.is_char_boundary(at) {
            at -= 1;
        }
        at
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_count_characters_and_lines_lose_their_ends() {
        let source = Source { name: "a".into(), text: "α = 1\r\nβγ = 2".into() };
        assert_eq!(source.line_and_column(0), (1, 1));
        let second = source.text.find('γ').unwrap();
        assert_eq!(source.line_and_column(second), (2, 2));
        assert_eq!(source.line_of(1), "α = 1");
        assert_eq!(source.line_of(999), "βγ = 2");
    }
}
