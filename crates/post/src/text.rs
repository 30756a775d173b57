//! Blocks as text: what the control still remembers, words only where they change.

use crate::number::{feed, pointed};
use crate::program::Asked;
use dialect::{ArcWords, Centre, Dialect, GCode};
use geom::{Mat3, Vec3};
use machine::track::{Feed, Frame, Move, Place, Shape};

/// What the control still remembers; empty: to be stated again.
#[derive(Default)]
struct Modal {
    group: Option<GCode>,
    plane: Option<u8>,
    feed: Option<String>,
    inverse: bool,
    printed: Vec<String>,
}

/// Writes blocks one after another.
pub(crate) struct Text<'a> {
    out: String,
    /// Lines written.
    pub(crate) lines: u32,
    blocks: u32,
    dialect: &'a Dialect,
    /// Letters of the rotary axes and their sense.
    rotary: Vec<(&'static str, f64)>,
    modal: Modal,
    at: Place,
    /// From the coordinates of words to those of the program.
    pub(crate) turned: Option<Mat3>,
    /// What was asked for, by line.
    pub(crate) asked: Vec<Asked>,
}

impl<'a> Text<'a> {
    pub(crate) fn new(dialect: &'a Dialect, rotary: Vec<(&'static str, f64)>) -> Self {
        Self {
            out: String::new(),
            lines: 0,
            blocks: 0,
            dialect,
            rotary,
            modal: Modal::default(),
            at: Place::default(),
            turned: None,
            asked: Vec::new(),
        }
    }

    /// The text so far.
    pub(crate) fn finish(self) -> (String, Vec<Asked>) {
        (self.out, self.asked)
    }

    /// A line as it is.
    pub(crate) fn raw(&mut self, text: &str) {
        self.out.push_str(text.trim_end());
        self.out.push('\n');
        self.lines += 1;
    }

    /// A block, numbered where the dialect numbers blocks.
    pub(crate) fn block(&mut self, text: &str) {
        self.blocks += 1;
        match self.dialect.block_step {
            0 => self.raw(text),
            step => self.raw(&format!("N{} {text}", self.blocks * step)),
        }
    }

    /// A block with a number of its own, where blocks are not numbered anyway; its number.
    pub(crate) fn numbered(&mut self, number: usize, text: &str) -> usize {
        match self.dialect.block_step {
            0 => {
                self.raw(&format!("N{number} {text}"));
                number
            }
            step => {
                self.block(text);
                (self.blocks * step) as usize
            }
        }
    }

    /// Forgets what the control remembers.
    pub(crate) fn forget(&mut self) {
        self.modal = Modal::default();
    }

    /// The tool stands at a place of which the control was told nothing in these words.
    pub(crate) fn stands(&mut self, at: Place) {
        self.at = at;
        self.modal.printed.clear();
    }

    fn length(&self, value: f64) -> String {
        pointed(value, usize::from(self.dialect.length_decimals))
    }

    /// Words of the rotary axes at a place.
    pub(crate) fn rotary(&self, place: &Place) -> Vec<String> {
        let decimals = usize::from(self.dialect.angle_decimals);
        self.rotary
            .iter()
            .zip(place.rotary)
            .map(|(&(letter, sense), angle)| {
                format!("{letter}{}", pointed((sense * angle).to_degrees(), decimals))
            })
            .collect()
    }

    fn coordinates(&self, place: &Place) -> Vec<String> {
        let Vec3 { x, y, z } = place.linear;
        let linear = [('X', x), ('Y', y), ('Z', z)];
        let words = linear.into_iter().map(|(l, v)| format!("{l}{}", self.length(v)));
        words.chain(self.rotary(place)).collect()
    }

    /// The place as its words say it.
    fn as_printed(&self, place: &Place) -> Place {
        let value = |word: &String| word[1..].parse().unwrap_or(0.0);
        let words: Vec<f64> = self.coordinates(place).iter().map(value).collect();
        let linear = Vec3::new(words[0], words[1], words[2]);
        Place { linear, ..*place }
    }

    fn word(&self, code: GCode) -> Result<String, String> {
        self.dialect.g_for(code).ok_or_else(|| {
            format!("dialect {} has no word for {}", self.dialect.name, meaning(code))
        })
    }

    /// Writes one move; `prefix` are words that stand before the others.
    pub(crate) fn go(&mut self, step: &Move, prefix: &str) -> Result<(), String> {
        let (group, plane) = group(step)?;
        let coordinates = self.coordinates(&step.to);
        let changed: Vec<&String> = if self.modal.printed.is_empty() {
            coordinates.iter().collect()
        } else {
            let both = coordinates.iter().zip(&self.modal.printed);
            both.filter(|(now, before)| now != before).map(|(now, _)| now).collect()
        };
        let arc = matches!(step.shape, Shape::Arc { .. });
        if changed.is_empty() && !arc && prefix.is_empty() {
            return Ok(());
        }
        let mut block: Vec<String> = Vec::new();
        if step.feed != Feed::Rapid {
            self.feed_kind(step, &mut block)?;
        }
        if step.stop {
            block.push(self.word(GCode::StopOnce)?);
        }
        if let Some(plane) = plane.filter(|p| self.modal.plane != Some(*p)) {
            block.push(self.word(GCode::Plane(plane))?);
            self.modal.plane = Some(plane);
        }
        if self.modal.group != Some(group) {
            block.push(self.word(group)?);
            self.modal.group = Some(group);
        }
        if !prefix.is_empty() {
            block.push(prefix.to_owned());
        }
        block.extend(changed.into_iter().cloned());
        if let Shape::Arc { centre, sweep_rad, .. } = step.shape {
            block.push(self.centre(centre, sweep_rad, plane.unwrap_or(2)));
        }
        self.feed_word(step.feed, &mut block);
        self.modal.printed = coordinates;
        self.block(&block.join(" "));
        self.asked.push(Asked { line: self.lines, step: self.turned_back(step) });
        self.at = step.to;
        Ok(())
    }

    /// A move in the coordinates of the program.
    fn turned_back(&self, step: &Move) -> Move {
        let Some(turn) = self.turned else { return *step };
        let shape = match step.shape {
            Shape::Line => Shape::Line,
            Shape::Arc { centre, axis, sweep_rad } => {
                Shape::Arc { centre: turn * centre, axis: turn * axis, sweep_rad }
            }
        };
        Move { to: Place { linear: turn * step.to.linear, ..step.to }, shape, ..*step }
    }

    /// Back to feed per minute before what is no block at feed.
    pub(crate) fn per_minute(&mut self) -> Result<(), String> {
        if self.modal.inverse {
            let word = self.word(GCode::PerMinute)?;
            self.block(&word);
            (self.modal.inverse, self.modal.feed) = (false, None);
        }
        Ok(())
    }

    fn feed_kind(&mut self, step: &Move, block: &mut Vec<String>) -> Result<(), String> {
        let inverse = matches!(step.feed, Feed::Time(_));
        if inverse != self.modal.inverse {
            let code = if inverse { GCode::InverseTime } else { GCode::PerMinute };
            block.push(self.word(code)?);
            (self.modal.inverse, self.modal.feed) = (inverse, None);
        }
        Ok(())
    }

    fn feed_word(&mut self, asked: Feed, block: &mut Vec<String>) {
        let asked = match asked {
            Feed::Rapid => return,
            Feed::Speed(mm_s) => feed(60.0 * mm_s),
            Feed::Time(s) => feed(60.0 / s),
        };
        let word = format!("F{asked}");
        if self.modal.inverse || self.modal.feed.as_ref() != Some(&word) {
            block.push(word.clone());
            self.modal.feed = Some(word);
        }
    }

    /// The words of a centre, from where the start was printed.
    fn centre(&self, centre: Vec3, sweep_rad: f64, plane: u8) -> String {
        let start = self.as_printed(&self.at).linear;
        let normal = usize::from(plane);
        let mut arm = centre - start;
        arm[normal] = 0.0;
        if self.dialect.arcs == ArcWords::Radius {
            let sign = if sweep_rad > std::f64::consts::PI { -1.0 } else { 1.0 };
            return format!("R{}", self.length(sign * arm.length()));
        }
        let from = if self.dialect.centre == Centre::AsWords { centre } else { arm };
        let words = (0..3).filter(|&k| k != normal);
        let words: Vec<String> =
            words.map(|k| format!("{}{}", ["I", "J", "K"][k], self.length(from[k]))).collect();
        words.join(" ")
    }
}

/// The G word of a move, and the plane of an arc by its normal.
fn group(step: &Move) -> Result<(GCode, Option<u8>), String> {
    let Shape::Arc { axis, .. } = step.shape else {
        return Ok((if step.feed == Feed::Rapid { GCode::Rapid } else { GCode::Line }, None));
    };
    let normal = (0..3u8).find(|k| axis[usize::from(*k)].abs() > 0.999_999);
    let Some(normal) = normal else {
        return Err("an arc lies in no plane of the program".into());
    };
    let counter = axis[usize::from(normal)] > 0.0;
    Ok((if counter { GCode::ArcCounter } else { GCode::ArcClockwise }, Some(normal)))
}

fn meaning(code: GCode) -> &'static str {
    match code {
        GCode::InverseTime => "inverse-time feed",
        GCode::StopOnce => "an exact stop",
        GCode::Plane(_) => "the plane of an arc",
        GCode::ArcClockwise | GCode::ArcCounter => "arcs",
        GCode::MachineCoordinates => "machine coordinates",
        _ => "a move",
    }
}

/// A rapid to a place.
pub(crate) fn rapid(to: Place, frame: Frame) -> Move {
    Move { to, shape: Shape::Line, feed: Feed::Rapid, frame, stop: false, block: u32::MAX, tool: 0 }
}
