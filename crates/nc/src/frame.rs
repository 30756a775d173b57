//! From programmed coordinates to those of the track.

use geom::{Mat3, Vec3};

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
    /// Zero and turn of coordinates that are turned in space.
    pub(crate) tilt: Option<(Vec3, Mat3)>,
}

impl Map {
    pub(crate) fn out(&self, p: Vec3) -> Vec3 {
        let turned = self.turn.map_or(p, |(centre, turn)| centre + turn * (p - centre));
        let tilted = self.tilt.map_or(turned, |(zero, tilt)| zero + tilt * turned);
        tilted + self.shift + self.offset + self.preset
    }

    pub(crate) fn back(&self, p: Vec3) -> Vec3 {
        let tilted = p - self.offset - self.preset - self.shift;
        let turned = self.tilt.map_or(tilted, |(zero, tilt)| tilt.transpose() * (tilted - zero));
        self.turn.map_or(turned, |(centre, turn)| centre + turn.transpose() * (turned - centre))
    }

    pub(crate) fn direction(&self, v: Vec3) -> Vec3 {
        let turned = self.turn.map_or(v, |(_, turn)| turn * v);
        self.tilt.map_or(turned, |(_, tilt)| tilt * turned)
    }
}
