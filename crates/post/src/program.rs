//! The NC program.

use crate::course::{self, Course};
use crate::job::{Coolant, Job, Refused};
use crate::number::{pointed, upper};
use crate::text::{Text, rapid};
use crate::travel;
use dialect::{ArcWords, Dialect, GCode, MCode, Words};
use geom::Vec3;
use machine::RotaryTurn;
use machine::track::{Frame, Move, Place};
use std::ops::Range;

/// A move that a block of the program asks for, as the control is to take it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Asked {
    /// Line of the program, from 1.
    pub line: u32,
    /// The move.
    pub step: Move,
}

/// An operation of the program, or the part of one from a restart on.
#[derive(Debug, Clone, PartialEq)]
pub struct Section {
    /// Index of the operation.
    pub piece: usize,
    /// Number of its first block, as the program names it.
    pub number: usize,
    /// Its moves in [`Written::asked`]; the first ends high over everything.
    pub asked: Range<usize>,
}

/// A program.
#[derive(Debug, Clone, PartialEq)]
pub struct Written {
    /// The text.
    pub text: String,
    /// Every move within operations, in order.
    pub asked: Vec<Asked>,
    /// The operations and their restarts, in order.
    pub sections: Vec<Section>,
    /// What to look at.
    pub notes: Vec<String>,
}

/// The program of a job.
///
/// # Errors
/// A move that no word can ask for, or one that leaves the travel of an axis.
pub fn program(job: &Job<'_>, dialect: &Dialect) -> Result<Written, Refused> {
    for piece in &job.pieces {
        if let Some(first) = travel::beyond(job, piece).first() {
            return Err(Refused {
                operation: piece.name.clone(),
                why: first.to_string(),
                remedy:
                    "move the part by [setup] origin_mm, shorten the tool, or correct travel_mm \
                         and reference_mm of the machine file"
                        .into(),
            });
        }
    }
    let rotary = job.machine.axes.iter().skip(3).map(|a| (a.name.letter(), a.direction));
    let text = Text::new(dialect, rotary.collect());
    let mut writer = Writer { text, job, dialect, sections: Vec::new(), notes: Vec::new() };
    writer.head();
    for index in 0..job.pieces.len() {
        writer.piece(index)?;
    }
    writer.end();
    let Writer { text, sections, notes, .. } = writer;
    let (text, asked) = text.finish();
    Ok(Written { text, asked, sections, notes })
}

struct Writer<'a> {
    text: Text<'a>,
    job: &'a Job<'a>,
    dialect: &'a Dialect,
    sections: Vec<Section>,
    notes: Vec<String>,
}

impl Writer<'_> {
    fn remark(&mut self, text: &str) {
        let line = self.dialect.remark(&upper(text));
        self.text.raw(&line);
    }

    fn turns(&self) -> bool {
        self.job.machine.turns()
    }

    /// What X, Y and Z of operations are.
    fn frame(&self) -> Frame {
        if self.turns() && self.job.machine.tip_control { Frame::Tip } else { Frame::Axes }
    }

    fn head(&mut self) {
        if self.dialect.tape {
            self.text.raw("%");
        }
        if let Some(number) = self.dialect.program_number {
            self.text.raw(&format!("{}{number:04}", self.dialect.program_mark));
        }
        let axes = self.turns() && self.frame() == Frame::Axes;
        if axes && self.dialect.words == Words::Tip {
            let line = self.dialect.remark("WORDS=AXES");
            self.text.raw(&line);
        }
        self.remark(&self.job.title.clone());
        self.remark(&format!("MACHINE: {}", self.job.machine.name));
        for tool in &self.job.tools {
            let length = pointed(tool.length_mm, 1);
            self.remark(&format!("T{}: {}, {length} MM FROM NOSE TO TIP", tool.number, tool.words));
        }
        for (i, piece) in self.job.pieces.iter().enumerate() {
            let number = self.job.tools[piece.tool].number;
            self.remark(&format!(
                "OPERATION {}: {}, T{number}, PREDICTED {:.0} S, NOT MEASURED",
                i + 1,
                piece.name,
                piece.predicted_s
            ));
        }
        self.cautions(axes);
    }

    fn cautions(&mut self, axes: bool) {
        if axes {
            self.remark(
                "X, Y, Z ARE POSITIONS OF THE AXES, FOR THE TOOL LENGTHS ABOVE AND PROGRAM",
            );
            self.remark(
                "ZERO AS THE MACHINE FILE HAS IT. ANOTHER LENGTH OR ZERO NEEDS A NEW PROGRAM.",
            );
        } else {
            self.remark("X, Y, Z ARE THE TIP OF THE CUTTER IN THE FRAME OF THE PART, F ITS SPEED.");
        }
        if self.turns() {
            self.remark(
                "CONFIRM TIP CONTROL, OFFSETS AND THE SIGN OF EVERY ROTARY AXIS BY A SMALL",
            );
            self.remark("MOVE CLEAR OF THE PART BEFORE THE FIRST RUN.");
            self.remark(match self.standing() {
                true => {
                    "THE ROTARY AXES TURN WITH Z AT ITS REFERENCE, THEN OVER THE START, THEN DOWN"
                }
                false => "THE ROTARY AXES TURN OVER THE START, THE LINEAR AXES FOLLOW, THEN DOWN",
            });
            self.remark("AND IN ALONG THE TOOL AXIS, AND OUT ALONG IT. CHECK THAT WAY FOR HOLDER,");
            self.remark("TABLE AND CLAMPS.");
        }
        self.remark("FIRST RUN: DOOR CLOSED, SINGLE BLOCK, RAPID LOW, HAND ON FEED HOLD.");
        self.remark("CLAMPS ARE KEPT CLEAR ONLY WHERE THE STUDY NAMES THEM.");
        self.remark("THE MANUAL OF THE MACHINE, LOCAL RULES AND A QUALIFIED PERSON DECIDE.");
    }

    /// Whether the linear axes stand while the rotary axes turn.
    fn standing(&self) -> bool {
        let machine = self.job.machine;
        let known = self.dialect.g_for(GCode::MachineCoordinates).is_some();
        !machine.tip_control || (known && machine.rotary_turn == RotaryTurn::Standing)
    }

    fn piece(&mut self, index: usize) -> Result<(), Refused> {
        let piece = &self.job.pieces[index];
        let frame = self.frame();
        for (part, range) in course::sections(piece).into_iter().enumerate() {
            let tilts =
                [GCode::Tilt, GCode::TurnOff].map(|code| self.dialect.g_for(code).is_some());
            let tilts = tilts == [true; 2] && self.standing();
            let arcs = self.dialect.arcs != ArcWords::Straight;
            let course = course::lay(self.job, piece, range, (frame, arcs, tilts));
            let number = 1000 * (index + 1) + 10 * part;
            let first = self.text.asked.len();
            let title = format!("OPERATION {}: {}", index + 1, piece.name);
            match part {
                0 => self.remark(&title),
                _ => self.remark(&format!("{title}, RESTART {part}")),
            }
            if course.short_mm > 0.1 {
                self.notes.push(format!(
                    "operation \"{}\": the axis Z ends {:.0} mm below the height at which nothing on the \
                     table can be met while the rotary axes turn: watch that turn",
                    piece.name, course.short_mm
                ));
            }
            let number = self.section(index, part, number, &course).map_err(|why| Refused {
                operation: piece.name.clone(),
                why,
                remedy: "add the word to the dialect's file, or change the operation's pattern"
                    .into(),
            })?;
            let asked = first..self.text.asked.len();
            self.sections.push(Section { piece: index, number, asked });
        }
        Ok(())
    }

    /// One section, everything modal stated again.
    fn section(
        &mut self,
        index: usize,
        part: usize,
        number: usize,
        course: &Course,
    ) -> Result<usize, String> {
        let piece = &self.job.pieces[index];
        let tool = &self.job.tools[piece.tool];
        let before = index.checked_sub(1).map(|i| self.job.pieces[i].tool);
        self.text.forget();
        let safe = self.safe_line();
        let number = self.text.numbered(number, &safe);
        self.retract();
        if before != Some(piece.tool) && part == 0 {
            let change = self.dialect.change(tool.number);
            self.text.block(&change);
        }
        let clockwise = self.dialect.m_for(MCode::SpindleClockwise).unwrap_or_else(|| "M3".into());
        self.text.block(&format!("S{:.0} {clockwise}", piece.rpm));
        let length = self.length_words(tool.number);
        self.way_in(course, &length, tool.number)?;
        if let Some(coolant) = piece.coolant {
            let word = self.coolant(coolant);
            self.text.block(&word);
        }
        for step in &course.track.moves {
            self.text.go(step, "")?;
        }
        self.text.per_minute()?;
        if self.text.turned.take().is_some() {
            let off = self.dialect.g_for(GCode::TurnOff).unwrap_or_default();
            self.text.block(&off);
            self.text.forget();
        }
        self.way_out(index, part, course)?;
        Ok(number)
    }

    /// Units, absolute words, plane and the like.
    fn safe_line(&self) -> String {
        let codes = [
            GCode::Metric,
            GCode::Absolute,
            GCode::Plane(2),
            GCode::PerMinute,
            GCode::RadiusOff,
            GCode::WorkOffset(1),
            GCode::Through,
        ];
        let words: Vec<String> = codes.iter().filter_map(|c| self.dialect.g_for(*c)).collect();
        words.join(" ")
    }

    /// The word of the tool's length, empty where the tool call brings it.
    fn length_words(&self, number: u32) -> String {
        let switches = self.frame() == Frame::Tip && self.dialect.switches_tip();
        match (self.dialect.length_letter, self.dialect.g_for(GCode::LengthOn)) {
            (Some(letter), Some(word)) if !switches => format!("{word} {letter}{number}"),
            _ => String::new(),
        }
    }

    /// Z to its reference, tip control off before where it is switched.
    fn retract(&mut self) {
        if !self.turns() || !self.standing() {
            return;
        }
        self.tip(false, 0);
        if let Some(machine) = self.dialect.g_for(GCode::MachineCoordinates) {
            let go = self.dialect.g_for(GCode::Rapid).unwrap_or_else(|| "G0".into());
            self.text.block(&format!("{machine} {go} Z0."));
        }
        self.text.forget();
    }

    /// Switches tip control where it is switched.
    fn tip(&mut self, on: bool, tool: u32) {
        if self.frame() != Frame::Tip || !self.dialect.switches_tip() {
            return;
        }
        let Some(word) = self.dialect.tip_word(on) else { return };
        match self.dialect.length_letter {
            Some(letter) if on => self.text.block(&format!("{word} {letter}{tool}")),
            _ => self.text.block(&word),
        }
    }

    fn way_in(&mut self, course: &Course, length: &str, tool: u32) -> Result<(), String> {
        let frame = self.frame();
        if !self.turns() {
            let Vec3 { z, .. } = course.over.linear;
            let go = self.dialect.g_for(GCode::Rapid).unwrap_or_else(|| "G0".into());
            let up = format!("{go} {length} Z{}", pointed(z, 4)).replace("  ", " ");
            self.text.block(&up);
            self.text.stands(course.over);
            return self.text.go(&rapid(course.over, Frame::Axes), "");
        }
        if !self.standing() {
            let still = Place { rotary: [0.0; 2], ..course.over };
            self.text.go(&rapid(still, Frame::Tip), length)?;
            return self.text.go(&rapid(course.over, Frame::Tip), "");
        }
        let angles = self.text.rotary(&course.over).join(" ");
        let go = self.dialect.g_for(GCode::Rapid).unwrap_or_else(|| "G0".into());
        // under tip control as the rule the linear axes would follow: machine coordinates say which
        // axes move
        let rule = frame == Frame::Tip && !self.dialect.switches_tip();
        let machine = self.dialect.g_for(GCode::MachineCoordinates).filter(|_| rule);
        let block = format!("{} {go} {angles}", machine.unwrap_or_default());
        self.text.block(block.trim());
        self.text.stands(course.over);
        if frame == Frame::Tip && !rule {
            self.text.stands(course.over_axes);
            self.text.go(&rapid(course.over_axes, Frame::Axes), "")?;
            if course.tilt.is_some() {
                self.tilt(course);
            } else {
                self.tip(true, tool);
            }
            self.text.stands(course.track.start);
            return Ok(());
        }
        self.tilt(course);
        self.text.stands(course.track.start);
        self.text.go(&rapid(course.track.start, frame), length)
    }

    /// Turns the coordinates into the plane of the tool.
    fn tilt(&mut self, course: &Course) {
        let (Some(tilt), Some(word)) = (course.tilt, self.dialect.g_for(GCode::Tilt)) else {
            return;
        };
        let [i, j, k] = tilt.angles.map(|angle| pointed(angle.to_degrees(), 7));
        self.text.block(&format!("{word} X0. Y0. Z0. I{i} J{j} K{k}"));
        self.text.forget();
        self.text.turned = Some(tilt.turn);
    }

    fn way_out(&mut self, index: usize, part: usize, course: &Course) -> Result<(), String> {
        let piece = &self.job.pieces[index];
        let last = part + 1 == course::sections(piece).len();
        let (end, frame) = match course.track.moves.last() {
            Some(step) => (step.to, step.frame),
            None => return Ok(()),
        };
        if !self.turns() {
            return Ok(());
        }
        if !self.standing() {
            let high = end.linear.z.max(course.over.linear.z);
            let up = Place { linear: Vec3 { z: high, ..end.linear }, ..end };
            self.text.go(&rapid(up, frame), "")?;
            if last {
                self.text.go(&rapid(Place { rotary: [0.0; 2], ..up }, frame), "")?;
            }
            return Ok(());
        }
        self.retract();
        let same = self.job.pieces.get(index + 1).is_some();
        if last && !same {
            let zero = self.text.rotary(&Place::default()).join(" ");
            let go = self.dialect.g_for(GCode::Rapid).unwrap_or_else(|| "G0".into());
            let rule = self.frame() == Frame::Tip && !self.dialect.switches_tip();
            let machine = self.dialect.g_for(GCode::MachineCoordinates).filter(|_| rule);
            let block = format!("{} {go} {zero}", machine.unwrap_or_default());
            self.text.block(block.trim());
        }
        Ok(())
    }

    fn coolant(&self, coolant: Coolant) -> String {
        let words = self.dialect.coolant;
        let number = match coolant {
            Coolant::Flood => words.flood,
            Coolant::Mist => words.mist,
            Coolant::Air => words.air,
            Coolant::Through => words.through,
        };
        format!("M{number}")
    }

    fn end(&mut self) {
        let off = format!("M{}", self.dialect.coolant.off);
        let stop = self.dialect.m_for(MCode::SpindleOff).unwrap_or_else(|| "M5".into());
        let end = self.dialect.m_for(MCode::End).unwrap_or_else(|| "M30".into());
        for word in [off, stop, end] {
            self.text.block(&word);
        }
        if self.dialect.tape {
            self.text.raw("%");
        }
    }
}
