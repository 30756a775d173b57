//! STL, text and bytes.
//!
//! Own readers: the text kind is read word by word with the line kept for messages, several solids
//! in one file stay apart, and normals in the file are not believed.

use crate::build::Soup;
use crate::error::{Blame, Place, ReadError, quoted};
use crate::format::without_mark;
use geom::Vec3;

const HEADER: usize = 84;
const TRIANGLE: usize = 50;

/// Reads binary STL: 80 bytes of header, the number of triangles, 50 bytes for each.
pub(crate) fn binary(bytes: &[u8], file: &str) -> Result<Soup, ReadError> {
    let blame = Blame::new(file);
    let Some(count) = bytes.get(80..84).and_then(|b| b.try_into().ok()).map(u32::from_le_bytes)
    else {
        let found = format!("the file ends after {} bytes", bytes.len());
        return Err(blame.at(Place::Byte(bytes.len()), found, "84 bytes of STL header"));
    };
    let needed = HEADER as u64 + TRIANGLE as u64 * u64::from(count);
    if (bytes.len() as u64) < needed {
        let found = format!("the file ends after {} bytes", bytes.len());
        let expected = format!("{needed} bytes for the {count} triangles of its header");
        return Err(blame.at(Place::Byte(bytes.len()), found, expected));
    }
    let mut soup = Soup::with_capacity(count as usize);
    let piece = soup.piece(String::new());
    for (t, record) in bytes[HEADER..].chunks_exact(TRIANGLE).take(count as usize).enumerate() {
        let corner = |k: usize| float3(&record[12 + 12 * k..24 + 12 * k]);
        let place = Place::Byte(HEADER + TRIANGLE * t + 12);
        soup.triangle([corner(0), corner(1), corner(2)], piece, || place.clone());
    }
    Ok(soup)
}

fn float3(bytes: &[u8]) -> Vec3 {
    let f = |k: usize| {
        let b = [bytes[4 * k], bytes[4 * k + 1], bytes[4 * k + 2], bytes[4 * k + 3]];
        f64::from(f32::from_le_bytes(b))
    };
    Vec3::new(f(0), f(1), f(2))
}

/// Words of a text with the number of the line that each stands in.
struct Words<'a> {
    lines: std::iter::Enumerate<std::str::Lines<'a>>,
    line: usize,
    rest: &'a str,
}

impl<'a> Words<'a> {
    fn new(text: &'a str) -> Self {
        Self { lines: text.lines().enumerate(), line: 0, rest: "" }
    }

    fn next(&mut self) -> Option<&'a str> {
        loop {
            let trimmed = self.rest.trim_start();
            if trimmed.is_empty() {
                let (number, line) = self.lines.next()?;
                self.line = number + 1;
                self.rest = line;
                continue;
            }
            let end = trimmed.find(char::is_whitespace).unwrap_or(trimmed.len());
            let (word, rest) = trimmed.split_at(end);
            self.rest = rest;
            return Some(word);
        }
    }

    /// What is left of the line.
    fn rest_of_line(&mut self) -> &'a str {
        std::mem::take(&mut self.rest).trim()
    }
}

/// Reads text STL, also several solids in one file.
pub(crate) fn ascii(bytes: &[u8], file: &str) -> Result<Soup, ReadError> {
    let blame = Blame::new(file);
    // names may be in any encoding; the words that matter are plain ASCII
    let text = String::from_utf8_lossy(without_mark(bytes));
    let mut reader = Ascii { words: Words::new(&text), soup: Soup::default(), blame };
    while let Some(word) = reader.words.next() {
        if !word.eq_ignore_ascii_case("solid") {
            return Err(reader.wrong(Some(word), "\"solid\""));
        }
        let name = reader.words.rest_of_line().to_owned();
        reader.solid(name)?;
    }
    Ok(reader.soup)
}

struct Ascii<'a> {
    words: Words<'a>,
    soup: Soup,
    blame: Blame<'a>,
}

impl Ascii<'_> {
    fn solid(&mut self, name: String) -> Result<(), ReadError> {
        let piece = self.soup.piece(name);
        loop {
            match self.words.next() {
                Some(w) if w.eq_ignore_ascii_case("facet") => self.facet(piece)?,
                Some(w) if w.eq_ignore_ascii_case("endsolid") => {
                    self.words.rest_of_line();
                    return Ok(());
                }
                other => return Err(self.wrong(other, "\"facet\" or \"endsolid\"")),
            }
        }
    }

    fn facet(&mut self, piece: u32) -> Result<(), ReadError> {
        self.expect("normal")?;
        let line = self.words.line;
        for _ in 0..3 {
            // some exporters write a normal that is no number for a triangle without area; it is
            // not used, but a word must stand there
            if self.words.next().is_none() {
                return Err(self.wrong(None, "a normal"));
            }
        }
        self.expect("outer")?;
        self.expect("loop")?;
        let corners = [self.vertex()?, self.vertex()?, self.vertex()?];
        self.expect("endloop")?;
        self.expect("endfacet")?;
        self.soup.triangle(corners, piece, || Place::Line(line));
        Ok(())
    }

    fn vertex(&mut self) -> Result<Vec3, ReadError> {
        self.expect("vertex")?;
        Ok(Vec3::new(self.number()?, self.number()?, self.number()?))
    }

    fn number(&mut self) -> Result<f64, ReadError> {
        let word = self.words.next();
        match word.and_then(|w| w.parse().ok()) {
            Some(value) => Ok(value),
            None => Err(self.wrong(word, "a coordinate")),
        }
    }

    fn expect(&mut self, wanted: &str) -> Result<(), ReadError> {
        match self.words.next() {
            Some(w) if w.eq_ignore_ascii_case(wanted) => Ok(()),
            other => Err(self.wrong(other, format!("\"{wanted}\""))),
        }
    }

    fn wrong(&self, found: Option<&str>, expected: impl Into<String>) -> ReadError {
        let found =
            found.map_or_else(|| "the file ends".to_owned(), |w| format!("found {}", quoted(w)));
        self.blame.at(Place::Line(self.words.line), found, expected)
    }
}
