//! Rotary angles for a tool axis: two solutions, and the poles where one angle is free.

use super::{Joint, Kinematics, turned};
use crate::AxisName;
use geom::Vec3;
use geom::tolerance::{PARALLEL_RAD, REACHED_RAD};
use std::f64::consts::PI;
use thiserror::Error;

/// A tool axis that the machine's rotary axes cannot give.
#[derive(Debug, Clone, PartialEq, Error)]
#[error(
    "the tool axis ({x:.6}, {y:.6}, {z:.6}) cannot be reached with {axes}, it stays {off_deg:.4} deg off; \
     choose a machine that tilts that way, another mounting, or a fixed axis"
)]
pub struct Unreachable {
    /// Tool axis in program coordinates.
    pub x: f64,
    /// Its y.
    pub y: f64,
    /// Its z.
    pub z: f64,
    /// The rotary axes that are there.
    pub axes: String,
    /// Angle between the axis and the nearest one that can be reached, deg.
    pub off_deg: f64,
}

/// Rotary angles (ISO 841 sense, rad) that give a tool axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RotarySolutions {
    angles: [[f64; 2]; 2],
    count: usize,
    free: [bool; 2],
    /// Angle between the tool axis and the pole at which the first angle is free, rad.
    pub pole_rad: f64,
}

impl RotarySolutions {
    fn one(angles: [f64; 2], free: [bool; 2]) -> Self {
        Self { angles: [angles; 2], count: 1, free, pole_rad: f64::INFINITY }
    }

    /// The solutions, with `hold` in the place of an angle that does not matter.
    pub fn resolved(&self, hold: [f64; 2]) -> impl Iterator<Item = [f64; 2]> {
        let free = self.free;
        self.angles
            .into_iter()
            .take(self.count)
            .map(move |angles| std::array::from_fn(|k| if free[k] { hold[k] } else { angles[k] }))
    }

    /// Whether the first angle does not matter, at the pole.
    pub fn at_pole(&self) -> bool {
        self.free[0]
    }
}

impl Kinematics {
    /// Both pairs of rotary angles for a unit tool axis in program coordinates.
    pub fn rotary_solutions(&self, axis: Vec3) -> Result<RotarySolutions, Unreachable> {
        match self.joints.as_slice() {
            [] => self.without_tilt(axis),
            [first, rest @ ..] if rest.iter().all(|j| j.name == AxisName::C) => {
                self.one_tilt(axis, first)
            }
            [first, second, ..] => self.two_tilts(axis, first, second),
            _ => self.without_tilt(axis),
        }
    }

    fn unreachable(&self, axis: Vec3, off_rad: f64) -> Unreachable {
        let names: Vec<_> = self.joints.iter().map(|j| j.name.letter()).collect();
        let axes = if names.is_empty() { "no rotary axis".into() } else { names.join(" and ") };
        Unreachable { x: axis.x, y: axis.y, z: axis.z, axes, off_deg: off_rad.to_degrees() }
    }

    fn without_tilt(&self, axis: Vec3) -> Result<RotarySolutions, Unreachable> {
        let off = axis.cross(Vec3::Z).length().atan2(axis.z);
        if off > REACHED_RAD {
            return Err(self.unreachable(axis, off));
        }
        Ok(RotarySolutions::one([0.0; 2], [true; 2]))
    }

    fn one_tilt(&self, axis: Vec3, joint: &Joint) -> Result<RotarySolutions, Unreachable> {
        let about = joint.name.direction();
        if joint.name == AxisName::C {
            return self.without_tilt(axis);
        }
        let off = axis.dot(about).abs().atan2(axis.cross(about).length());
        if off > REACHED_RAD {
            return Err(self.unreachable(axis, off));
        }
        let angle = about.dot(Vec3::Z.cross(axis)).atan2(axis.z);
        Ok(RotarySolutions::one([angle, 0.0], [false, true]))
    }

    fn two_tilts(
        &self,
        axis: Vec3,
        first: &Joint,
        second: &Joint,
    ) -> Result<RotarySolutions, Unreachable> {
        let about = first.name.direction();
        let (along, off) = (axis.dot(about), axis.cross(about).length());
        let side = about.dot(second.name.direction().cross(Vec3::Z));
        // z turned about the second axis has the component cos θ₂ (first axis along z) or
        // ± sin θ₂ (first axis across z) along the first axis
        let seconds = if first.name == AxisName::C {
            [off.atan2(along), -off.atan2(along)]
        } else {
            [(side * along).atan2(off), (side * along).atan2(-off)]
        };
        let angles = seconds.map(|t2| {
            let w = turned(second.name, t2.sin_cos(), Vec3::Z);
            let t1 = about.dot(w.cross(axis)).atan2(w.dot(axis) - w.dot(about) * along);
            [t1, t2]
        });
        let free = off < PARALLEL_RAD;
        let pole_rad = off.atan2(along.abs());
        Ok(RotarySolutions { angles, count: 2, free: [free, false], pole_rad })
    }

    /// The other solution of the same tool axis.
    pub(crate) fn mirrored(&self, theta: [f64; 2]) -> [f64; 2] {
        match self.joints.as_slice() {
            [first, second] if second.name != AxisName::C => {
                let t2 = if first.name == AxisName::C { -theta[1] } else { PI - theta[1] };
                [theta[0] + PI, t2]
            }
            _ => theta,
        }
    }
}

impl RotarySolutions {
    /// The same, with the first angle free when the axis lies within `cone_rad` of the pole.
    pub(crate) fn freed_within(mut self, cone_rad: f64) -> Self {
        self.free[0] |= self.pole_rad < cone_rad;
        self
    }
}
