//! G words that are modal, and what a block asks for beside them.

use crate::arc::Plane;
use crate::block::Block;
use crate::codes::group;
use crate::cycle::Hole;
use crate::dialect::{CycleRun, GCode};
use crate::fault::{Complaint, Topic, complaint};
use crate::run::{FeedMode, Mode, Once, Reader, frame_of};
use ::dialect::words::g_word;
use geom::Vec3;
use machine::track::Frame;

impl Reader<'_> {
    pub(crate) fn g_words(&mut self, block: &Block, once: &mut Once) -> Result<(), Complaint> {
        let mut groups = 0;
        for &tenths in block.g() {
            let Some(code) = self.codes.g(tenths) else { return Err(self.no_code(tenths)) };
            let group = group(code);
            if groups & group != 0 {
                return Err(complaint(
                    b'G',
                    format!("{} excludes another G word of this block", g_word(tenths)),
                    "one G word of each kind",
                    "divide the block, or drop one of them",
                ));
            }
            groups |= group;
            self.g_word(block, tenths, code, once)?;
        }
        Ok(())
    }

    #[cold]
    fn no_code(&self, tenths: u16) -> Complaint {
        let (word, name) = (g_word(tenths), &self.dialect.name);
        let message = match self.dialect.refusal(tenths) {
            Some(does) => format!("{word} is not followed: it {does}"),
            None => format!("{word} is not known in dialect {name}"),
        };
        complaint(
            b'G',
            message,
            "a G word that the dialect names and that is followed",
            "name its meaning in a dialect file, or let the program be written without it",
        )
    }

    fn g_word(
        &mut self,
        block: &Block,
        tenths: u16,
        code: GCode,
        once: &mut Once,
    ) -> Result<(), Complaint> {
        if let GCode::Cycle(cycle) = code {
            once.cycle_begins = true;
            let holds = matches!(self.state.mode, Mode::Cycle(_));
            if !holds {
                self.state.hole = Hole::begin(self.state.programmed);
                self.state.mode_before = self.state.mode;
            }
            self.state.hole.defined = Some(cycle);
            if self.dialect.cycle_run == CycleRun::EveryPlace {
                self.state.mode = Mode::Cycle(cycle);
            }
            return Ok(());
        }
        if let Some(mode) = Self::mode_of(code) {
            self.state.mode = mode;
            return Ok(());
        }
        let state = &mut self.state;
        match code {
            GCode::Plane(normal) => state.plane = Plane::about(normal),
            GCode::Inch | GCode::Metric => self.units(block, code == GCode::Inch),
            GCode::Absolute => state.incremental = false,
            GCode::Incremental => state.incremental = true,
            GCode::InverseTime => self.feed_mode(FeedMode::InverseTime),
            GCode::PerMinute => self.feed_mode(FeedMode::PerMinute),
            GCode::PerRevolution => self.feed_mode(FeedMode::PerRevolution),
            GCode::StopOnce => state.stop_once = true,
            GCode::StopAlways => state.stop_always = true,
            GCode::Through => state.stop_always = false,
            GCode::ReturnFar => state.return_near = false,
            GCode::ReturnNear => state.return_near = true,
            GCode::CycleOff => {
                state.hole.defined = None;
                if matches!(state.mode, Mode::Cycle(_)) {
                    state.mode = state.mode_before;
                }
            }
            GCode::CycleCall => once.cycle_called = true,
            GCode::MachineCoordinates => once.in_machine = true,
            GCode::WorkOffset(number) => self.work_offset(number)?,
            GCode::RadiusOn => self.radius_on(block, tenths)?,
            GCode::TipOn => self.tip_control(true),
            GCode::TipOff | GCode::LengthOff => self.tip_control(false),
            // words are the tip's already
            GCode::LengthOn => {}
            GCode::TurnOff => self.turn_off(),
            GCode::Drives => {
                let why = "changes how the control drives, not the path; what the machine file says of \
                           its control is taken instead";
                self.list.word(block.line, g_word(tenths), why);
            }
            GCode::SecondReference => {
                self.list.topic(Topic::SecondReference, block.line, || {
                    let why = "the second reference point is not known and taken as the first";
                    (g_word(tenths), why.into())
                });
                once.takes = Some(GCode::Reference);
            }
            takes => {
                if group(takes) == group(GCode::Dwell) {
                    once.takes = Some(takes);
                }
            }
        }
        Ok(())
    }

    fn units(&mut self, block: &Block, inch: bool) {
        if inch != self.state.inch && !self.track.moves.is_empty() {
            self.list.topic(Topic::MixedUnits, block.line, || {
                let why = "inches and mm in one program: each block is read in the unit that holds in \
                           it, and a feed keeps its own";
                ("G20, G21".into(), why.into())
            });
        }
        self.state.inch = inch;
    }

    fn feed_mode(&mut self, mode: FeedMode) {
        if self.state.feed_mode != mode {
            // a feed of another kind does not hold any longer
            self.state.feed = None;
        }
        self.state.feed_mode = mode;
    }

    fn work_offset(&mut self, number: u8) -> Result<(), Complaint> {
        if self.state.zero == Some(number) {
            return Ok(());
        }
        let stated = self.options.offsets_mm.iter().find(|(n, _)| *n == number);
        let offset = match (self.state.zero, stated) {
            (_, Some((_, offset))) => *offset,
            // the first one that is used is program zero
            (None, None) => Vec3::ZERO,
            (Some(first), None) => {
                return Err(complaint(
                    b'G',
                    format!(
                        "G{} after G{}: how far apart their zeros lie is not known",
                        53 + u16::from(number),
                        53 + u16::from(first)
                    ),
                    "one program zero, or an offset for each",
                    "give the offset, or audit the parts of the program one by one",
                ));
            }
        };
        self.state.zero = Some(number);
        self.state.map.offset = offset;
        self.state.mapped |= offset != Vec3::ZERO;
        self.state.programmed = self.state.map.back(self.state.place.linear);
        Ok(())
    }

    fn radius_on(&mut self, block: &Block, tenths: u16) -> Result<(), Complaint> {
        let number = block.get(b'D').unwrap_or(0.0);
        let known = self.options.radius_offsets_mm.iter().find(|(n, _)| f64::from(*n) == number);
        if let Some((_, radius_mm)) = known.filter(|(_, r)| *r != 0.0) {
            return Err(complaint(
                b'G',
                format!("radius compensation by {radius_mm} mm (D{number}) is not followed"),
                "a path written for the cutter that cuts it, with an offset of 0",
                "let the path be written for the cutter's centre",
            ));
        }
        self.list.topic(Topic::RadiusOn, block.line, || {
            let why = "the radius offset is not in the program: the path is taken as written, as with \
                       an offset of 0";
            (g_word(tenths), why.into())
        });
        Ok(())
    }

    /// Switches tip control: the machine stays where it is, its place has other coordinates.
    pub(crate) fn tip_control(&mut self, on: bool) {
        let frame = if on { Frame::Tip } else { frame_of(self.state.words) };
        self.take_frame(frame);
    }
}
