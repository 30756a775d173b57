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
        self.fault = None;
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
