//! Dwells, the spindle, tools and M words.

use crate::block::Block;
use crate::dialect::{MCode, ToolCall};
use crate::fault::{Complaint, Topic, complaint};
use crate::run::Reader;
use machine::Event;
use machine::track::Wait;

impl Reader<'_> {
    pub(crate) fn dwell(&mut self, block: &Block) -> Result<(), Complaint> {
        let dialect = self.dialect;
        let found = dialect.dwell.iter().find_map(|(letter, unit)| {
            let letter = u8::try_from(*letter).ok()?;
            Self::seconds(block, letter, *unit)
        });
        let Some(seconds) = found.filter(|s| *s >= 0.0) else {
            let letters: Vec<String> = dialect.dwell.iter().map(|(l, _)| l.to_string()).collect();
            return Err(complaint(
                b'G',
                "a dwell without a time of 0 or more",
                format!("one of {}", letters.join(", ")),
                "add the time of the dwell",
            ));
        };
        self.wait(block.line, Event::Dwell(seconds));
        Ok(())
    }

    pub(crate) fn wait(&mut self, line: u32, event: Event) {
        let after = self.track.moves.len();
        self.track.waits.push(Wait { after, event, block: line, tool: self.state.tool });
    }

    /// S, T and the M words that act before the block's motion.
    pub(crate) fn before_motion(&mut self, block: &Block) -> Result<(), Complaint> {
        if let Some(speed) = block.get(b'S') {
            self.state.speed_word = speed.abs();
        }
        if let Some(number) = block.get(b'T') {
            self.call_tool(block, number)?;
        }
        let mut turns = self.state.rpm.signum() * f64::from(u8::from(self.state.rpm != 0.0));
        for &m in block.m() {
            match self.codes.m(m) {
                Some(MCode::SpindleClockwise) => turns = 1.0,
                Some(MCode::SpindleCounter) => turns = -1.0,
                Some(MCode::ToolChange)
                    if self.dialect.tool_call == ToolCall::ByChangeWord
                        && self.change_tool(block)? =>
                {
                    turns = 0.0;
                }
                Some(MCode::TipOn) => self.tip_control(true),
                Some(MCode::TipOff) => self.tip_control(false),
                Some(MCode::Auxiliary) if m != 9 => {
                    self.wait(block.line, Event::Word(format!("M{m}")));
                }
                None => {
                    let why = "this M word is not known; it takes the time that the machine file gives \
                               it, if any";
                    self.list.word(block.line, format!("M{m}"), why);
                    self.wait(block.line, Event::Word(format!("M{m}")));
                }
                _ => {}
            }
        }
        self.spindle(block.line, turns * self.state.speed_word);
        Ok(())
    }

    pub(crate) fn spindle(&mut self, line: u32, rpm: f64) {
        if rpm == self.state.rpm {
            return;
        }
        if self.machine.spindle.max_rpm.is_some_and(|max| rpm.abs() > max) {
            let max = self.machine.spindle.max_rpm.unwrap_or(0.0);
            self.list.topic(Topic::SpindleTooFast, line, || {
                (format!("S{}", rpm.abs()), format!("above the spindle's {max} rev/min"))
            });
        }
        self.wait(line, Event::Spindle { from_rpm: self.state.rpm, to_rpm: rpm });
        self.state.rpm = rpm;
    }

    fn call_tool(&mut self, block: &Block, number: f64) -> Result<(), Complaint> {
        if number.fract() != 0.0 || !(0.0..=f64::from(u16::MAX)).contains(&number) {
            let expected = format!("a whole number up to {}", u16::MAX);
            let message = format!("there is no tool {number}");
            return Err(complaint(b'T', message, expected, "correct the T word"));
        }
        let tool = number as u32;
        let unlisted = self.options.tools.as_ref().is_some_and(|tools| !tools.contains(&tool));
        if tool > 0 && unlisted {
            self.list.topic(Topic::ToolUnlisted(tool), block.line, || {
                (format!("T{tool}"), "this tool is not in the list of tools".into())
            });
        }
        self.state.next_tool = Some(tool as u16);
        if self.dialect.tool_call == ToolCall::ByTool && self.change_tool(block)? {
            self.state.rpm = 0.0;
        }
        Ok(())
    }

    /// Changes to the tool of the last T word; whether it is another one.
    fn change_tool(&mut self, block: &Block) -> Result<bool, Complaint> {
        let Some(next) = self.state.next_tool else {
            return Err(complaint(
                b'M',
                "a tool change, but no tool was called",
                "a T word in this block or before it",
                "add the T word",
            ));
        };
        if next == self.state.tool {
            return Ok(false);
        }
        self.state.tool = next;
        if next > 0 && !self.tools.contains(&u32::from(next)) {
            self.tools.push(u32::from(next));
        }
        self.wait(block.line, Event::ToolChange);
        self.state.rpm = 0.0;
        Ok(true)
    }

    /// The M words that act after the block's motion.
    pub(crate) fn after_motion(&mut self, block: &Block) {
        for &m in block.m() {
            match self.codes.m(m) {
                Some(MCode::SpindleOff) => {
                    self.spindle(block.line, 0.0);
                }
                Some(MCode::Stop) => self.wait(block.line, Event::Word(format!("M{m}"))),
                Some(MCode::Auxiliary) if m == 9 => {
                    self.wait(block.line, Event::Word(format!("M{m}")));
                }
                _ => {}
            }
        }
    }
}
