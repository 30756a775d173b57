//! Expressions: numbers, variables, brackets, operators and functions, evaluated where they stand.

mod arithmetic;
mod functions;
mod wrong;

pub(crate) use wrong::Wrong;

use crate::number;
use crate::store::Store;
use arithmetic::{COMPARISONS, Operator, PRODUCTS, SUMS};

/// Most brackets inside each other.
pub(crate) const DEEPEST: usize = 32;

/// What an expression gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Value {
    /// A variable that holds nothing.
    Vacant,
    Number(f64),
    Truth(bool),
}

/// What deserves a look although there is a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Heard {
    /// A variable that holds nothing counted as 0.
    pub(crate) vacant: bool,
    /// Two numbers counted as equal, or one as whole, that differ by rounding.
    pub(crate) near: bool,
}

/// Reads the text of a line from `at` on.
#[derive(Debug)]
pub(crate) struct Evaluator<'a> {
    pub(crate) bytes: &'a [u8],
    pub(crate) at: usize,
    store: &'a Store,
    depth: usize,
    pub(crate) heard: Heard,
}

impl<'a> Evaluator<'a> {
    pub(crate) fn new(bytes: &'a [u8], at: usize, store: &'a Store) -> Self {
        Self { bytes, at, store, depth: 0, heard: Heard::default() }
    }

    /// The next sign that is no blank, 0 at the end of the line and before a comment of a line.
    pub(crate) fn peek(&mut self) -> u8 {
        while matches!(self.bytes.get(self.at), Some(b' ' | b'\t' | b'\r' | 0 | 0x7f)) {
            self.at += 1;
        }
        match self.bytes.get(self.at) {
            Some(b'\n' | b';') | None => 0,
            Some(byte) => byte.to_ascii_uppercase(),
        }
    }

    /// Whether nothing but a comment follows.
    pub(crate) fn is_over(&mut self) -> bool {
        matches!(self.peek(), 0 | b'(')
    }

    /// Goes past `word` where it stands next.
    pub(crate) fn takes(&mut self, word: &str) -> bool {
        self.peek();
        let next = self.bytes.get(self.at..self.at + word.len());
        let found = next.is_some_and(|bytes| bytes.eq_ignore_ascii_case(word.as_bytes()));
        if found {
            self.at += word.len();
        }
        found
    }

    /// What stands next, for a message.
    pub(crate) fn shown(&mut self) -> String {
        if self.is_over() {
            return "the end of the block".to_owned();
        }
        let rest = &self.bytes[self.at..];
        let letters = rest.iter().take_while(|b| b.is_ascii_alphabetic()).count();
        match letters {
            0 if rest[0].is_ascii_graphic() => format!("`{}`", char::from(rest[0])),
            0 => format!("byte 0x{:02x}", rest[0]),
            _ => format!("`{}`", String::from_utf8_lossy(&rest[..letters.min(12)])),
        }
    }

    /// The sum that stands here without brackets: the right side of an assignment.
    pub(crate) fn sum(&mut self) -> Result<Value, Wrong> {
        self.chain(&SUMS, Self::product)
    }

    fn product(&mut self) -> Result<Value, Wrong> {
        self.chain(&PRODUCTS, Self::signed)
    }

    /// Operands with operators of one rank between them, from left to right.
    fn chain(
        &mut self,
        operators: &[Operator],
        operand: fn(&mut Self) -> Result<Value, Wrong>,
    ) -> Result<Value, Wrong> {
        let mut left = operand(self)?;
        loop {
            self.peek();
            let at = self.at;
            let Some(operator) = operators.iter().copied().find(|o| self.takes(o.sign())) else {
                return Ok(left);
            };
            let right = operand(self)?;
            left = self.apply(operator, left, right, at)?;
        }
    }

    fn comparison(&mut self) -> Result<Value, Wrong> {
        let left = self.sum()?;
        self.peek();
        let at = self.at;
        let Some(operator) = COMPARISONS.into_iter().find(|o| self.takes(o.sign())) else {
            return Ok(left);
        };
        let right = self.sum()?;
        let value = self.apply(operator, left, right, at)?;
        self.peek();
        let at = self.at;
        if COMPARISONS.into_iter().any(|o| self.takes(o.sign())) {
            return Err(Wrong::new(
                at,
                "two comparisons in a row",
                "each comparison in brackets of its own, joined by AND or OR",
                "write it as [[..] AND [..]]",
            ));
        }
        Ok(value)
    }

    fn signed(&mut self) -> Result<Value, Wrong> {
        let sign = self.peek();
        let at = self.at;
        match sign {
            b'+' | b'-' => {
                self.at += 1;
                if matches!(self.peek(), b'+' | b'-') {
                    return Err(self.misplaced("one sign before a number"));
                }
                let value = self.operand()?;
                if sign == b'+' || value == Value::Vacant {
                    return Ok(value);
                }
                Ok(Value::Number(-self.number(value, at)?))
            }
            _ => self.operand(),
        }
    }

    fn operand(&mut self) -> Result<Value, Wrong> {
        match self.peek() {
            b'0'..=b'9' | b'.' => {
                let found = number::at(self.bytes, self.at).ok_or_else(|| self.no_operand())?;
                self.at = found.end;
                Ok(Value::Number(found.value))
            }
            b'#' => self.variable(),
            b'[' => self.bracket(),
            b'A'..=b'Z' => self.function(),
            _ => Err(self.no_operand()),
        }
    }

    #[cold]
    fn no_operand(&mut self) -> Wrong {
        let shown = self.shown();
        if self.peek() == b'(' {
            return Wrong::new(
                self.at,
                "a parenthesis in an expression: parentheses hold comments",
                "square brackets",
                "write [ and ]",
            );
        }
        Wrong::new(
            self.at,
            format!("{shown} where a number of the expression should stand"),
            "a number, a variable, a bracket or a function",
            "complete the expression",
        )
    }

    /// What cannot stand here.
    #[cold]
    pub(crate) fn misplaced(&mut self, expected: &'static str) -> Wrong {
        let message = format!("{} cannot stand here", self.shown());
        Wrong::new(self.at, message, expected, "correct the block")
    }

    /// The value of the bracket that opens here.
    pub(crate) fn bracket(&mut self) -> Result<Value, Wrong> {
        let open = self.open()?;
        let value = self.comparison()?;
        self.close(open)?;
        Ok(value)
    }

    /// Goes into a bracket; where it opens.
    fn open(&mut self) -> Result<usize, Wrong> {
        let open = self.at;
        self.deeper()?;
        self.at += 1;
        Ok(open)
    }

    fn deeper(&mut self) -> Result<(), Wrong> {
        self.depth += 1;
        if self.depth > DEEPEST {
            return Err(Wrong::new(
                self.at,
                format!("brackets go more than {DEEPEST} deep"),
                "a shorter expression",
                "divide it over several variables",
            ));
        }
        Ok(())
    }

    fn close(&mut self, open: usize) -> Result<(), Wrong> {
        match self.peek() {
            b']' => {
                self.at += 1;
                self.depth -= 1;
                Ok(())
            }
            0 | b'(' => Err(Wrong::unclosed(open)),
            _ => Err(self.misplaced("an operator or `]`")),
        }
    }

    /// Number of the variable whose `#` stands here.
    pub(crate) fn variable_number(&mut self) -> Result<u32, Wrong> {
        let at = self.at;
        self.at += 1;
        let whole = match self.peek() {
            b'0'..=b'9' => {
                let from = self.at;
                let rest = &self.bytes[from..];
                let digits = rest.iter().take_while(|b| b.is_ascii_digit()).count();
                self.at += digits;
                number::at(&self.bytes[..self.at], from).map(|n| n.value)
            }
            b'[' | b'#' => {
                self.deeper()?;
                let value = if self.peek() == b'[' { self.bracket()? } else { self.variable()? };
                self.depth -= 1;
                Some(self.whole(value, at)?)
            }
            _ => None,
        };
        match whole {
            Some(number) if (0.0..=f64::from(u32::MAX)).contains(&number) => Ok(number as u32),
            Some(number) => Err(Wrong::new(
                at,
                format!("there is no variable {number}"),
                "the number of a variable",
                "correct it",
            )),
            None => Err(Wrong::new(
                at,
                "`#` without the number of a variable",
                "a number, or an expression in brackets",
                "write it as #101 or #[#1+100]",
            )),
        }
    }

    fn variable(&mut self) -> Result<Value, Wrong> {
        let at = self.at;
        let number = self.variable_number()?;
        match self.store.get(number) {
            Ok(value) => Ok(value.map_or(Value::Vacant, Value::Number)),
            Err(why) => Err(Wrong::unknown(at, number, why, &self.store.rules)),
        }
    }

    /// A value as a number; what holds nothing counts as 0.
    pub(crate) fn number(&mut self, value: Value, at: usize) -> Result<f64, Wrong> {
        match value {
            Value::Number(number) => Ok(number),
            Value::Vacant => {
                self.heard.vacant = true;
                Ok(0.0)
            }
            Value::Truth(_) => Err(Wrong::new(
                at,
                "a comparison where a number should stand",
                "a number",
                "compare in IF or WHILE, and set the variable there",
            )),
        }
    }

    /// A value as a whole number.
    pub(crate) fn whole(&mut self, value: Value, at: usize) -> Result<f64, Wrong> {
        let number = self.number(value, at)?;
        let whole = number.round();
        if !self.equal(number, whole) {
            return Err(Wrong::new(
                at,
                format!("{number} is not a whole number"),
                "a whole number",
                "round it with ROUND, FIX or FUP",
            ));
        }
        Ok(whole)
    }

    /// What must hold for the block to be run, as a comparison in brackets.
    pub(crate) fn condition(&mut self, word: &str) -> Result<bool, Wrong> {
        if self.peek() != b'[' {
            let message = format!("{} after {word}", self.shown());
            let remedy = format!("write it as {word} [#1 LT 10]");
            return Err(Wrong::new(self.at, message, "a comparison in square brackets", remedy));
        }
        let open = self.at;
        match self.bracket()? {
            Value::Truth(holds) => Ok(holds),
            _ => Err(Wrong::new(
                open,
                format!("a number after {word}"),
                "a comparison by EQ, NE, GT, GE, LT or LE",
                "compare the number with another: [#1 NE 0]",
            )),
        }
    }

    /// The number of a word: a variable or a bracket, with a sign; `None` where the variable holds
    /// nothing.
    pub(crate) fn word(&mut self) -> Result<Option<f64>, Wrong> {
        let at = self.at;
        let value = self.signed()?;
        match value {
            Value::Vacant => Ok(None),
            value => self.number(value, at).map(Some),
        }
    }
}

/// End of the number that a word has as a variable or an expression, from `at` on.
pub(crate) fn extent(bytes: &[u8], at: usize) -> Result<usize, Wrong> {
    let mut end = at;
    let is = |at: usize, signs: &[u8]| bytes.get(at).is_some_and(|b| signs.contains(b));
    while is(end, b"+-#") || is(end, b" \t") {
        end += 1;
    }
    if is(end, b"[") {
        return bracket_end(bytes, end);
    }
    while bytes.get(end).is_some_and(u8::is_ascii_digit) {
        end += 1;
    }
    Ok(end)
}

/// The place behind the bracket that opens at `open`.
pub(crate) fn bracket_end(bytes: &[u8], open: usize) -> Result<usize, Wrong> {
    let mut depth = 0usize;
    for (at, byte) in bytes.iter().enumerate().skip(open) {
        match byte {
            b'[' => depth += 1,
            b']' => depth -= 1,
            b'\n' | b'(' | b';' => break,
            _ => {}
        }
        if depth == 0 {
            return Ok(at + 1);
        }
    }
    Err(Wrong::unclosed(open))
}

#[cfg(test)]
mod tests;
