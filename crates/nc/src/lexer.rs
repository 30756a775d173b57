//! Bytes to blocks, one line at a time, without copying.

use crate::block::{Block, bit};
use crate::dialect::{Comments, Dialect};
use crate::expression::extent;
use crate::fault::Fault;
use crate::number;
use crate::statement::keyword;

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
    variables: bool,
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
            variables: dialect.variables.is_some(),
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
            b'#' => self.statement(block, "an assignment"),
            b'[' | b']' | b'=' | b'*' | b'+' | b'-' => self.refuse(
                block,
                &format!("`{}` belongs to an expression, and none stands here", char::from(byte)),
                "words of a letter and a number, or of a letter and an expression in square brackets",
                "write it as X[#1+2.]",
            ),
            b',' => self.refuse(
                block,
                "`,` is no part of a word: the decimal sign is a point",
                "words of a letter and a number, comments apart",
                "write a point",
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
            b'O' if block.is_empty() || block.present == bit(b'N') => {
                block.program = Some(found.value.abs() as u32);
            }
            b'O' => return self.late_program(block),
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
        if letter == b'M' && block.calls_macro {
            return self.argument(block, letter, value);
        }
        if let Err([message, expected, remedy]) = block.code(letter, value) {
            self.refuse(block, &message, &expected, &remedy);
        }
    }

    /// An M word that is an argument of a macro.
    #[cold]
    fn argument(&mut self, block: &mut Block, letter: u8, value: f64) {
        if block.has(letter) {
            return self.twice(block, letter);
        }
        block.present |= bit(letter);
        block.put(letter, value, true);
    }

    #[cold]
    fn late_program(&mut self, block: &mut Block) {
        self.refuse(
            block,
            "the number of a program after other words of the block",
            "the number of a program at the beginning of its line",
            "put it on a line of its own, or drop it",
        );
    }

    #[cold]
    fn twice(&mut self, block: &mut Block, letter: u8) {
        let message = format!("`{}` stands twice in this block", char::from(letter));
        self.refuse(block, &message, "each letter once", "divide the block, or drop one of them");
    }

    #[cold]
    fn no_number(&mut self, block: &mut Block, letter: u8, start: usize) {
        let mut next = self.bytes.get(start).copied();
        if matches!(next, Some(b'+' | b'-')) {
            next = self.bytes[start + 1..].iter().find(|b| !matches!(b, b' ' | b'\t')).copied();
        }
        if matches!(next, Some(b'#' | b'[')) {
            return self.computed(block, letter, start);
        }
        if let Some((word, _)) = keyword(self.bytes, self.at) {
            return self.statement(block, word);
        }
        let shown = char::from(letter);
        let message = format!("`{shown}` has no number that could be read");
        let expected = "a number with a point as decimal sign";
        if matches!(next, Some(b'O' | b'o')) {
            let remedy = "write the digit 0 where the letter O stands";
            return self.refuse(block, &message, expected, remedy);
        }
        let remedy = "correct the word; a file that was cut off ends like this";
        self.refuse(block, &message, expected, remedy);
    }

    /// A word whose number is a variable or an expression.
    fn computed(&mut self, block: &mut Block, letter: u8, start: usize) {
        let shown = char::from(letter);
        if !self.variables {
            self.at = start;
            return self.refuse(
                block,
                &format!(
                    "the number of `{shown}` is a variable or an expression, which this dialect does \
                     not have"
                ),
                "a plain number",
                "name the dialect that the program is written in (--dialect), or let the program be \
                 written out with plain numbers",
            );
        }
        if matches!(letter, b'N' | b'O') {
            self.at = start;
            let message = format!("the number of `{shown}` is a variable or an expression");
            let remedy = "number the block or the program itself";
            return self.refuse(block, &message, "a plain number", remedy);
        }
        let code = matches!(letter, b'G') || (letter == b'M' && !block.calls_macro);
        if !code && block.has(letter) {
            return self.twice(block, letter);
        }
        match extent(self.bytes, start) {
            Ok(end) => {
                block.computed.push((letter, start));
                if !code {
                    block.present |= bit(letter);
                }
                self.at = end;
            }
            Err(wrong) => {
                self.at = wrong.at;
                self.refuse(block, &wrong.message, &wrong.expected, &wrong.remedy);
            }
        }
    }

    /// A block that begins with `what`, a variable or a word of letters.
    #[cold]
    fn statement(&mut self, block: &mut Block, what: &str) {
        if !self.variables {
            return self.refuse(
                block,
                &format!("{what}: this dialect has no variables, loops and jumps"),
                "words of a letter and a number",
                "name the dialect that the program is written in (--dialect), or let the program be \
                 written out with plain numbers",
            );
        }
        let words = block.present & !bit(b'N') != 0 || block.g_count + block.m_count > 0;
        if words || block.program.is_some() || !block.computed.is_empty() {
            return self.refuse(
                block,
                &format!("{what} after other words of the block"),
                "a block of its own, with nothing but a block number before it",
                "divide the block",
            );
        }
        block.statement = Some(self.at);
        while let Some(&byte) = self.bytes.get(self.at) {
            match byte {
                b'\n' => return,
                b'(' if !self.semicolon_only => self.comment(block),
                b';' => self.line_comment(block),
                _ => self.at += 1,
            }
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
