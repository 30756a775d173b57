//! Moves: straight, on arcs, to the reference point, in machine coordinates.

use crate::arc::{self, Plane};
use crate::block::{Block, bit};
use crate::dialect::GCode;
use crate::fault::{Complaint, Topic, complaint};
use crate::run::{Mode, Reader, within_reach};
use crate::words::{CENTRE, LINEAR, ROTARY};
use geom::{Mat3, Vec3};
use machine::track::{Feed, Frame, Move, Place, Shape};

/// An end that misses its circle by more than this is mentioned, mm: words of three decimals miss
/// by a micrometre or two.
const MENTIONED_MM: f64 = 0.005;

impl Reader<'_> {
    /// The block's axis words as a move of the mode that holds.
    pub(crate) fn go(&mut self, block: &Block) -> Result<(), Complaint> {
        match self.state.mode {
            Mode::None => Err(complaint(
                b'G',
                "a move before any of G0, G1, G2, G3",
                "a word that says how to move",
                "add G0 or G1 to the first move",
            )),
            Mode::Rapid => self.straight(block, true),
            Mode::Line => self.straight(block, false),
            Mode::Arc { clockwise } => self.arc(block, clockwise),
            Mode::Cycle(_) => Ok(()),
        }
    }

    #[inline]
    fn straight(&mut self, block: &Block, rapid: bool) -> Result<(), Complaint> {
        if block.any(CENTRE | bit(b'R')) {
            return Err(self.stray_centre(block));
        }
        let (programmed, rotary) = self.target(block);
        let place = Place { linear: self.state.out(programmed), rotary };
        if place == self.state.place {
            self.state.programmed = programmed;
            return Ok(());
        }
        let feed = if rapid { Feed::Rapid } else { self.cutting(block, &place)? };
        self.state.programmed = programmed;
        self.push(block.line, place, Shape::Line, feed);
        Ok(())
    }

    #[cold]
    fn stray_centre(&self, block: &Block) -> Complaint {
        let stray = block.present & (CENTRE | bit(b'R'));
        let letter = b'A' + stray.trailing_zeros() as u8;
        complaint(
            letter,
            format!("`{}` in a straight move", char::from(letter)),
            "axis words alone",
            "corner roundings and chamfers within a block are not followed: write them as blocks of \
             their own",
        )
    }

    /// The feed of a move that cuts; says where nothing turns.
    #[inline]
    pub(crate) fn cutting(&mut self, block: &Block, to: &Place) -> Result<Feed, Complaint> {
        if self.state.rpm == 0.0 || self.state.tool == 0 {
            self.not_ready(block.line);
        }
        self.feed(block, to)
    }

    #[cold]
    fn not_ready(&mut self, line: u32) {
        if self.state.rpm == 0.0 {
            self.list.topic(Topic::SpindleOff, line, || {
                ("spindle off".into(), "a move at feed while the spindle stands".into())
            });
        }
        if self.state.tool == 0 {
            self.list.topic(Topic::NoTool, line, || {
                ("no tool".into(), "a move at feed before any tool is called".into())
            });
        }
    }

    fn arc(&mut self, block: &Block, clockwise: bool) -> Result<(), Complaint> {
        let extra = block.present & (bit(b'P') | bit(b'L'));
        if extra != 0 {
            let letter = b'A' + extra.trailing_zeros() as u8;
            return Err(complaint(
                letter,
                format!("`{}` in an arc", char::from(letter)),
                "axis words and I, J, K or R",
                "several turns in one block are not followed: write one block for each turn",
            ));
        }
        let (programmed, rotary) = self.target(block);
        let start = self.state.programmed;
        let plane = self.state.plane;
        let tolerance_mm = self.dialect.arc_tolerance_mm;
        let circle = if block.any(CENTRE) {
            let centre = self.centre(block);
            arc::about(plane, clockwise, [start, programmed, centre], tolerance_mm)
        } else if let Some(r) = self.length(block, b'R') {
            arc::of_radius(plane, clockwise, [start, programmed], r, tolerance_mm)
        } else {
            Err(complaint(
                b'X',
                "an arc without a centre",
                "I, J, K or R in every block of G2 and G3",
                "add the centre, or G1 if the move is straight",
            ))
        };
        let place = Place { linear: self.state.out(programmed), rotary };
        if circle.is_err() {
            // the next blocks go on from the end that was meant
            self.state.programmed = programmed;
            self.state.place = place;
        }
        let circle = circle?;
        if circle.miss_mm > MENTIONED_MM {
            self.list.topic(Topic::Arc, block.line, || {
                let why = format!(
                    "the end misses the circle by {:.4} mm, within the tolerance of {tolerance_mm} mm: \
                     driven with a radius that changes evenly",
                    circle.miss_mm
                );
                ("arc".into(), why)
            });
        }
        let sense = if clockwise { -1.0 } else { 1.0 };
        let shape = Shape::Arc {
            centre: self.state.out(circle.centre),
            axis: self.state.map.direction(plane.axis()) * sense,
            sweep_rad: circle.sweep_rad,
        };
        let feed = self.cutting(block, &place)?;
        self.state.programmed = programmed;
        self.push(block.line, place, shape, feed);
        Ok(())
    }

    /// Appends a move and stands at its end.
    #[inline]
    pub(crate) fn push(&mut self, line: u32, to: Place, shape: Shape, feed: Feed) {
        let stop = self.state.stop_always || self.state.stop_once;
        let frame = self.frame();
        let tool = self.state.tool;
        self.beyond |= !within_reach(&to, &shape);
        self.track.moves.push(Move { to, shape, feed, frame, stop, block: line, tool });
        self.state.place = to;
    }

    /// A straight rapid to a place of the track, where it is elsewhere.
    pub(crate) fn rapid_to(&mut self, line: u32, to: Place) {
        if to != self.state.place {
            self.push(line, to, Shape::Line, Feed::Rapid);
            self.state.programmed = self.state.map.back(to.linear);
        }
    }

    /// To the reference point over the point of the block, along the axes that it names.
    pub(crate) fn reference(&mut self, block: &Block) -> Result<(), Complaint> {
        let (programmed, rotary) = self.target(block);
        let over = Place { linear: self.state.out(programmed), rotary };
        self.rapid_to(block.line, over);
        let none = !block.any(LINEAR | ROTARY);
        let linear = std::array::from_fn(|k| {
            (none || block.has(b"XYZ"[k])).then(|| self.machine.reference_mm[k])
        });
        let rotary = std::array::from_fn(|k| {
            let named = self.rotary.get(k).is_some_and(|axis| none || block.has(axis.letter));
            named.then_some(0.0)
        });
        self.rapid_to_axes(block.line, linear, rotary);
        Ok(())
    }

    /// A move in machine coordinates.
    pub(crate) fn in_machine(&mut self, block: &Block) -> Result<(), Complaint> {
        if !matches!(self.state.mode, Mode::Rapid | Mode::Line) || self.state.incremental {
            return Err(complaint(
                b'G',
                "machine coordinates (G53) outside a straight move in absolute words",
                "G53 with G0 or G1 under G90",
                "write G90 G53 G0 in this block",
            ));
        }
        let mut linear = [None; 3];
        for k in 0..3 {
            let zero = self.machine.reference_mm[k];
            linear[k] = self.length(block, b"XYZ"[k]).map(|length| length + zero);
        }
        let rotary = std::array::from_fn(|k| {
            let axis = self.rotary.get(k)?;
            block.get(axis.letter).map(|deg| deg.to_radians() * axis.direction)
        });
        let before = self.track.moves.len();
        let (turning, far) = (linear.iter().all(Option::is_none), self.state.place);
        let feed = match self.state.mode {
            // where only rotary axes turn F is in degrees
            Mode::Line if turning => Some(self.cutting(block, &far)?),
            Mode::Line => {
                let elsewhere = Place { linear: far.linear + Vec3::X, ..far };
                Some(self.cutting(block, &elsewhere)?)
            }
            _ => None,
        };
        self.rapid_to_axes(block.line, linear, rotary);
        if let (Some(feed), Some(step)) = (feed, self.track.moves.get_mut(before)) {
            step.feed = feed;
        }
        Ok(())
    }

    /// A rapid that brings the named axes to positions and leaves the others where they stand, each
    /// axis by itself.
    fn rapid_to_axes(&mut self, line: u32, linear: [Option<f64>; 3], rotary: [Option<f64>; 2]) {
        let from = self.state.place;
        let frame = self.frame();
        let axes = self.kinematics.converted(&from, frame, Frame::Axes);
        let to = Place {
            linear: Vec3::from_array(std::array::from_fn(|k| linear[k].unwrap_or(axes.linear[k]))),
            rotary: std::array::from_fn(|k| rotary[k].unwrap_or(axes.rotary[k])),
        };
        if to == axes {
            return;
        }
        let place = self.kinematics.converted(&to, Frame::Axes, frame);
        self.push(line, to, Shape::Line, Feed::Rapid);
        if let Some(step) = self.track.moves.last_mut() {
            step.frame = Frame::Axes;
        }
        self.state.place = place;
        self.state.programmed = self.state.map.back(place.linear);
    }

    /// What the coordinates of the next move mean.
    pub(crate) fn frame(&self) -> Frame {
        if self.rotary.is_empty() { Frame::Axes } else { self.state.frame }
    }

    /// The words of the block become the place where the machine stands.
    pub(crate) fn set_position(&mut self, block: &Block) {
        let mut words = self.state.programmed;
        for k in 0..3 {
            if let Some(length) = self.length(block, b"XYZ"[k]) {
                words[k] = length;
            }
        }
        let map = &mut self.state.map;
        map.preset += self.state.place.linear - map.out(words);
        self.state.programmed = map.back(self.state.place.linear);
        self.state.mapped = true;
    }

    /// Program zero shifted by the words of the block.
    pub(crate) fn local_shift(&mut self, block: &Block) {
        for k in 0..3 {
            if let Some(length) = self.length(block, b"XYZ"[k]) {
                let shift = &mut self.state.map.shift[k];
                *shift = if self.state.incremental { *shift + length } else { length };
            }
        }
        self.state.mapped = true;
        self.state.programmed = self.state.map.back(self.state.place.linear);
    }

    /// The coordinates of the plane turn about the point of the block by R degrees.
    pub(crate) fn turn_on(&mut self, block: &Block) -> Result<(), Complaint> {
        if block.any(CENTRE) || self.state.map.turn.is_some() {
            return Err(complaint(
                b'G',
                "a rotation in space, or one on top of another",
                "one rotation in the plane: its point and R",
                "let the postprocessor write the program out without it",
            ));
        }
        let Some(degrees) = block.get(b'R') else {
            return Err(complaint(b'G', "a rotation without R", "R in degrees", "add R"));
        };
        let plane: Plane = self.state.plane;
        let mut centre = self.state.programmed;
        for k in [plane.first, plane.second] {
            if let Some(length) = self.length(block, b"XYZ"[k]) {
                centre[k] = length;
            }
        }
        let turn = Mat3::from_axis_angle(plane.axis(), degrees.to_radians());
        self.state.map.turn = (degrees != 0.0).then_some((centre, turn));
        self.state.mapped = true;
        self.state.programmed = self.state.map.back(self.state.place.linear);
        Ok(())
    }

    /// The coordinates turn in space about the point of the block: by I, J and K degrees about x,
    /// then y, then z. They are the tip's.
    pub(crate) fn tilt_on(&mut self, block: &Block) -> Result<(), Complaint> {
        if self.state.map.turn.is_some() || self.state.map.tilt.is_some() {
            return Err(complaint(
                b'G',
                "a rotation on top of another",
                "one rotation, ended before the next begins",
                "end the first one before this block",
            ));
        }
        let zero = std::array::from_fn(|k| self.length(block, b"XYZ"[k]).unwrap_or(0.0));
        let [i, j, k] = [b'I', b'J', b'K'].map(|l| block.get(l).unwrap_or(0.0).to_radians());
        let tilt = Mat3::from_rotation_z(k) * Mat3::from_rotation_y(j) * Mat3::from_rotation_x(i);
        self.state.frame_before_tilt = Some(self.state.frame);
        self.take_frame(Frame::Tip);
        self.state.map.tilt = Some((Vec3::from_array(zero), tilt));
        self.state.mapped = true;
        self.state.programmed = self.state.map.back(self.state.place.linear);
        Ok(())
    }

    /// The same place in what coordinates are going to mean.
    pub(crate) fn take_frame(&mut self, frame: Frame) {
        if frame != self.state.frame {
            let place = self.kinematics.converted(&self.state.place, self.state.frame, frame);
            self.state.place = place;
            self.state.programmed = self.state.map.back(place.linear);
        }
        self.state.frame = frame;
    }

    /// The words of the plane are turned no longer.
    pub(crate) fn turn_off(&mut self) {
        self.state.map.turn = None;
        self.state.map.tilt = None;
        if let Some(frame) = self.state.frame_before_tilt.take() {
            self.take_frame(frame);
        }
        self.state.programmed = self.state.map.back(self.state.place.linear);
    }

    /// The mode of a G word that moves.
    pub(crate) fn mode_of(code: GCode) -> Option<Mode> {
        Some(match code {
            GCode::Rapid => Mode::Rapid,
            GCode::Line => Mode::Line,
            GCode::ArcClockwise => Mode::Arc { clockwise: true },
            GCode::ArcCounter => Mode::Arc { clockwise: false },
            _ => return None,
        })
    }
}
