//! A program is read back before it is given away: the path that its text asks for is the path that
//! was meant, and takes the time that was meant.

use crate::failure::Failure;
use dialect::Dialect;
use geom::{Quat, Vec3};
use machine::track::{Feed, Move, Place, Shape, Track};
use machine::{Machine, RouteOptions, Scenario, TrackOptions, TrackTimer};
use nc::{Program, ReadOptions};
use post::{Asked, Section, Written};
use serde::Serialize;

/// How far the path may be off, mm.
const PATH_MM: f64 = 1e-3;
/// How far an angle may be off, rad: a tenth of a micrometre at 100 mm would be 1e-6.
const ANGLE_RAD: f64 = 1e-6;
/// How far the time of an operation may be off, as a share.
const TIME_SHARE: f64 = 1e-3;

/// What reading back found; within bounds, or nothing would have been written.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Checked {
    /// Moves that were compared.
    pub moves: usize,
    /// The furthest that the path of the text lies off, µm.
    pub path_off_um: f64,
    /// The most that the time of an operation is off, as a share.
    pub time_off_share: f64,
}

/// A program's text against what was meant.
pub(super) struct Check<'a> {
    /// What was written.
    pub(super) written: &'a Written,
    /// In which words.
    pub(super) dialect: &'a Dialect,
    /// For which machine.
    pub(super) machine: &'a Machine,
    /// How the tool of each section is held.
    pub(super) route: &'a dyn Fn(&Section) -> RouteOptions,
}

impl Check<'_> {
    /// Reads the text back and compares.
    pub(super) fn run(&self) -> Result<(Program, Checked), Failure> {
        let bytes = self.written.text.as_bytes();
        let read = nc::read(bytes, self.dialect, self.machine, &ReadOptions::default());
        let program = read.map_err(|faults| refused(&faults[0].to_string()))?;
        let mut checked = Checked { moves: 0, path_off_um: 0.0, time_off_share: 0.0 };
        let pairs = self.pairs(&program.track, &mut checked)?;
        for section in &self.written.sections {
            self.time(section, &pairs, &mut checked)?;
        }
        Ok((program, checked))
    }

    /// Each move that was asked for as it was read; where the text does not move, as it was meant.
    fn pairs(&self, track: &Track, checked: &mut Checked) -> Result<Vec<Move>, Failure> {
        let mut asked = self.written.asked.iter().peekable();
        let mut pairs: Vec<Move> = Vec::with_capacity(self.written.asked.len());
        let mut before = (track.start, None::<Place>);
        for step in &track.moves {
            while let Some(still) = asked.next_if(|a| a.line < step.block) {
                // nothing moved there: it must have been where the tool stood already
                compare(still, &still.step, (before.0, before.1), &before.0, checked)?;
                pairs.push(still.step);
                before.1 = Some(still.step.to);
            }
            match asked.next_if(|a| a.line == step.block) {
                Some(meant) => {
                    compare(meant, step, (before.0, before.1), &step.to, checked)?;
                    pairs.push(*step);
                    before = (step.to, Some(meant.step.to));
                }
                None if step.feed == Feed::Rapid => before = (step.to, None),
                None => {
                    return Err(refused(&format!("line {} cuts and was not meant to", step.block)));
                }
            }
        }
        match asked.next() {
            Some(missing) => Err(refused(&format!("line {} does not move", missing.line))),
            None => Ok(pairs),
        }
    }

    fn time(
        &self,
        section: &Section,
        pairs: &[Move],
        checked: &mut Checked,
    ) -> Result<(), Failure> {
        let meant: Vec<Move> =
            self.written.asked[section.asked.clone()].iter().map(|a| a.step).collect();
        let read = &pairs[section.asked.clone()];
        let route = (self.route)(section);
        let time_s = |moves: &[Move]| -> Result<f64, Failure> {
            let Some((first, rest)) = moves.split_first() else { return Ok(0.0) };
            let track = Track { start: first.to, moves: rest.to_vec(), waits: Vec::new() };
            let options = TrackOptions { route, worth_of: 0, ..TrackOptions::default() };
            let timed = TrackTimer::new(&track, self.machine, &options)
                .and_then(|timer| timer.times(&Scenario::default()));
            timed.map(|t| t.total_s).map_err(|e| refused(&e.to_string()))
        };
        let (meant_s, read_s) = (time_s(&meant)?, time_s(read)?);
        let off = if meant_s > 0.0 { (read_s / meant_s - 1.0).abs() } else { read_s };
        checked.time_off_share = checked.time_off_share.max(off);
        if off > TIME_SHARE {
            let what = format!(
                "the operation from N{} on takes {read_s:.3} s as written, {meant_s:.3} s as meant",
                section.number
            );
            return Err(refused(&what));
        }
        Ok(())
    }
}

fn compare(
    meant: &Asked,
    read: &Move,
    (read_from, meant_from): (Place, Option<Place>),
    read_to: &Place,
    checked: &mut Checked,
) -> Result<(), Failure> {
    let line = meant.line;
    let mut off = read_to.linear.distance(meant.step.to.linear);
    let turned =
        (0..2).map(|k| (read_to.rotary[k] - meant.step.to.rotary[k]).abs()).fold(0.0, f64::max);
    match (&read.shape, &meant.step.shape, meant_from) {
        (Shape::Line, Shape::Line, _) => {}
        (a @ Shape::Arc { .. }, b @ Shape::Arc { .. }, Some(from)) => {
            for t in [0.25, 0.5, 0.75] {
                off = off.max(on_arc(read_from.linear, a, t).distance(on_arc(from.linear, b, t)));
            }
        }
        _ => return Err(refused(&format!("line {line} moves in another shape than was meant"))),
    }
    let rapid = |m: &Move| m.feed == Feed::Rapid;
    if rapid(read) != rapid(&meant.step) {
        return Err(refused(&format!("line {line} is a rapid where a feed was meant, or back")));
    }
    checked.moves += 1;
    checked.path_off_um = checked.path_off_um.max(1e3 * off);
    if !(off <= PATH_MM && turned <= ANGLE_RAD) {
        let what = format!(
            "line {line} leads {:.3} µm and {:.6} deg off what was meant",
            1e3 * off,
            turned.to_degrees()
        );
        return Err(refused(&what));
    }
    Ok(())
}

/// The place at the share `t` of an arc in its plane.
fn on_arc(from: Vec3, shape: &Shape, t: f64) -> Vec3 {
    match shape {
        Shape::Arc { centre, axis, sweep_rad } => {
            *centre + Quat::from_axis_angle(*axis, t * sweep_rad) * (from - *centre)
        }
        Shape::Line => from,
    }
}

fn refused(what: &str) -> Failure {
    Failure::other(
        format!("the program does not read back as it was meant, and nothing was written: {what}"),
        "check the dialect's file; with a packaged dialect, report this fault",
    )
}
