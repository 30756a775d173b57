//! Words to lengths, angles, places and feeds.

use crate::block::{Block, bit};
use crate::dialect::{Centre, DwellUnit, PointRule};
use crate::fault::{Complaint, Topic, complaint};
use crate::run::{FeedMode, Reader};
use geom::Vec3;
use machine::track::{Feed, Place};
use units::convert::MM_PER_INCH;

/// The linear axes.
pub(crate) const LINEAR: u32 = bit(b'X') | bit(b'Y') | bit(b'Z');
/// The rotary axes.
pub(crate) const ROTARY: u32 = bit(b'A') | bit(b'B') | bit(b'C');
/// Axes that no machine of this program has.
pub(crate) const FOREIGN: u32 = bit(b'U') | bit(b'V') | bit(b'W');
/// Words of circles.
pub(crate) const CENTRE: u32 = bit(b'I') | bit(b'J') | bit(b'K');

impl Reader<'_> {
    /// The length after `letter`, mm.
    #[inline]
    pub(crate) fn length(&mut self, block: &Block, letter: u8) -> Option<f64> {
        let value = block.get(letter)?;
        let scale = if self.state.inch { MM_PER_INCH } else { 1.0 };
        if block.is_pointed(letter) || value == 0.0 {
            return Some(value * scale);
        }
        Some(self.unpointed(block, letter, value) * scale)
    }

    #[cold]
    fn unpointed(&mut self, block: &Block, letter: u8, value: f64) -> f64 {
        match self.dialect.point {
            PointRule::Whole => value,
            PointRule::Steps(step_mm) => {
                let step = if self.state.inch { 0.1 * step_mm } else { step_mm };
                value * step
            }
            PointRule::WholeWarned => {
                let unit = if self.state.inch { "inches" } else { "mm" };
                self.list.topic(Topic::NoPoint, block.line, || {
                    let why = format!(
                        "no decimal point: read as {value} {unit}; a control that counts in steps \
                         of 0.001 takes it for a thousandth of that"
                    );
                    (block.word(letter), why)
                });
                value
            }
        }
    }

    /// The angle after the letter of rotary axis `index`, rad in the sense of ISO 841.
    fn angle(&self, block: &Block, index: usize) -> Option<f64> {
        let axis = self.rotary[index];
        block.get(axis.letter).map(|deg| deg.to_radians() * axis.direction)
    }

    /// Refuses axes that the machine does not have.
    pub(crate) fn known_axes(&self, block: &Block) -> Result<(), Complaint> {
        let foreign = block.present & self.foreign;
        if foreign == 0 {
            return Ok(());
        }
        let letter = b'A' + foreign.trailing_zeros() as u8;
        Err(complaint(
            letter,
            format!("the machine has no axis {}", char::from(letter)),
            format!("axes of {}", self.machine.layout),
            "name the machine that the program is for, or correct the word",
        ))
    }

    /// Where the axis words of the block lead: programmed coordinates and angles.
    #[inline]
    pub(crate) fn target(&mut self, block: &Block) -> (Vec3, [f64; 2]) {
        let mut to = self.state.programmed;
        for k in 0..3 {
            if let Some(length) = self.length(block, b"XYZ"[k]) {
                to[k] = if self.state.incremental { to[k] + length } else { length };
            }
        }
        let mut rotary = self.state.place.rotary;
        if block.any(ROTARY) {
            for k in 0..self.rotary.len() {
                if let Some(angle) = self.angle(block, k) {
                    rotary[k] = if self.state.incremental { rotary[k] + angle } else { angle };
                }
            }
        }
        (to, rotary)
    }

    /// The centre that I, J, K of the block give, programmed coordinates.
    pub(crate) fn centre(&mut self, block: &Block) -> Vec3 {
        let start = self.state.programmed;
        let absolute = self.dialect.centre == Centre::AsWords && !self.state.incremental;
        let mut centre = start;
        for k in 0..3 {
            if let Some(length) = self.length(block, b"IJK"[k]) {
                centre[k] = if absolute { length } else { start[k] + length };
            }
        }
        centre
    }

    /// What an argument of a macro passes on: a number as it is written.
    pub(crate) fn argument(&mut self, block: &Block, letter: u8) -> f64 {
        let value = block.get(letter).unwrap_or(0.0);
        let length = matches!(letter, b'I'..=b'K' | b'Q' | b'R' | b'U'..=b'Z');
        if !length || block.is_pointed(letter) || value == 0.0 {
            return value;
        }
        self.unpointed(block, letter, value)
    }

    /// Takes an F word.
    pub(crate) fn take_feed(&mut self, block: &Block) -> Result<(), Complaint> {
        let Some(value) = block.get(b'F') else { return Ok(()) };
        if !(value > 0.0) {
            // said once: the blocks that follow are read as if it had been a feed
            (self.state.feed, self.state.feed_mm) = (Some(1.0), 1.0);
            return Err(complaint(
                b'F',
                format!("the feed is {value}"),
                "a feed above 0",
                "correct the F word",
            ));
        }
        let scale = if self.state.inch { MM_PER_INCH } else { 1.0 };
        self.state.feed = Some(value);
        self.state.feed_mm = value * scale;
        Ok(())
    }

    /// The feed of a move from here to `to`.
    #[inline]
    pub(crate) fn feed(&mut self, block: &Block, to: &Place) -> Result<Feed, Complaint> {
        let Some(word) = self.state.feed else { return Err(self.no_feed()) };
        match self.state.feed_mode {
            FeedMode::PerMinute => {
                // where only rotary axes turn F is in degrees
                let turns = to.linear == self.state.place.linear;
                Ok(Feed::Speed(if turns { word } else { self.state.feed_mm } / 60.0))
            }
            FeedMode::InverseTime if block.has(b'F') => Ok(Feed::Time(60.0 / word)),
            FeedMode::InverseTime => Err(complaint(
                b'G',
                "a block at feed has no F while feed is inverse time (G93)",
                "F in 1/min in every block at feed",
                "add F, or return to feed per minute with G94",
            )),
            FeedMode::PerRevolution => {
                let rpm = self.state.rpm.abs();
                if rpm > 0.0 {
                    return Ok(Feed::Speed(self.state.feed_mm * rpm / 60.0));
                }
                Err(complaint(
                    b'F',
                    "feed per revolution while the spindle stands",
                    "a spindle that turns",
                    "start the spindle with S and M3 before this block",
                ))
            }
        }
    }

    #[cold]
    fn no_feed(&mut self) -> Complaint {
        // said once; the blocks that follow are read as if it had been given
        self.state.feed = Some(1.0);
        self.state.feed_mm = 1.0;
        complaint(
            b'G',
            "a move at feed, but no feed was given",
            "an F word in this block or before it, after the last change of G93, G94, G95",
            "add the F word",
        )
    }

    /// Seconds of a dwell word.
    pub(crate) fn seconds(block: &Block, letter: u8, unit: DwellUnit) -> Option<f64> {
        let value = block.get(letter)?;
        Some(match unit {
            DwellUnit::Seconds => value,
            DwellUnit::Millis => value / 1000.0,
            DwellUnit::MillisOrSeconds if block.is_pointed(letter) => value,
            DwellUnit::MillisOrSeconds => value / 1000.0,
        })
    }
}
