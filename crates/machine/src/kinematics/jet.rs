//! Linear axes along a path with their first two derivatives, exactly.
//!
//! For w = R(θ) u, with e the axis of rotation: w' = R u' + θ' e×w and
//! w'' = R u'' + 2 θ' e×(R u') + θ'' e×w + θ'² e×(e×w).

use super::{Joint, Kinematics, turned};
use geom::Vec3;

/// A tip (program coordinates) and rotary angles (ISO 841 sense) with d/ds and d²/ds².
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Jet {
    /// Tip and derivatives, mm.
    pub tip: [Vec3; 3],
    /// Rotary angles and derivatives, rad; outer index: order of the derivative.
    pub theta: [[f64; 2]; 3],
}

/// Linear axes and their derivatives, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LinearJet {
    /// Position, d/ds, d²/ds².
    pub linear: [Vec3; 3],
}

fn turn(joint: &Joint, u: [Vec3; 3], angle: [f64; 3]) -> [Vec3; 3] {
    let e = joint.name.direction();
    let sc = angle[0].sin_cos();
    let [a, b, c] = [u[0] - joint.centre, u[1], u[2]].map(|v| turned(joint.name, sc, v));
    let across = e.cross(a);
    let first = b + across * angle[1];
    let second = c
        + e.cross(b) * (2.0 * angle[1])
        + across * angle[2]
        + e.cross(across) * (angle[1] * angle[1]);
    [a + joint.centre, first, second]
}

impl Kinematics {
    /// Linear axes of a jet of tip and angles.
    pub fn linear_jet(&self, jet: &Jet) -> LinearJet {
        let angle = |k: usize, sign: f64| [0, 1, 2].map(|order: usize| sign * jet.theta[order][k]);
        let mut p = jet.tip;
        let lever = Vec3::Z * self.lever_mm;
        let mut v = [-lever, Vec3::ZERO, Vec3::ZERO];
        for (k, joint) in self.joints.iter().enumerate() {
            if joint.in_table {
                p = turn(joint, p, angle(k, -1.0));
            }
        }
        for (k, joint) in self.joints.iter().enumerate().rev() {
            if !joint.in_table {
                v = turn(joint, v, angle(k, 1.0));
            }
        }
        v[0] += lever;
        LinearJet { linear: std::array::from_fn(|order| p[order] - v[order]) }
    }
}
