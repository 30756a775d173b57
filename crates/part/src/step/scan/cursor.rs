//! Bytes to tokens, with line and column.

/// A token of an exchange file.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Token<'a> {
    /// A word: a section, a type, a typed parameter.
    Word(&'a str),
    /// `#123`.
    Number(u64),
    /// A number.
    Real(f64),
    /// A string or a binary.
    Text,
    /// `$`, `*`, `.ENUM.`, `<anchor>`.
    Other,
    /// `(`.
    Open,
    /// `)`.
    Close,
    /// `,`.
    Comma,
    /// `;`.
    Semicolon,
    /// `=`.
    Equals,
}

impl Token<'_> {
    pub(super) fn name(self) -> &'static str {
        match self {
            Self::Word(_) => "a word",
            Self::Number(_) => "a reference",
            Self::Real(_) => "a number",
            Self::Text => "a text",
            Self::Other => "a value",
            Self::Open => "\"(\"",
            Self::Close => "\")\"",
            Self::Comma => "\",\"",
            Self::Semicolon => "\";\"",
            Self::Equals => "\"=\"",
        }
    }
}

/// What was found and what was expected.
type Trouble = (String, &'static str);

/// A place in the bytes.
pub(super) struct Cursor<'a> {
    bytes: &'a [u8],
    at: usize,
    row: usize,
    row_start: usize,
    /// Start of the last token, its line and the start of that line.
    token: usize,
    token_line: usize,
    token_line_start: usize,
}

impl<'a> Cursor<'a> {
    pub(super) fn new(bytes: &'a [u8]) -> Self {
        Self { bytes, at: 0, row: 1, row_start: 0, token: 0, token_line: 1, token_line_start: 0 }
    }

    /// Line of the last token, from 1.
    pub(super) fn line(&self) -> usize {
        self.token_line
    }

    /// Column of the last token, from 1.
    pub(super) fn column(&self) -> usize {
        self.token - self.token_line_start + 1
    }

    pub(super) fn offset(&self) -> usize {
        self.at
    }

    pub(super) fn text_since(&self, start: usize) -> &'a [u8] {
        &self.bytes[start..self.at]
    }

    pub(super) fn peek(&mut self) -> Option<u8> {
        self.skip_blank().ok()?;
        self.bytes.get(self.at).copied()
    }

    pub(super) fn next(&mut self) -> Result<Token<'a>, Trouble> {
        self.skip_blank()?;
        self.begin_token();
        let Some(&byte) = self.bytes.get(self.at) else {
            return Err(("the end of the file".to_owned(), "END-ISO-10303-21;"));
        };
        self.at += 1;
        Ok(match byte {
            b'(' => Token::Open,
            b')' => Token::Close,
            b',' => Token::Comma,
            b';' => Token::Semicolon,
            b'=' => Token::Equals,
            b'$' | b'*' => Token::Other,
            b'\'' => self.quoted(b'\'')?,
            b'"' => self.quoted(b'"')?,
            b'.' if self.bytes.get(self.at).is_some_and(u8::is_ascii_alphabetic) => {
                self.enclosed(b'.', |b| b.is_ascii_alphanumeric() || b == b'_')?
            }
            b'<' => self.enclosed(b'>', |b| b.is_ascii_graphic() || b == b' ')?,
            b'#' => self.reference()?,
            b'+' | b'-' | b'.' | b'0'..=b'9' => self.number()?,
            b'A'..=b'Z' | b'a'..=b'z' | b'!' | b'_' => self.word()?,
            other => return Err((named(other), "a part of a STEP file")),
        })
    }

    fn skip_blank(&mut self) -> Result<(), Trouble> {
        while let Some(&byte) = self.bytes.get(self.at) {
            match byte {
                b'\n' => self.new_line(),
                b' ' | b'\t' | b'\r' | b'\x0b' | b'\x0c' => self.at += 1,
                b'/' if self.bytes.get(self.at + 1) == Some(&b'*') => self.comment()?,
                _ => break,
            }
        }
        Ok(())
    }

    fn begin_token(&mut self) {
        self.token = self.at;
        self.token_line = self.row;
        self.token_line_start = self.row_start;
    }

    fn new_line(&mut self) {
        self.at += 1;
        self.row += 1;
        self.row_start = self.at;
    }

    fn comment(&mut self) -> Result<(), Trouble> {
        self.begin_token();
        self.at += 2;
        loop {
            match self.bytes.get(self.at) {
                None => return Err(("a comment that is never closed".to_owned(), "\"*/\"")),
                Some(b'*') if self.bytes.get(self.at + 1) == Some(&b'/') => {
                    self.at += 2;
                    return Ok(());
                }
                Some(b'\n') => self.new_line(),
                Some(_) => self.at += 1,
            }
        }
    }

    /// A doubled quote stands for itself. Characters beyond ASCII are let pass: many systems
    /// write them, and nothing here depends on names.
    fn quoted(&mut self, quote: u8) -> Result<Token<'a>, Trouble> {
        loop {
            match self.bytes.get(self.at) {
                None | Some(0) => {
                    return Err(("a text that is never closed".to_owned(), "its closing quote"));
                }
                Some(&b) if b == quote && self.bytes.get(self.at + 1) == Some(&quote) => {
                    self.at += 2;
                }
                Some(&b) if b == quote => {
                    self.at += 1;
                    return Ok(Token::Text);
                }
                Some(b'\n') => self.new_line(),
                Some(_) => self.at += 1,
            }
        }
    }

    fn enclosed(&mut self, end: u8, allowed: impl Fn(u8) -> bool) -> Result<Token<'a>, Trouble> {
        while let Some(&b) = self.bytes.get(self.at) {
            self.at += 1;
            if b == end {
                return Ok(Token::Other);
            }
            if !allowed(b) {
                return Err((named(b), "the end of the value before it"));
            }
        }
        Err(("the end of the file".to_owned(), "the end of the value before it"))
    }

    fn while_(&mut self, allowed: impl Fn(u8) -> bool) -> &'a str {
        let start = self.token;
        while self.bytes.get(self.at).is_some_and(|b| allowed(*b)) {
            self.at += 1;
        }
        std::str::from_utf8(&self.bytes[start..self.at]).unwrap_or_default()
    }

    fn reference(&mut self) -> Result<Token<'a>, Trouble> {
        let text = self.while_(|b| b.is_ascii_alphanumeric() || b == b'_');
        // the largest number that every reader holds
        match text[1..].parse::<u64>() {
            Ok(id) if id > 0 && id <= i32::MAX as u64 => Ok(Token::Number(id)),
            // a constant (#PI) is no instance
            _ if text[1..].starts_with(|c: char| c.is_ascii_alphabetic()) => Ok(Token::Other),
            _ => Err((format!("\"{text}\""), "# and a number from 1 to 2147483647")),
        }
    }

    fn number(&mut self) -> Result<Token<'a>, Trouble> {
        let text = self.while_(|b| b.is_ascii_digit() || b"+-.eE".contains(&b));
        match text.parse::<f64>() {
            Ok(value) => Ok(Token::Real(value)),
            Err(_) => Err((format!("\"{text}\""), "a number")),
        }
    }

    fn word(&mut self) -> Result<Token<'a>, Trouble> {
        Ok(Token::Word(self.while_(|b| b.is_ascii_alphanumeric() || b"_-!".contains(&b))))
    }
}

/// A byte as a message names it.
fn named(byte: u8) -> String {
    if byte.is_ascii_graphic() {
        format!("\"{}\"", char::from(byte))
    } else {
        format!("the byte {byte:#04x}")
    }
}
