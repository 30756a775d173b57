//! The way of a tool that may lean on one move, in pieces that are straight with a steady axis.

use geom::Vec3;
use machine::Kinematics;
use machine::track::{Feed, Frame, Place, Shape};
use nc::Program;

/// The axis turns by no more than this in a piece, rad: the middle of the piece is half as far off.
const TURN_RAD: f64 = 0.005;
/// An arc turns by no more than this in a piece, rad.
const ARC_RAD: f64 = 0.05;
/// A turn of the axis counts as if at this distance from the tip, mm.
const LEVER_MM: f64 = 10.0;
/// Most pieces of a move.
const MOST: f64 = 2000.0;

/// One move.
pub(super) struct Way {
    /// Tip, and axis towards the spindle, where its pieces meet: at least two.
    pub(super) stances: Vec<(Vec3, Vec3)>,
    /// Line of the program.
    pub(super) block: u32,
    pub(super) rapid: bool,
    /// Its time, s.
    pub(super) time_s: f64,
    /// Path of the tip, or of a place beside it where the axis turns faster, mm.
    pub(super) length_mm: f64,
}

/// The pieces of a move, none at feed longer than `longest_mm`.
///
/// The rotary axes turn evenly from end to end. Where the words are positions of the axes, the tip does
/// not go straight in the part while they turn.
pub(super) fn pieces(
    kinematics: &Kinematics,
    program: &Program,
    index: usize,
    (time_s, longest_mm): (f64, f64),
) -> Way {
    let step = program.track.moves[index];
    let from = program.track.before(index, kinematics);
    let rapid = step.feed == Feed::Rapid;
    let turn = (0..2).map(|k| (step.to.rotary[k] - from.rotary[k]).abs()).fold(0.0, f64::max);
    let round = match step.shape {
        Shape::Line => 0.0,
        Shape::Arc { sweep_rad, .. } => sweep_rad.abs() / ARC_RAD,
    };
    let path_mm = super::length(&from, &step);
    let long = if rapid { 1.0 } else { path_mm / longest_mm };
    let count = (turn / TURN_RAD).max(round).max(long).ceil().clamp(1.0, MOST);
    let at = |i: u32| {
        let t = f64::from(i) / count;
        let rotary =
            std::array::from_fn(|k| from.rotary[k] + t * (step.to.rotary[k] - from.rotary[k]));
        let here = Place { linear: super::along(&from, &step.to, &step, t), rotary };
        let tip = kinematics.converted(&here, step.frame, Frame::Tip);
        (tip.linear, kinematics.axis_at(tip.rotary))
    };
    let stances: Vec<(Vec3, Vec3)> = (0..=count as u32).map(at).collect();
    let tip_mm: f64 = stances.windows(2).map(|w| w[0].0.distance(w[1].0)).sum();
    Way { stances, block: step.block, rapid, time_s, length_mm: tip_mm.max(LEVER_MM * turn) }
}
