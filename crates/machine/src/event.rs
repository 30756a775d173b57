//! What takes time without moving an axis along a path: tool changes, the spindle's ramp, dwells,
//! auxiliary words.

use crate::{Dynamics, Machine};

/// Something that the program waits for.
#[derive(Debug, Clone, PartialEq)]
pub enum Event {
    /// A change to another tool, chip to chip.
    ToolChange,
    /// The spindle goes from one speed to another, rev/min.
    Spindle {
        /// Speed before.
        from_rpm: f64,
        /// Speed after.
        to_rpm: f64,
    },
    /// A dwell that the program asks for, s.
    Dwell(f64),
    /// An auxiliary word, `M8`; words that the machine file does not list take no time.
    Word(String),
}

impl Machine {
    /// Time of an event under `dynamics`, s.
    ///
    /// The spindle's ramp of the machine file belongs to its full speed; a smaller change takes its
    /// share of it, as at constant torque (derived). A dwell that is no time at all counts as zero.
    pub fn event_s(&self, event: &Event, dynamics: &Dynamics) -> f64 {
        match event {
            Event::ToolChange => dynamics.tool_change_s,
            Event::Spindle { from_rpm, to_rpm } => {
                let change = (to_rpm - from_rpm).abs();
                let share = self.spindle.max_rpm.map_or(1.0, |max| (change / max).min(1.0));
                if change > 0.0 { self.spindle_ramp_s * share } else { 0.0 }
            }
            Event::Dwell(seconds) => seconds.max(0.0),
            Event::Word(word) => self.word_s(word),
        }
    }

    /// Time of an M word, however it is written: `M8`, `m08`.
    fn word_s(&self, word: &str) -> f64 {
        let word = word.trim().to_ascii_uppercase();
        let number = word.strip_prefix('M').and_then(|digits| digits.parse::<u32>().ok());
        number.and_then(|n| self.m_codes.get(&format!("M{n}"))).copied().unwrap_or(0.0)
    }
}
