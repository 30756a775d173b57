//! The test program as text of ISO 6983.

use crate::stretch::{Action, Stretch};
use crate::trial::{ROOM_MM, SWING_DEG, TOOLS, Trial, base_mm};
use dialect::{Centre, Dialect, GCode};
use geom::Vec3;
use machine::track::{Feed, Frame, Move, Place, Shape};
use machine::{AxisName, Machine};
use post::number::{LENGTH, feed, pointed, upper};
use std::fmt::Write;

/// The program of a trial.
pub fn program(trial: &Trial, machine: &Machine, dialect: &Dialect) -> String {
    let rotary: Vec<AxisName> = machine.axes.iter().skip(3).map(|a| a.name).collect();
    let mut writer = Writer {
        out: String::new(),
        dialect,
        letters: rotary.iter().map(|a| a.letter()).collect(),
        place: Place { linear: Vec3::Z * base_mm(machine), rotary: [0.0; 2] },
        group: None,
        feed: None,
        tip: false,
    };
    head(&mut writer.out, trial, machine, dialect);
    for stretch in &trial.stretches {
        writer.stretch(stretch);
    }
    writer.out.push_str("M5\nM30\n%\n");
    writer.out
}

fn head(out: &mut String, trial: &Trial, machine: &Machine, dialect: &Dialect) {
    let minutes = trial.motion_s() / 60.0;
    let [x, y, z] = ROOM_MM;
    let mut lines = vec![
        format!("TIMING TEST OF {}: ABOUT {minutes:.0} MIN OF MOTION IN AIR", upper(&machine.name)),
        format!(
            "ROOM NEEDED FROM THE START: X {x:.0} BOTH WAYS, Y {y:.0} BOTH WAYS, Z {z:.0} DOWN"
        ),
        format!(
            "SET G54 WITH THAT ROOM FREE. NO CUTTER BUT FOR TOOLS {} AND {},",
            TOOLS[0], TOOLS[1]
        ),
        "SHORT ONES, BETWEEN WHICH STRETCH TOOL-CHANGE CHANGES. NO PART, NO CLAMP.".into(),
        "THE SPINDLE STANDS UNTIL STRETCH SPINDLE, THE LAST.".into(),
    ];
    if machine.turns() {
        lines.push(format!(
            "PROGRAM ZERO IS WHERE THE ROTARY AXES CROSS: THE SPINDLE NOSE RUNS {:.0} MM ABOVE",
            base_mm(machine)
        ));
        lines.push(format!(
            "ROTARY AXES TURN BY {:.0} AND {:.0} DEG: NOTHING MAY STAND ON THE TABLE",
            SWING_DEG[0], SWING_DEG[1]
        ));
    }
    lines.extend(
        [
            "CHECK EVERY SIGN AND OFFSET BY A SLOW FIRST RUN: RAPID LOW, SINGLE BLOCK, DOOR CLOSED.",
            "FEED AND RAPID OVERRIDE 100 PERCENT FOR THE TIMED RUN.",
            "TIME EACH STRETCH FROM CYCLE START AT ITS FIRST STOP TO ITS LAST STOP.",
            "NOTE ONE LINE FOR EACH: NAME,SECONDS",
            "THE MANUAL OF THE MACHINE AND A QUALIFIED PERSON DECIDE WHETHER IT MAY RUN.",
        ]
        .map(String::from),
    );
    out.push_str("%\n");
    // writing to a text cannot fail
    for line in lines {
        let _ = writeln!(out, "{}", dialect.remark(&line));
    }
    let _ = write!(
        out,
        "{} G90 G17 G94 G40 G80 G54\nG64\nM5\nG0 X0. Y0.\nZ{}\n",
        dialect.g_for(GCode::Metric).unwrap_or_default(),
        length(base_mm(machine)),
    );
}

struct Writer<'a> {
    out: String,
    dialect: &'a Dialect,
    letters: Vec<&'static str>,
    place: Place,
    /// The last word of the group of motions.
    group: Option<&'static str>,
    /// The last feed word.
    feed: Option<String>,
    tip: bool,
}

impl Writer<'_> {
    fn line(&mut self, text: &str) {
        self.out.push_str(text);
        self.out.push('\n');
    }

    fn stretch(&mut self, stretch: &Stretch) {
        let moves = || {
            stretch
                .actions
                .iter()
                .filter_map(|a| if let Action::Go(m) = a { Some(m) } else { None })
        };
        self.frame(Frame::Axes);
        let start = Move {
            to: stretch.start,
            feed: Feed::Rapid,
            ..crate::stretch::line(stretch.start.linear, Feed::Rapid)
        };
        if self.place != stretch.start {
            self.go(&start);
        }
        if moves().any(|m| m.frame == Frame::Tip) {
            self.frame(Frame::Tip);
        }
        (self.group, self.feed) = (None, None);
        self.remark(&format!("test {}", stretch.name));
        self.line("M0");
        for action in (0..stretch.repeats).flat_map(|_| &stretch.actions) {
            match action {
                Action::Go(step) => self.go(step),
                Action::Word(number) => self.line(&format!("M{number}")),
                Action::Tool(number) => self.line(&self.dialect.change(u32::from(*number))),
                Action::Spindle(0) => self.line("M5"),
                Action::Spindle(rpm) => self.line(&format!("S{rpm} M3")),
            }
        }
        self.line("M0");
        self.remark(&format!("end {}", stretch.name));
    }

    fn remark(&mut self, text: &str) {
        self.line(&self.dialect.remark(text));
    }

    fn frame(&mut self, frame: Frame) {
        let tip = frame == Frame::Tip;
        if tip != self.tip {
            // where tip control is the rule it is not switched
            let word = self.dialect.tip_word(tip).filter(|_| self.dialect.switches_tip());
            if let Some(word) = word {
                self.line(&word);
            }
            self.tip = tip;
        }
    }

    fn go(&mut self, step: &Move) {
        let group = match (step.feed, step.shape) {
            (Feed::Rapid, _) => "G0",
            (_, Shape::Line) => "G1",
            (_, Shape::Arc { axis, .. }) if axis.z < 0.0 => "G2",
            (_, Shape::Arc { .. }) => "G3",
        };
        let mut block = String::new();
        if step.stop {
            block.push_str("G9 ");
        }
        if self.group != Some(group) {
            block.push_str(group);
            block.push(' ');
            self.group = Some(group);
        }
        let linear = ["X", "Y", "Z"].into_iter().enumerate();
        for (k, letter) in linear {
            word(&mut block, letter, self.place.linear[k], step.to.linear[k]);
        }
        for (k, letter) in self.letters.iter().enumerate() {
            let degrees = |place: &Place| place.rotary[k].to_degrees();
            word(&mut block, letter, degrees(&self.place), degrees(&step.to));
        }
        if let Shape::Arc { centre, .. } = step.shape {
            // the program's words are absolute
            let from_start = self.dialect.centre == Centre::FromStart;
            let by = if from_start { centre - self.place.linear } else { centre };
            let _ = write!(block, "I{} J{} ", length(by.x), length(by.y));
        }
        if let Feed::Speed(speed) = step.feed {
            let feed = format!("F{}", feed(60.0 * speed));
            if self.feed.as_ref() != Some(&feed) {
                block.push_str(&feed);
                self.feed = Some(feed);
            }
        }
        self.place = step.to;
        let block = block.trim_end().to_owned();
        self.line(&block);
    }
}

/// A coordinate's word where its printed value changes.
fn word(block: &mut String, letter: &str, before: f64, to: f64) {
    let (before, to) = (length(before), length(to));
    if before != to {
        block.push_str(letter);
        block.push_str(&to);
        block.push(' ');
    }
}

/// A coordinate as the program has it.
fn length(value: f64) -> String {
    pointed(value, LENGTH)
}
