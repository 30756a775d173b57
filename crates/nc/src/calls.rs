//! Subprograms: where they begin, and who called.

use crate::block::{Block, bit};
use crate::dialect::{Dialect, MCode};
use crate::fault::{Complaint, Topic, complaint};
use crate::lexer::Lexer;
use crate::run::Reader;
use machine::Event;
use std::collections::BTreeMap;

/// Where a block begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Spot {
    pub(crate) at: usize,
    pub(crate) line: u32,
}

/// A call that has not come back.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Call {
    /// Where it goes on afterwards.
    pub(crate) back: Spot,
    /// Where the subprogram begins.
    pub(crate) start: Spot,
    /// Runs that are still to come after this one.
    pub(crate) again: u64,
    /// It has local variables of its own.
    pub(crate) is_macro: bool,
}

/// The first block after each program number of the file, and whether another one has it as well.
pub(crate) fn index(bytes: &[u8], dialect: &Dialect) -> BTreeMap<u32, (Spot, bool)> {
    let mark = u8::try_from(dialect.program_mark).unwrap_or(b'O').to_ascii_uppercase();
    let mut found = BTreeMap::new();
    let mut lexer = Lexer::new(bytes, dialect);
    let mut block = Block::default();
    let (mut at, mut line) = (lexer.at, lexer.line);
    while at < bytes.len() {
        let rest = &bytes[at..];
        let length = rest.iter().position(|b| *b == b'\n').map_or(rest.len(), |n| n + 1);
        let first = rest[..length].iter().find(|b| !matches!(b, b' ' | b'\t'));
        if first.is_some_and(|b| b.to_ascii_uppercase() == mark) {
            (lexer.at, lexer.line) = (at, line);
            if lexer.next(&mut block)
                && let (Some(number), None) = (block.program, &block.fault)
            {
                found
                    .entry(number)
                    .and_modify(|(_, several)| *several = true)
                    .or_insert((Spot { at, line }, false));
            }
        }
        at += length;
        line += 1;
    }
    found
}

impl Reader<'_> {
    /// Calls, returns and the end.
    #[inline]
    pub(crate) fn flow(
        &mut self,
        block: &Block,
        start: usize,
        lexer: &mut Lexer<'_>,
    ) -> Result<(), Complaint> {
        for &m in block.m() {
            match self.codes.m(m) {
                Some(MCode::Call) => self.call(block, lexer)?,
                Some(MCode::Return) => self.come_back(block, start, lexer)?,
                Some(MCode::End) => {
                    self.wait(block.line, Event::Word(format!("M{m}")));
                    self.ended = true;
                }
                _ => {}
            }
        }
        Ok(())
    }

    fn call(&mut self, block: &Block, lexer: &mut Lexer<'_>) -> Result<(), Complaint> {
        let repeat = u8::try_from(self.dialect.repeat).unwrap_or(b'L');
        let Some(p) = block.get(b'P').filter(|p| *p >= 0.0 && p.fract() == 0.0) else {
            let expected = "P with the number of the subprogram";
            return Err(complaint(b'M', "a call without a number", expected, "add P"));
        };
        let (mut number, mut times) = (p, block.get(repeat));
        if times.is_none() && p >= 1e4 {
            // repeats before the last four digits
            (number, times) = (p % 1e4, Some((p / 1e4).floor()));
        }
        self.enter(number, times.unwrap_or(1.0), None, lexer)
    }

    /// A call of a macro: the letters of the block fill its local variables.
    pub(crate) fn call_macro(
        &mut self,
        block: &Block,
        lexer: &mut Lexer<'_>,
    ) -> Result<(), Complaint> {
        let Some(p) = block.get(b'P').filter(|p| *p >= 0.0 && p.fract() == 0.0) else {
            let expected = "P with the number of the macro";
            return Err(complaint(b'G', "a macro call without a number", expected, "add P"));
        };
        let repeat = u8::try_from(self.dialect.repeat).unwrap_or(b'L');
        let mut given = Vec::new();
        let mut letters = block.present & !(bit(b'P') | bit(b'N') | bit(repeat));
        while letters != 0 {
            let letter = b'A' + letters.trailing_zeros() as u8;
            letters &= letters - 1;
            let rules = self.store.as_ref().map(|s| &s.rules);
            let Some(number) = rules.and_then(|r| r.argument(letter)) else {
                return Err(complaint(
                    letter,
                    format!("`{}` is no argument of a macro", char::from(letter)),
                    "letters that fill variables",
                    "use another letter",
                ));
            };
            given.push((number, self.argument(block, letter)));
        }
        let times = block.get(repeat).unwrap_or(1.0);
        self.enter(p, times, Some(&given), lexer)
    }

    /// A subprogram begins, a macro with the variables that are given.
    fn enter(
        &mut self,
        number: f64,
        times: f64,
        given: Option<&[(u32, f64)]>,
        lexer: &mut Lexer<'_>,
    ) -> Result<(), Complaint> {
        let repeat = u8::try_from(self.dialect.repeat).unwrap_or(b'L');
        if !(0.0..=1e9).contains(&times) || times.fract() != 0.0 || number > 1e9 {
            let message = format!("a subprogram cannot be run {times} times");
            return Err(complaint(repeat, message, "a whole number", "correct the repeats"));
        }
        let starts = self.starts.get_or_insert_with(|| index(self.bytes, self.dialect));
        let mark = self.dialect.program_mark;
        let Some(&(start, several)) = starts.get(&(number as u32)) else {
            return Err(complaint(
                b'P',
                format!("there is no subprogram {mark}{number} in this file"),
                format!("a line with {mark}{number}"),
                "append the subprogram to the file, after the end of the main program",
            ));
        };
        if several {
            self.list.topic(Topic::ProgramTwice(number as u32), start.line, || {
                let why =
                    "this number stands for several programs of the file: the first is called";
                (format!("{mark}{number}"), why.into())
            });
        }
        if self.calls.len() >= self.dialect.nesting {
            self.ended = true;
            return Err(complaint(
                b'M',
                format!("calls go more than {} deep: do they ever return?", self.dialect.nesting),
                "subprograms that end with M99 and do not call themselves",
                "end the circle of calls",
            ));
        }
        if times > 0.0 {
            let back = Spot { at: lexer.at, line: lexer.line };
            let is_macro = given.is_some();
            self.calls.push(Call { back, start, again: times as u64 - 1, is_macro });
            if let (Some(given), Some(store)) = (given, &mut self.store) {
                store.enter(given);
            }
            (lexer.at, lexer.line) = (start.at, start.line);
        }
        Ok(())
    }

    fn come_back(
        &mut self,
        block: &Block,
        start: usize,
        lexer: &mut Lexer<'_>,
    ) -> Result<(), Complaint> {
        let Some(call) = self.calls.last_mut() else {
            if let Some(number) = block.get(b'P') {
                let told = (start, start);
                return self
                    .go_to_number(block, number, told, start, lexer)
                    .map_err(|wrong| wrong.about(b'P'));
            }
            self.ended = true;
            self.list.topic(Topic::AfterEnd, block.line, || {
                let why = "the main program begins again from here without end: one run is counted";
                ("M99".into(), why.into())
            });
            return Ok(());
        };
        let call_was = *call;
        if call.again > 0 && !block.has(b'P') {
            call.again -= 1;
            if let (true, Some(store)) = (call.is_macro, &mut self.store) {
                store.again();
            }
            (lexer.at, lexer.line) = (call_was.start.at, call_was.start.line);
            return Ok(());
        }
        self.calls.pop();
        if let (true, Some(store)) = (call_was.is_macro, &mut self.store) {
            store.leave();
        }
        (lexer.at, lexer.line) = (call_was.back.at, call_was.back.line);
        if let Some(number) = block.get(b'P') {
            // to the block that the number names in the program that called
            let from = call_was.back.at.saturating_sub(1);
            return self
                .go_to_number(block, number, (start, start), from, lexer)
                .map_err(|wrong| wrong.about(b'P'));
        }
        Ok(())
    }
}
