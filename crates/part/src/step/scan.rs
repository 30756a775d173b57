//! The syntax of an exchange file (ISO 10303-21), read before any reader sees it.
//!
//! The scan follows the file to its end: sections, instances, nesting, strings, numbers. It keeps
//! of every instance its number, type and line, so that whatever is said later can name a line.

mod cursor;
mod outline;

pub use outline::{Outline, Schema};

use crate::build::LARGEST_MM;
use crate::error::{Blame, Place, ReadError, quoted};
use crate::format::without_mark;
use cursor::{Cursor, Token};

/// Deepest nesting of parentheses that is followed.
const NESTING_MAX: usize = 100;
/// Largest coordinate in the smallest unit that files come in (µm).
const LARGEST_IN_FILE: f64 = LARGEST_MM * 1e3;

/// Follows the file to its end.
pub(super) fn scan(bytes: &[u8], display_name: &str) -> Result<Outline, ReadError> {
    let mut scan = Scan {
        cursor: Cursor::new(without_mark(bytes)),
        blame: Blame::new(display_name),
        outline: Outline::default(),
        owner: 0,
    };
    scan.file()?;
    let Scan { mut outline, .. } = scan;
    outline.close().map_err(|(line, id)| {
        Blame::new(display_name).at(
            Place::Line(line),
            format!("#{id} for the second time"),
            "every number once",
        )
    })?;
    references(&outline, display_name)?;
    Ok(outline)
}

/// Every reference leads somewhere, and none leads back.
fn references(outline: &Outline, display_name: &str) -> Result<(), ReadError> {
    let blame = Blame::new(display_name);
    if let Some((id, line)) = outline.dangling() {
        return Err(blame.at(
            Place::Line(line),
            format!("a reference to #{id}, which is not in the file"),
            "references to instances of the file",
        ));
    }
    outline.circle().map_or(Ok(()), |(id, line)| {
        Err(blame.at(
            Place::Line(line),
            format!("a reference that leads back to #{id}"),
            "instances that do not contain themselves",
        ))
    })
}

struct Scan<'a> {
    cursor: Cursor<'a>,
    blame: Blame<'a>,
    outline: Outline,
    /// The instance being read.
    owner: u64,
}

impl<'a> Scan<'a> {
    fn file(&mut self) -> Result<(), ReadError> {
        self.keyword("ISO-10303-21")?;
        self.expect(Token::Semicolon)?;
        self.header()?;
        let mut data = 0;
        loop {
            match self.next()? {
                Token::Word("DATA") => {
                    if self.cursor.peek() == Some(b'(') {
                        self.next()?;
                        self.parameters("DATA", 1)?;
                    }
                    self.expect(Token::Semicolon)?;
                    self.instances()?;
                    data += 1;
                }
                Token::Word("ANCHOR" | "REFERENCE") => self.skip_section()?,
                // what stands in a signature is no STEP any more
                Token::Word("SIGNATURE") => return Ok(()),
                Token::Word("END-ISO-10303-21") if data > 0 => {
                    return self.expect(Token::Semicolon);
                }
                other => {
                    return self.unexpected(other, "a DATA section, or END-ISO-10303-21 after it");
                }
            }
        }
    }

    fn header(&mut self) -> Result<(), ReadError> {
        self.keyword("HEADER")?;
        self.expect(Token::Semicolon)?;
        loop {
            match self.next()? {
                Token::Word("ENDSEC") => return self.expect(Token::Semicolon),
                Token::Word(word) => {
                    let is_schema = word == "FILE_SCHEMA";
                    self.expect(Token::Open)?;
                    let start = self.cursor.offset();
                    self.parameters(word, 1)?;
                    if is_schema {
                        self.outline.schema = Schema::of(self.cursor.text_since(start));
                    }
                    self.expect(Token::Semicolon)?;
                }
                other => return self.unexpected(other, "an entry of the header, or ENDSEC"),
            }
        }
    }

    fn instances(&mut self) -> Result<(), ReadError> {
        loop {
            match self.next()? {
                Token::Word("ENDSEC") => return self.expect(Token::Semicolon),
                Token::Number(id) => self.instance(id)?,
                other => return self.unexpected(other, "an instance (#1 = …;), or ENDSEC"),
            }
        }
    }

    fn instance(&mut self, id: u64) -> Result<(), ReadError> {
        let line = self.cursor.line();
        self.owner = id;
        self.expect(Token::Equals)?;
        match self.next()? {
            Token::Word(word) => {
                self.outline.add(id, line, word);
                self.expect(Token::Open)?;
                self.parameters(word, 1)?;
            }
            Token::Open => self.complex(id, line)?,
            other => return self.unexpected(other, "the type of the instance"),
        }
        self.expect(Token::Semicolon)
    }

    /// An instance of several types: `#1 = (A(…) B(…));`, known by its types in order.
    fn complex(&mut self, id: u64, line: usize) -> Result<(), ReadError> {
        let mut name = String::new();
        loop {
            match self.next()? {
                Token::Close if !name.is_empty() => break,
                Token::Word(word) => {
                    if !name.is_empty() {
                        name.push('+');
                    }
                    name.push_str(word);
                    self.expect(Token::Open)?;
                    self.parameters(word, 1)?;
                }
                other => return self.unexpected(other, "a type, or the closing parenthesis"),
            }
        }
        self.outline.add(id, line, &name);
        Ok(())
    }

    /// What stands between parentheses; the opening one is read already.
    fn parameters(&mut self, owner: &str, opened: usize) -> Result<(), ReadError> {
        let mut depth = opened;
        while depth > 0 {
            match self.next()? {
                Token::Open => depth += 1,
                Token::Close => depth -= 1,
                Token::Comma | Token::Text | Token::Other | Token::Word(_) => {}
                Token::Number(id) => self.outline.refer(self.owner, id, self.cursor.line()),
                Token::Real(value) => self.real(owner, value)?,
                other @ (Token::Semicolon | Token::Equals) => {
                    return self.unexpected(other, "the closing parenthesis");
                }
            }
            if depth > NESTING_MAX {
                let found = format!("parentheses {depth} deep");
                return Err(self.at(found, format!("at most {NESTING_MAX}")));
            }
        }
        Ok(())
    }

    fn real(&self, owner: &str, value: f64) -> Result<(), ReadError> {
        if !value.is_finite() {
            return Err(self.at("a number beyond every range".to_owned(), "a finite number"));
        }
        if owner == "CARTESIAN_POINT" && value.abs() > LARGEST_IN_FILE {
            return Err(ReadError::Coordinate {
                file: self.blame.file.to_owned(),
                place: Place::Line(self.cursor.line()),
                value_mm: value,
                largest_mm: LARGEST_MM,
            });
        }
        Ok(())
    }

    fn skip_section(&mut self) -> Result<(), ReadError> {
        self.expect(Token::Semicolon)?;
        loop {
            if self.next()? == Token::Word("ENDSEC") {
                return self.expect(Token::Semicolon);
            }
        }
    }

    fn next(&mut self) -> Result<Token<'a>, ReadError> {
        self.cursor.next().map_err(|(found, expected)| self.at(found, expected))
    }

    fn keyword(&mut self, word: &'static str) -> Result<(), ReadError> {
        match self.next()? {
            Token::Word(found) if found == word => Ok(()),
            other => self.unexpected(other, word),
        }
    }

    fn expect(&mut self, wanted: Token<'static>) -> Result<(), ReadError> {
        let found = self.next()?;
        if found == wanted { Ok(()) } else { self.unexpected(found, wanted.name()) }
    }

    fn unexpected<T>(&self, found: Token<'_>, expected: &str) -> Result<T, ReadError> {
        let found = match found {
            Token::Word(word) => quoted(word),
            Token::Number(id) => format!("#{id}"),
            other => other.name().to_owned(),
        };
        Err(self.at(found, expected))
    }

    fn at(&self, found: String, expected: impl Into<String>) -> ReadError {
        let found = format!("{found} at column {}", self.cursor.column());
        self.blame.at(Place::Line(self.cursor.line()), found, expected)
    }
}

#[cfg(test)]
mod tests;
