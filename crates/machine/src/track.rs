//! A programmed motion as a control is given it: moves one after another, and what it waits for
//! between them. No strategy and no program format lives here.

use crate::{Axis, Event, Kinematics, Machine, Mounting};
use geom::Vec3;
use std::f64::consts::TAU;

/// Where the machine stands: the linear axes or the tip in program coordinates, mm, and the rotary
/// axes in the order of the layout, rad, in the sense of ISO 841.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Place {
    /// Tip in the part's frame under tip control, else positions of the linear axes, mm.
    pub linear: Vec3,
    /// Angles of the rotary axes, rad; zero where the machine has none.
    pub rotary: [f64; 2],
}

/// What the linear coordinates of a move mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Frame {
    /// The tip in the part's frame: tip control is on. While the rotary axes stand at zero, and on
    /// a machine without any, there is no difference.
    Tip,
    /// Positions of the linear axes, each interpolated on its own.
    #[default]
    Axes,
}

/// How a move gets to its end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// Every coordinate evenly.
    Line,
    /// On a circle about `centre`, turning by `sweep_rad` about the unit vector `axis` (right-hand
    /// rule); what the end lies off the plane is climbed evenly, a helix.
    Arc {
        /// Centre in program coordinates, mm.
        centre: Vec3,
        /// Unit vector about which the move turns.
        axis: Vec3,
        /// Angle turned, rad, above zero.
        sweep_rad: f64,
    },
}

/// How fast a move is asked to be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Feed {
    /// As fast as the axes can.
    Rapid,
    /// Speed of the linear coordinates along their path, mm/s; where only rotary axes move, of the
    /// root of the squares of their angles, deg/s.
    Speed(f64),
    /// The move takes this time, s.
    Time(f64),
}

/// One programmed move.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Move {
    /// Where it ends.
    pub to: Place,
    /// How it gets there.
    pub shape: Shape,
    /// How fast.
    pub feed: Feed,
    /// What its coordinates mean.
    pub frame: Frame,
    /// Whether the axes stand still at its end (exact stop).
    pub stop: bool,
    /// The program's block that asks for it, by a number of the caller's.
    pub block: u32,
    /// A number of the caller's for the tool in the spindle.
    pub tool: u16,
}

/// Something that is waited for, at rest.
#[derive(Debug, Clone, PartialEq)]
pub struct Wait {
    /// Number of moves done before it.
    pub after: usize,
    /// What is waited for.
    pub event: Event,
    /// The block that asks for it.
    pub block: u32,
    /// The tool in the spindle while it lasts.
    pub tool: u16,
}

/// A program's motion, in order. Where the frame changes from one move to the next the machine stays
/// where it is: the same place has other coordinates ([`Track::before`]).
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Track {
    /// Where it starts.
    pub start: Place,
    /// The moves.
    pub moves: Vec<Move>,
    /// The waits, by rising `after`.
    pub waits: Vec<Wait>,
}

impl Track {
    /// Where the machine stands before the move of that index, in the frame of that move.
    pub fn before(&self, index: usize, kinematics: &Kinematics) -> Place {
        let own = self.moves.get(index).map(|m| m.frame);
        let Some(last) = index.checked_sub(1).and_then(|i| self.moves.get(i)) else {
            return self.start;
        };
        kinematics.converted(&last.to, last.frame, own.unwrap_or(last.frame))
    }

    /// The same motion of the tool in the other solution of the rotary axes, by whole turns inside
    /// their travel where that can be; `None` on a machine that has one solution alone.
    ///
    /// For a track whose moves are all under tip control.
    pub fn other_solution(&self, machine: &Machine) -> Option<Self> {
        let kinematics = Kinematics::new(machine, &Mounting::default());
        let there = kinematics.mirrored(self.start.rotary);
        if there == self.start.rotary || self.moves.iter().any(|m| m.frame == Frame::Axes) {
            return None;
        }
        let mirrored =
            |place: &Place| Place { rotary: kinematics.mirrored(place.rotary), ..*place };
        let mut other = self.clone();
        other.start = mirrored(&self.start);
        other.moves.iter_mut().for_each(|step| step.to = mirrored(&step.to));
        for k in 0..kinematics.rotary_count() {
            let turn = TAU * f64::from(other.whole_turns(k, &machine.axes[3 + k]));
            other.start.rotary[k] += turn;
            other.moves.iter_mut().for_each(|step| step.to.rotary[k] += turn);
        }
        Some(other)
    }

    /// Whole turns that bring rotary axis `k` into its travel, else its start next to zero.
    fn whole_turns(&self, k: usize, axis: &Axis) -> i32 {
        let start = self.start.rotary[k];
        let nearest = -(start / TAU).round() as i32;
        let Some([low, high]) = axis.travel else { return nearest };
        let all = || self.moves.iter().map(|m| m.to.rotary[k]).chain([start]);
        let ends = [all().fold(start, f64::min), all().fold(start, f64::max)];
        let outside = |turns: i32| {
            let [a, b] = ends.map(|angle| axis.direction * (angle + TAU * f64::from(turns)));
            (low - a.min(b)).max(a.max(b) - high).max(0.0)
        };
        let mut best = nearest;
        for turns in nearest - 2..=nearest + 2 {
            if outside(turns) < outside(best) {
                best = turns;
            }
        }
        best
    }
}
