//! The NC program.

use crate::job::{Job, Piece, Refused};
use crate::number::{LENGTH, feed, pointed, upper};
use crate::words::Words;
use geom::Vec3;
use machine::track::{Feed, Move, Place, Shape};
use std::f64::consts::TAU;

/// Decimals of angles in deg.
const ANGLE: usize = 5;

/// The program of a job.
///
/// # Errors
/// A move that no word can ask for.
pub fn program(job: &Job, words: &Words) -> Result<String, Refused> {
    let mut writer = Writer { out: String::new(), job, words, modal: Modal::default() };
    writer.head();
    for (i, piece) in job.pieces.iter().enumerate() {
        writer.piece(i, piece)?;
    }
    writer.line("M9");
    writer.line("M5");
    writer.line("M30");
    writer.line("%");
    Ok(writer.out)
}

/// What the control still remembers; empty: to be stated again.
#[derive(Default)]
struct Modal {
    group: Option<&'static str>,
    feed: Option<String>,
    inverse: bool,
    printed: Vec<String>,
}

struct Writer<'a> {
    out: String,
    job: &'a Job,
    words: &'a Words,
    modal: Modal,
}

impl Writer<'_> {
    fn line(&mut self, text: &str) {
        self.out.push_str(text.trim_end());
        self.out.push('\n');
    }

    fn remark(&mut self, text: &str) {
        self.line(&self.words.remark(&upper(text)));
    }

    fn head(&mut self) {
        self.line("%");
        self.remark(&self.job.title);
        self.remark(&format!("MACHINE: {}", self.job.machine));
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
        self.remark("X, Y, Z ARE THE TIP OF THE CUTTER IN THE FRAME OF THE PART, F ITS SPEED.");
        if !self.job.rotary.is_empty() {
            self.remark(
                "CONFIRM TIP CONTROL, OFFSETS AND THE SIGN OF EVERY ROTARY AXIS BY A SMALL",
            );
            self.remark("MOVE CLEAR OF THE PART BEFORE THE FIRST RUN.");
            self.remark(
                "THE TIP GOES OVER THE START, THE ROTARY AXES TURN THERE, THEN DOWN Z OF THE PART:",
            );
            self.remark("CHECK THAT WAY, AND THE WAY UP AGAIN, FOR HOLDER, TABLE AND CLAMPS.");
        }
        self.remark("FIRST RUN: DOOR CLOSED, SINGLE BLOCK, RAPID LOW, HAND ON FEED HOLD.");
        self.remark("CLAMPS ARE KEPT CLEAR ONLY WHERE THE STUDY NAMES THEM.");
        self.remark("THE MANUAL OF THE MACHINE, LOCAL RULES AND A QUALIFIED PERSON DECIDE.");
    }

    /// One operation, everything modal stated again.
    fn piece(&mut self, index: usize, piece: &Piece) -> Result<(), Refused> {
        let tool = &self.job.tools[piece.tool];
        let before = index.checked_sub(1).map(|i| self.job.pieces[i].tool);
        self.modal = Modal::default();
        self.remark(&format!("OPERATION {}: {}", index + 1, piece.name));
        self.line(&format!("N{} {} G90 G17 G94 G40 G54 G64", 100 * (index + 1), self.words.metric));
        if before != Some(piece.tool) {
            self.line(&format!("T{}{}", tool.number, self.words.change));
        }
        self.line(&format!("S{:.0} M3", piece.rpm));
        let start = piece.track.start;
        let turned: String = self.rotary(&start).map(|word| format!(" {word}")).collect();
        let on = self.words.tip[0];
        let [x, y] = [start.linear.x, start.linear.y].map(|v| pointed(v, LENGTH));
        let safe = pointed(self.job.safe_z_mm.max(start.linear.z), LENGTH);
        if self.words.length.is_empty() {
            self.line(&format!("G0 Z{safe}"));
        } else {
            self.line(&format!("G0 {}{} Z{safe}", self.words.length, tool.number));
        }
        self.line(&format!("X{x} Y{y}"));
        if !turned.is_empty() {
            self.line(&format!("G0{turned}"));
            if !on.is_empty() {
                self.line(on);
            }
        }
        if let Some(word) = piece.coolant {
            self.line(&format!("M{word}"));
        }
        self.line(&format!("G0 Z{}", pointed(start.linear.z, LENGTH)));
        self.modal.group = Some("G0");
        self.modal.printed = self.coordinates(&start);
        let mut from = start;
        for step in &piece.track.moves {
            self.go(&from, step, piece)?;
            from = step.to;
        }
        let out = if self.modal.inverse { "G94 G0" } else { "G0" };
        self.line(&format!("{out} Z{safe}"));
        if !turned.is_empty() {
            let zero: String = self.job.rotary.iter().map(|(l, _)| format!(" {l}0.")).collect();
            self.line(&format!("G0{zero}"));
            if !self.words.tip[1].is_empty() {
                self.line(self.words.tip[1]);
            }
        }
        Ok(())
    }

    /// Words of the rotary axes at a place.
    fn rotary(&self, place: &Place) -> impl Iterator<Item = String> + use<> {
        let words: Vec<String> = self
            .job
            .rotary
            .iter()
            .zip(place.rotary)
            .map(|(&(letter, sense), angle)| {
                format!("{letter}{}", pointed((sense * angle).to_degrees(), ANGLE))
            })
            .collect();
        words.into_iter()
    }

    /// All coordinate words of a place.
    fn coordinates(&self, place: &Place) -> Vec<String> {
        let Vec3 { x, y, z } = place.linear;
        let linear = [('X', x), ('Y', y), ('Z', z)];
        let words = linear.into_iter().map(|(l, v)| format!("{l}{}", pointed(v, LENGTH)));
        words.chain(self.rotary(place)).collect()
    }

    fn go(&mut self, from: &Place, step: &Move, piece: &Piece) -> Result<(), Refused> {
        let refuse = |why: &str| Refused { operation: piece.name.clone(), why: why.into() };
        let group = match (step.feed, step.shape) {
            (Feed::Rapid, _) => "G0",
            (_, Shape::Line) => "G1",
            (_, Shape::Arc { axis, .. }) if axis.z < -0.999_999 => "G2",
            (_, Shape::Arc { axis, .. }) if axis.z > 0.999_999 => "G3",
            _ => return Err(refuse("an arc lies in no plane of the program")),
        };
        let coordinates = self.coordinates(&step.to);
        let changed: Vec<&String> = coordinates
            .iter()
            .zip(&self.modal.printed)
            .filter(|(now, before)| now != before)
            .map(|(now, _)| now)
            .collect();
        let arc = matches!(step.shape, Shape::Arc { .. });
        if changed.is_empty() && !arc {
            return Ok(());
        }
        let mut block: Vec<String> = Vec::new();
        let inverse = matches!(step.feed, Feed::Time(_));
        if inverse != self.modal.inverse && step.feed != Feed::Rapid {
            block.push(if inverse { "G93".into() } else { "G94".into() });
            (self.modal.inverse, self.modal.feed) = (inverse, None);
        }
        if step.stop {
            block.push("G9".into());
        }
        if self.modal.group != Some(group) {
            block.push(group.into());
            self.modal.group = Some(group);
        }
        block.extend(changed.into_iter().cloned());
        if let Shape::Arc { centre, sweep_rad, .. } = step.shape {
            if sweep_rad > TAU * (1.0 + 1e-9) {
                return Err(refuse("an arc turns more than once"));
            }
            let arm = centre - from.linear;
            block.push(format!("I{} J{}", pointed(arm.x, LENGTH), pointed(arm.y, LENGTH)));
        }
        let asked = match step.feed {
            Feed::Rapid => None,
            Feed::Speed(mm_s) => Some(feed(60.0 * mm_s)),
            Feed::Time(s) => Some(feed(60.0 / s)),
        };
        if let Some(asked) = asked {
            let word = format!("F{asked}");
            if inverse || self.modal.feed.as_ref() != Some(&word) {
                block.push(word.clone());
                self.modal.feed = Some(word);
            }
        }
        self.modal.printed = coordinates;
        self.line(&block.join(" "));
        Ok(())
    }
}
