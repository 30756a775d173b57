//! A programmed motion as a control is given it: moves one after another, and what it waits for
//! between them. No strategy and no program format lives here.

use crate::Event;
use geom::Vec3;

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

/// A program's motion, in order.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Track {
    /// Where it starts.
    pub start: Place,
    /// The moves.
    pub moves: Vec<Move>,
    /// The waits, by rising `after`.
    pub waits: Vec<Wait>,
}
