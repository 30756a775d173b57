//! From programmed coordinates to those of the track, and between tip and axes.

use geom::{Mat3, Vec3};
use machine::track::Place;
use machine::{AxisPosition, Kinematics};

/// Turns coordinates about a point and shifts them.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Map {
    /// Program zero in track coordinates, mm.
    pub(crate) offset: Vec3,
    /// What setting the position adds to it, mm.
    pub(crate) preset: Vec3,
    /// Shift of the words, mm.
    pub(crate) shift: Vec3,
    /// Point about which is turned, and the turn.
    pub(crate) turn: Option<(Vec3, Mat3)>,
}

impl Map {
    pub(crate) fn out(&self, p: Vec3) -> Vec3 {
        let turned = self.turn.map_or(p, |(centre, turn)| centre + turn * (p - centre));
        turned + self.shift + self.offset + self.preset
    }

    pub(crate) fn back(&self, p: Vec3) -> Vec3 {
        let turned = p - self.offset - self.preset - self.shift;
        self.turn.map_or(turned, |(centre, turn)| centre + turn.transpose() * (turned - centre))
    }

    pub(crate) fn direction(&self, v: Vec3) -> Vec3 {
        self.turn.map_or(v, |(_, turn)| turn * v)
    }
}

fn tip(kinematics: &Kinematics, linear: Vec3, rotary: [f64; 2]) -> Vec3 {
    kinematics.forward(&AxisPosition { linear, rotary }).tip
}

/// The tip at axis positions; rotary in the machine's own sense.
pub(crate) fn tip_of(kinematics: &Kinematics, linear: Vec3, rotary: [f64; 2]) -> Vec3 {
    tip(kinematics, linear, rotary)
}

/// The linear axes with the tip at `place`; rotary in the machine's own sense.
pub(crate) fn axes_of(kinematics: &Kinematics, place: &Place) -> Vec3 {
    // at fixed angles the tip is a turn and a shift of the axes
    let zero = tip(kinematics, Vec3::ZERO, place.rotary);
    let column = |v: Vec3| tip(kinematics, v, place.rotary) - zero;
    let turn = Mat3::from_cols(column(Vec3::X), column(Vec3::Y), column(Vec3::Z));
    turn.transpose() * (place.linear - zero)
}
