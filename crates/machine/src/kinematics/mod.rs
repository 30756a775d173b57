//! From tool poses in the part's frame to axis positions and back.
//!
//! Rotations are right-handed about X, Y, Z as motion of the tool relative to the work (ISO 841).
//! With θ₁ the rotary axis next to the part (or to the frame, in a head) and θ₂ the other, the tool
//! axis in the program's frame is a = R₁(θ₁) R₂(θ₂) z. Tables turn the part by the inverse
//! rotations about their centres; heads add how far the pivot lies off the tip.
//!
//! Linear axis positions are program coordinates of the tip at rest of the rotary axes, so that on
//! a three-axis machine they are the tip itself.

mod inverse;
mod jet;

pub use inverse::{RotarySolutions, Unreachable};
pub use jet::{Jet, LinearJet};

use crate::track::{Frame, Place};
use crate::{Axis, AxisName, Machine};
use geom::{Mat3, Vec3};
use toolpath::Pose;

/// Where the part stands on the machine and how long the tool is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mounting {
    /// Part zero in program coordinates, mm.
    pub origin_mm: Vec3,
    /// Rotation from the part's frame to the program's.
    pub rotation: Mat3,
    /// From the spindle nose to the tip of the tool, mm; lengthens a head's lever and shifts Z in
    /// machine coordinates.
    pub tool_length_mm: f64,
}

impl Default for Mounting {
    fn default() -> Self {
        Self { origin_mm: Vec3::ZERO, rotation: Mat3::IDENTITY, tool_length_mm: 0.0 }
    }
}

impl Mounting {
    /// A part turned about x, then y, then z of the machine, and then moved.
    pub fn from_degrees(origin_mm: [f64; 3], rotation_deg: [f64; 3]) -> Self {
        let [x, y, z] = rotation_deg.map(f64::to_radians);
        Self {
            origin_mm: Vec3::from_array(origin_mm),
            rotation: Mat3::from_rotation_z(z)
                * Mat3::from_rotation_y(y)
                * Mat3::from_rotation_x(x),
            tool_length_mm: 0.0,
        }
    }

    /// A pose of the part's frame in program coordinates.
    pub fn to_program(&self, pose: &Pose) -> Pose {
        Pose { tip: self.rotation * pose.tip + self.origin_mm, axis: self.rotation * pose.axis }
    }

    /// A pose of program coordinates in the part's frame.
    pub fn to_part(&self, pose: &Pose) -> Pose {
        let back = self.rotation.transpose();
        Pose { tip: back * (pose.tip - self.origin_mm), axis: back * pose.axis }
    }
}

/// Positions of all axes: linear ones in program coordinates (mm), rotary ones in rad in the order
/// of the layout and in the machine's own sense of turning; unused entries are zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AxisPosition {
    /// X, Y, Z, mm.
    pub linear: Vec3,
    /// The rotary axes, rad.
    pub rotary: [f64; 2],
}

/// One rotary axis of the chain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Joint {
    pub(crate) name: AxisName,
    pub(crate) centre: Vec3,
    pub(crate) direction: f64,
    pub(crate) in_table: bool,
}

/// The kinematic chain of a machine with a part and a tool on it.
#[derive(Debug, Clone, PartialEq)]
pub struct Kinematics {
    pub(crate) joints: Vec<Joint>,
    /// From the pivot of the head to the tip, mm; zero where the head does not turn.
    pub(crate) lever_mm: f64,
    mounting: Mounting,
}

/// `v` turned by the angle of (`sin`, `cos`) about a coordinate axis.
pub(crate) fn turned(axis: AxisName, (sin, cos): (f64, f64), v: Vec3) -> Vec3 {
    match axis {
        AxisName::A | AxisName::X => Vec3::new(v.x, v.y * cos - v.z * sin, v.y * sin + v.z * cos),
        AxisName::B | AxisName::Y => Vec3::new(v.x * cos + v.z * sin, v.y, v.z * cos - v.x * sin),
        AxisName::C | AxisName::Z => Vec3::new(v.x * cos - v.y * sin, v.x * sin + v.y * cos, v.z),
    }
}

impl Kinematics {
    /// The chain of `machine` with a part mounted.
    pub fn new(machine: &Machine, mounting: &Mounting) -> Self {
        let joint = |axis: &Axis| Joint {
            name: axis.name,
            centre: axis.centre_mm,
            direction: axis.direction,
            in_table: machine.layout.table.contains(&axis.name),
        };
        let joints: Vec<_> = machine.axes.iter().skip(3).map(joint).collect();
        let turning_head = joints.iter().any(|j| !j.in_table && j.name != AxisName::C);
        let lever_mm =
            if turning_head { machine.pivot_length_mm + mounting.tool_length_mm } else { 0.0 };
        Self { joints, lever_mm, mounting: *mounting }
    }

    /// Number of rotary axes.
    pub fn rotary_count(&self) -> usize {
        self.joints.len()
    }

    /// How the part is mounted.
    pub fn mounting(&self) -> &Mounting {
        &self.mounting
    }

    /// Angles of ISO 841 from the machine's rotary positions, or back: its own inverse.
    pub(crate) fn sense(&self, mut rotary: [f64; 2]) -> [f64; 2] {
        for (angle, joint) in rotary.iter_mut().zip(&self.joints) {
            *angle *= joint.direction;
        }
        rotary
    }

    /// Tool axis in program coordinates at rotary angles θ.
    pub fn axis_at(&self, theta: [f64; 2]) -> Vec3 {
        let joints = self.joints.iter().zip(theta).rev();
        joints.fold(Vec3::Z, |v, (joint, angle)| turned(joint.name, angle.sin_cos(), v))
    }

    /// A place of a track in what its coordinates mean under another frame.
    pub fn converted(&self, place: &Place, from: Frame, to: Frame) -> Place {
        if from == to || place.rotary.iter().all(|angle| *angle == 0.0) {
            return *place;
        }
        let linear = match to {
            Frame::Axes => self.linear_at(place.linear, place.rotary),
            Frame::Tip => self.tip_at(place.linear, place.rotary),
        };
        Place { linear, rotary: place.rotary }
    }

    /// The tip in program coordinates at positions of the linear axes and rotary angles θ.
    pub fn tip_at(&self, linear: Vec3, theta: [f64; 2]) -> Vec3 {
        let mut p = self.over_table(linear, theta);
        for (joint, angle) in self.joints.iter().zip(theta).rev().filter(|(j, _)| j.in_table) {
            p = turned(joint.name, angle.sin_cos(), p - joint.centre) + joint.centre;
        }
        p
    }

    /// The tip over the machine's frame, in which a table turns the part: program coordinates where
    /// no table is turned.
    pub fn over_table(&self, linear: Vec3, theta: [f64; 2]) -> Vec3 {
        linear + self.head_offset(theta)
    }

    /// Linear axes for a tip in program coordinates at rotary angles θ.
    pub fn linear_at(&self, tip: Vec3, theta: [f64; 2]) -> Vec3 {
        let mut p = tip;
        for (joint, angle) in self.joints.iter().zip(theta).filter(|(j, _)| j.in_table) {
            p = turned(joint.name, (-angle).sin_cos(), p - joint.centre) + joint.centre;
        }
        p - self.head_offset(theta)
    }

    /// How far the tip moves in the frame when only the head turns from rest to θ.
    fn head_offset(&self, theta: [f64; 2]) -> Vec3 {
        let lever = Vec3::Z * self.lever_mm;
        let mut v = -lever;
        for (joint, angle) in self.joints.iter().zip(theta).rev().filter(|(j, _)| !j.in_table) {
            v = turned(joint.name, angle.sin_cos(), v - joint.centre) + joint.centre;
        }
        v + lever
    }

    /// The pose that axis positions give, in the part's frame.
    pub fn forward(&self, at: &AxisPosition) -> Pose {
        let theta = self.sense(at.rotary);
        let tip = self.tip_at(at.linear, theta);
        self.mounting.to_part(&Pose { tip, axis: self.axis_at(theta) })
    }

    /// Both axis positions that give `pose`; with `hold` for an angle that the pose leaves free.
    pub fn inverse(&self, pose: &Pose, hold: [f64; 2]) -> Result<Vec<AxisPosition>, Unreachable> {
        let program = self.mounting.to_program(pose);
        let solutions = self.rotary_solutions(program.axis)?;
        let hold = self.sense(hold);
        Ok(solutions
            .resolved(hold)
            .map(|theta| AxisPosition {
                linear: self.linear_at(program.tip, theta),
                rotary: self.sense(theta),
            })
            .collect())
    }
}
