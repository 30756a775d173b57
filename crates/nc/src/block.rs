//! One block: its words by letter.

use crate::fault::Fault;
use std::ops::Range;

/// Most G words, and most M words, of one block.
pub(crate) const MOST: usize = 12;

/// Words of one block; used again for every block.
#[derive(Debug, Clone, Default)]
pub(crate) struct Block {
    /// Line, from 1.
    pub(crate) line: u32,
    /// Letters that stand in the block, G and M left out; bit 0 is A.
    pub(crate) present: u32,
    /// Letters whose number has a decimal point.
    pub(crate) pointed: u32,
    /// Values by letter.
    pub(crate) value: [f64; 26],
    /// G words in tenths.
    pub(crate) g: [u16; MOST],
    pub(crate) g_count: usize,
    /// M words.
    pub(crate) m: [u16; MOST],
    pub(crate) m_count: usize,
    /// The line begins with a block delete.
    pub(crate) deletable: bool,
    /// The line is a program number.
    pub(crate) program: Option<u32>,
    /// Content of the last comment in the block.
    pub(crate) comment: Option<Range<usize>>,
    /// A comment has no end on its line.
    pub(crate) open_comment: bool,
    /// The line begins or ends the tape.
    pub(crate) tape: bool,
    /// Where a statement begins: the block is no words.
    pub(crate) statement: Option<usize>,
    /// Words whose number is a variable or an expression: letter, and where it begins.
    pub(crate) computed: Vec<(u8, usize)>,
    /// G word in tenths that calls a macro, where the dialect has one.
    pub(crate) macro_word: Option<u16>,
    /// The block calls a macro: its letters are arguments.
    pub(crate) calls_macro: bool,
    /// What is wrong with the block as text.
    pub(crate) fault: Option<Fault>,
}

/// Bit of a letter.
pub(crate) const fn bit(letter: u8) -> u32 {
    1 << (letter - b'A')
}

impl Block {
    pub(crate) fn clear(&mut self, line: u32) {
        self.line = line;
        self.present = 0;
        self.pointed = 0;
        self.g_count = 0;
        self.m_count = 0;
        self.deletable = false;
        self.program = None;
        self.comment = None;
        self.open_comment = false;
        self.tape = false;
        self.statement = None;
        self.computed.clear();
        self.calls_macro = false;
        self.fault = None;
    }

    /// A word whose number was computed; `pointed`: as if it had a decimal point.
    pub(crate) fn put(&mut self, letter: u8, value: f64, pointed: bool) {
        self.value[usize::from(letter - b'A')] = value;
        if pointed {
            self.pointed |= bit(letter);
        }
    }

    /// A word that is not there after all.
    pub(crate) fn leave_out(&mut self, letter: u8) {
        self.present &= !bit(letter);
    }

    /// Adds a G or M word; says what is wrong, what was expected and what to do.
    pub(crate) fn code(&mut self, letter: u8, value: f64) -> Result<(), [String; 3]> {
        let (list, count, code) = if letter == b'G' {
            (&mut self.g, &mut self.g_count, value * 10.0)
        } else {
            (&mut self.m, &mut self.m_count, value)
        };
        let shown = char::from(letter);
        let whole = code.round();
        if !(0.0..=60_000.0).contains(&whole) || (whole - code).abs() > 1e-6 {
            return Err([
                format!("there is no code {shown}{value}"),
                "a G word from 0 to 999.9 or an M word from 0 to 999".into(),
                "correct the number".into(),
            ]);
        }
        if *count == MOST {
            let message = format!("more than {MOST} {shown} words in one block");
            return Err([message, "fewer words".into(), "divide the block".into()]);
        }
        list[*count] = whole as u16;
        *count += 1;
        self.calls_macro |= letter == b'G' && self.macro_word == Some(whole as u16);
        Ok(())
    }

    /// The number after `letter`.
    pub(crate) fn get(&self, letter: u8) -> Option<f64> {
        self.has(letter).then(|| self.value[usize::from(letter - b'A')])
    }

    pub(crate) fn has(&self, letter: u8) -> bool {
        self.present & bit(letter) != 0
    }

    pub(crate) fn is_pointed(&self, letter: u8) -> bool {
        self.pointed & bit(letter) != 0
    }

    /// Whether any of `letters` (bits) stands in the block.
    pub(crate) fn any(&self, letters: u32) -> bool {
        self.present & letters != 0
    }

    /// Whether nothing stands in it.
    pub(crate) fn is_empty(&self) -> bool {
        self.present == 0 && self.g_count == 0 && self.m_count == 0
    }

    pub(crate) fn g(&self) -> &[u16] {
        &self.g[..self.g_count]
    }

    pub(crate) fn m(&self) -> &[u16] {
        &self.m[..self.m_count]
    }

    /// A word as it may be shown: `X12.5`.
    pub(crate) fn word(&self, letter: u8) -> String {
        let value = self.get(letter).unwrap_or(0.0);
        format!("{}{value}", char::from(letter))
    }
}
