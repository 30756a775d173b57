//! Bytes to blocks, one line at a time, without copying.

use crate::block::{Block, MOST, bit};
use crate::dialect::{Comments, Dialect};
use crate::fault::Fault;
use crate::number;

/// Reads blocks from the bytes of a program.
#[derive(Debug, Clone)]
pub(crate) struct Lexer<'a> {
    bytes: &'a [u8],
    /// Where the next block begins.
    pub(crate) at: usize,
    /// Line of the next block, from 1.
    pub(crate) line: u32,
    semicolon_only: bool,
    equals: bool,
    mark: u8,
}

/// Where something stands on its line, in bytes from 1.
pub(crate) fn column(bytes: &[u8], at: usize) -> u32 {
    let before = &bytes[..at.min(bytes.len())];
    let line_start = before.iter().rposition(|b| *b == b'\n').map_or(0, |n| n + 1);
    (before.len() - line_start + 1) as u32
}

impl<'a> Lexer<'a> {
    pub(crate) fn new(bytes: &'a [u8], dialect: &Dialect) -> Self {
        // a byte order mark is no word
        let at = if bytes.starts_with(b"\xef\xbb\xbf") { 3 } else { 0 };
        Self {
            bytes,
            at,
            line: 1,
            semicolon_only: dialect.comments == Comments::Semicolon,
            equals: dialect.equals,
            mark: u8::try_from(dialect.program_mark).unwrap_or(b'O'),
        }
    }

    /// Reads one line into `block`; false at the end of the bytes.
    pub(crate) fn next(&mut self, block: &mut Block) -> bool {
        if self.at >= self.bytes.len() {
            return false;
        }
        block.clear(self.line);
        while let Some(&byte) = self.bytes.get(self.at) {
            match byte {
                b'\n' => {
                    self.at += 1;
                    self.line += 1;
                    return true;
                }
                // blanks, and what paper tape leaves behind
                b' ' | b'\t' | b'\r' | 0 | 0x7f => self.at += 1,
                b'A'..=b'Z' | b'a'..=b'z' => self.word(block, byte.to_ascii_uppercase()),
                _ => self.sign(block, byte),
            }
        }
        true
    }

    #[cold]
    fn sign(&mut self, block: &mut Block, byte: u8) {
        match byte {
            b'(' if !self.semicolon_only => self.comment(block),
            b';' => self.line_comment(block),
            b'/' if block.is_empty() || block.present == bit(b'N') => {
                block.deletable = true;
                self.at += 1;
                while self.bytes.get(self.at).is_some_and(u8::is_ascii_digit) {
                    self.at += 1;
                }
            }
            b'%' if block.is_empty() => {
                block.tape = true;
                self.line_comment(block);
            }
            mark if mark == self.mark => self.word(block, b'O'),
            b'#' | b'[' | b']' | b'=' | b'*' | b'<' | b'>' => self.refuse(
                block,
                &format!(
                    "`{}` belongs to variables and expressions, which are not followed",
                    char::from(byte)
                ),
                "words of a letter and a number",
                "let the control or the postprocessor write the program out with plain numbers",
            ),
            _ => {
                let shown = if byte.is_ascii_graphic() {
                    format!("`{}`", char::from(byte))
                } else {
                    format!("byte 0x{byte:02x}")
                };
                self.refuse(
                    block,
                    &format!("{shown} is no part of a word"),
                    "words of a letter and a number, comments apart",
                    "correct the line; check that the file is the program as the control has it",
                );
            }
        }
    }

    #[inline]
    fn word(&mut self, block: &mut Block, letter: u8) {
        let mut start = self.at + 1;
        while matches!(self.bytes.get(start), Some(b' ' | b'\t')) {
            start += 1;
        }
        if self.equals && self.bytes.get(start) == Some(&b'=') {
            start += 1;
        }
        let Some(found) = number::at(self.bytes, start) else {
            return self.no_number(block, letter, start);
        };
        match letter {
            b'G' | b'M' => self.code(block, letter, found.value),
            b'O' => block.program = Some(found.value.abs() as u32),
            _ => {
                let mask = bit(letter);
                if block.present & mask != 0 {
                    return self.twice(block, letter);
                }
                block.present |= mask;
                if found.pointed {
                    block.pointed |= mask;
                }
                block.value[usize::from(letter - b'A')] = found.value;
            }
        }
        if block.fault.is_none() {
            self.at = found.end;
        }
    }

    fn code(&mut self, block: &mut Block, letter: u8, value: f64) {
        let (list, count, code) = if letter == b'G' {
            (&mut block.g, &mut block.g_count, value * 10.0)
        } else {
            (&mut block.m, &mut block.m_count, value)
        };
        let whole = code.round();
        if !(0.0..=60_000.0).contains(&whole) || (whole - code).abs() > 1e-6 {
            let message = format!("there is no code {}{value}", char::from(letter));
            return self.refuse(
                block,
                &message,
                "a G word from 0 to 999.9 or an M word from 0 to 999",
                "correct the number",
            );
        }
        if *count == MOST {
            let message = format!("more than {MOST} {} words in one block", char::from(letter));
            return self.refuse(block, &message, "fewer words", "divide the block");
        }
        list[*count] = whole as u16;
        *count += 1;
    }

    #[cold]
    fn twice(&mut self, block: &mut Block, letter: u8) {
        let message = format!("`{}` stands twice in this block", char::from(letter));
        self.refuse(block, &message, "each letter once", "divide the block, or drop one of them");
    }

    #[cold]
    fn no_number(&mut self, block: &mut Block, letter: u8, start: usize) {
        let next = self.bytes.get(start).copied();
        let shown = char::from(letter);
        match next {
            Some(b'#' | b'[') => {
                self.at = start;
                self.refuse(
                    block,
                    &format!("the number of `{shown}` is a variable or an expression, which are not followed"),
                    "a plain number",
                    "let the control or the postprocessor write the program out with plain numbers",
                );
            }
            _ => self.refuse(
                block,
                &format!("`{shown}` has no number that could be read"),
                "a number with a point as decimal sign",
                "correct the word; a file that was cut off ends like this",
            ),
        }
    }

    /// Puts a fault on the block and goes to the end of the line.
    #[cold]
    fn refuse(&mut self, block: &mut Block, message: &str, expected: &str, remedy: &str) {
        block.fault = Some(Fault {
            line: self.line,
            column: column(self.bytes, self.at),
            message: message.into(),
            expected: expected.into(),
            remedy: remedy.into(),
        });
        self.skip_line();
    }

    fn skip_line(&mut self) {
        let rest = &self.bytes[self.at..];
        self.at += rest.iter().position(|b| *b == b'\n').unwrap_or(rest.len());
    }

    fn line_comment(&mut self, block: &mut Block) {
        let from = self.at + 1;
        self.skip_line();
        block.comment = Some(from.min(self.at)..self.at);
    }

    fn comment(&mut self, block: &mut Block) {
        let from = self.at + 1;
        let rest = &self.bytes[from..];
        let end = rest.iter().position(|b| matches!(b, b')' | b'\n')).unwrap_or(rest.len());
        block.comment = Some(from..from + end);
        if rest.get(end) == Some(&b')') {
            self.at = from + end + 1;
        } else {
            block.open_comment = true;
            self.at = from + end;
        }
    }
}
