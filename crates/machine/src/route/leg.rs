//! The vertices of a path on the machine and the legs between them.

use crate::track::Frame;
use geom::Vec3;
use geom::tolerance::COINCIDENT_MM;
use toolpath::RunKind;

/// A place that the path passes: tip in program coordinates and rotary angles (ISO 841 sense).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Vertex {
    pub(crate) tip: Vec3,
    pub(crate) theta: [f64; 2],
}

/// What lies between two vertices: a programmed move or a piece of one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Leg {
    /// Index of the run.
    pub(crate) run: u32,
    /// Kind of the run.
    pub(crate) kind: RunKind,
    /// Length in the path's parameter, mm.
    pub(crate) length: f64,
    /// Programmed speed in the path's parameter, mm/s; infinite for a rapid.
    pub(crate) feed: f64,
    /// Length of the whole programmed move in the path's parameter, mm.
    pub(crate) block: f64,
    /// Path of the tip per parameter: 1 but for moves that mostly turn.
    pub(crate) tip_share: f64,
    /// Angle between the leg and the path at its ends, rad: above 0 on pieces of an arc, whose
    /// joints are no corners.
    pub(crate) bow: f32,
    /// Axis about which an arc turns, program coordinates; zero on other legs.
    pub(crate) about: [f32; 3],
    /// What the places of the leg mean.
    pub(crate) frame: Frame,
    /// Whether the program asks the axes to stand still at its end.
    pub(crate) stop: bool,
}

/// What the pieces of an arc turn at their joints may exceed their bows by, through rounding.
const BOW_SLACK: f64 = 1.001;

impl Leg {
    /// What of a jump of the unit tangent between this leg and `next` is a corner: all but what the
    /// pieces of arcs turn at their joints.
    pub(crate) fn sharpness(&self, next: &Self, jump: f64) -> f64 {
        (jump - BOW_SLACK * f64::from(self.bow + next.bow)).max(0.0)
    }

    /// Directions of the path itself at the leg's start and end, `along` being that of the leg, where
    /// program and machine coordinates have the same axes: those of an arc lie its bow off its chord.
    pub(crate) fn tangents(&self, along: Vec3) -> [Vec3; 2] {
        if self.bow == 0.0 {
            return [along; 2];
        }
        let off = Vec3::from(self.about.map(f64::from)).cross(along);
        let (sin, cos) = f64::from(self.bow).sin_cos();
        [along * cos - off * sin, along * cos + off * sin]
    }

    /// Radius of the arc that the leg is a piece of, mm; infinite for a straight one.
    pub(crate) fn radius(&self) -> f64 {
        0.5 * self.length / f64::from(self.bow)
    }

    /// Whether only rotary axes move, the programmed linear coordinates staying as they are.
    pub(crate) fn only_turns(&self) -> bool {
        self.block * self.tip_share <= COINCIDENT_MM
    }

    /// Whether the move is a rapid.
    pub(crate) fn is_rapid(&self) -> bool {
        self.feed.is_infinite()
    }
}

/// A path as vertices and legs, one leg fewer than vertices.
#[derive(Debug, Clone, Default)]
pub(crate) struct Polyline {
    pub(crate) vertices: Vec<Vertex>,
    pub(crate) legs: Vec<Leg>,
}
