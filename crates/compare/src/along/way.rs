//! The way of a leaning tool on one move, in pieces that are straight with a steady axis.

use geom::Vec3;
use machine::Kinematics;
use machine::track::{Frame, Move, Place, Shape};

/// The axis turns by no more than this in a piece, rad: the middle of the piece is half as far off.
const TURN_RAD: f64 = 0.005;
/// An arc turns by no more than this in a piece, rad.
const ARC_RAD: f64 = 0.05;
/// Most pieces of a move.
const MOST: f64 = 2000.0;

/// Tip, and axis towards the spindle, where the pieces of a move from `from` meet.
///
/// The rotary axes turn evenly from end to end. Where the words are positions of the axes, the tip does
/// not go straight in the part while they turn.
pub(super) fn pieces(kinematics: &Kinematics, from: &Place, step: &Move) -> Vec<(Vec3, Vec3)> {
    let turn = (0..2).map(|k| (step.to.rotary[k] - from.rotary[k]).abs()).fold(0.0, f64::max);
    let round = match step.shape {
        Shape::Line => 0.0,
        Shape::Arc { sweep_rad, .. } => sweep_rad.abs() / ARC_RAD,
    };
    let count = (turn / TURN_RAD).max(round).ceil().clamp(1.0, MOST);
    let at = |i: u32| {
        let t = f64::from(i) / count;
        let rotary =
            std::array::from_fn(|k| from.rotary[k] + t * (step.to.rotary[k] - from.rotary[k]));
        let here = Place { linear: super::along(from, &step.to, step, t), rotary };
        let tip = kinematics.converted(&here, step.frame, Frame::Tip);
        (tip.linear, kinematics.axis_at(tip.rotary))
    };
    (0..=count as u32).map(at).collect()
}
