//! Rotary angles along a move: the nearest of the solutions, and as many points in between as it
//! takes for the tool axis to stay on the great circle.

use crate::kinematics::{Kinematics, RotarySolutions, Unreachable};
use geom::Vec3;
use std::f64::consts::TAU;

/// How finely a move may be divided: 2 to this power.
const DEEPEST: u32 = 12;

/// Follows tool axes without ever turning over.
pub(crate) struct Follower<'a> {
    pub(crate) kinematics: &'a Kinematics,
    /// Largest angle between the axis of the machine and the programmed one, rad.
    pub(crate) tolerance_rad: f64,
    /// 1 over the speed of each rotary axis.
    pub(crate) slowness: [f64; 2],
}

/// Fraction of the move and the rotary angles there.
pub(crate) type Stop = (f64, [f64; 2]);

/// The unit vector a fraction `t` along the great circle from `a` to `b`.
pub(crate) fn on_great_circle(a: Vec3, b: Vec3, t: f64) -> Vec3 {
    let angle = angle_between(a, b);
    if angle < geom::tolerance::PARALLEL_RAD {
        return a;
    }
    let across = (b - a * a.dot(b)).normalize_or_zero();
    let (s, c) = (t * angle).sin_cos();
    a * c + across * s
}

/// Angle between two unit vectors, good near 0 and π.
pub(crate) fn angle_between(a: Vec3, b: Vec3) -> f64 {
    a.cross(b).length().atan2(a.dot(b))
}

/// `angle` with the number of whole turns that brings it nearest to `to`.
pub(crate) fn wound(angle: f64, to: f64) -> f64 {
    angle + TAU * ((to - angle) / TAU).round()
}

impl Follower<'_> {
    /// Solutions of an axis; the first angle is free where the pole is as good as the axis.
    pub(crate) fn solve(&self, axis: Vec3) -> Result<RotarySolutions, Unreachable> {
        let solutions = self.kinematics.rotary_solutions(axis)?;
        Ok(solutions.freed_within(0.5 * self.tolerance_rad))
    }

    /// The solution nearest to `from`, in time of the rotary axes.
    pub(crate) fn nearest(&self, solutions: &RotarySolutions, from: [f64; 2]) -> [f64; 2] {
        let wound = solutions
            .resolved(from)
            .map(|theta| [wound(theta[0], from[0]), wound(theta[1], from[1])]);
        let effort = |theta: &[f64; 2]| {
            (0..2).map(|k| (theta[k] - from[k]).abs() * self.slowness[k]).sum::<f64>()
        };
        wound.min_by(|a, b| effort(a).total_cmp(&effort(b))).unwrap_or(from)
    }

    /// Turns from angles `from` (axis `a`) to axis `b`; appends the points of the way, last `b`.
    pub(crate) fn turn(
        &self,
        from: [f64; 2],
        (a, b): (Vec3, Vec3),
        end: &RotarySolutions,
        way: &mut Vec<Stop>,
    ) -> Result<(), Unreachable> {
        self.divide((0.0, from), 1.0, (a, b), end, DEEPEST, way)
    }

    fn divide(
        &self,
        from: Stop,
        to: f64,
        ends: (Vec3, Vec3),
        end: &RotarySolutions,
        depth: u32,
        way: &mut Vec<Stop>,
    ) -> Result<(), Unreachable> {
        let theta = self.nearest(end, from.1);
        if depth == 0 || self.keeps_to(from, (to, theta), ends) {
            way.push((to, theta));
            return Ok(());
        }
        let half = 0.5 * (from.0 + to);
        let middle = self.solve(on_great_circle(ends.0, ends.1, half))?;
        self.divide(from, half, ends, &middle, depth - 1, way)?;
        let from = way.last().copied().unwrap_or(from);
        self.divide(from, to, ends, end, depth - 1, way)
    }

    /// Whether turning both axes evenly between two points keeps to the great circle.
    fn keeps_to(&self, from: Stop, to: Stop, (a, b): (Vec3, Vec3)) -> bool {
        let change: f64 = (0..2).map(|k| (to.1[k] - from.1[k]).abs()).sum();
        if change * change < 8.0 * self.tolerance_rad {
            return true;
        }
        let theta = std::array::from_fn(|k| 0.5 * (from.1[k] + to.1[k]));
        let wanted = on_great_circle(a, b, 0.5 * (from.0 + to.0));
        angle_between(self.kinematics.axis_at(theta), wanted) <= self.tolerance_rad
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_great_circle_keeps_its_rate() {
        // derived: a quarter of 40 degrees is 10 degrees
        let b = Vec3::new(40f64.to_radians().sin(), 0.0, 40f64.to_radians().cos());
        let quarter = angle_between(Vec3::Z, on_great_circle(Vec3::Z, b, 0.25));
        assert!((quarter.to_degrees() - 10.0).abs() < 1e-12);
        // derived: A 10, C 0 to 60: an arc of 9.961851 degrees, its middle 1.317796 degrees from
        // the middle of the rotary angles
        let at = |a: f64, c: f64| {
            let ((sa, ca), (sc, cc)) = (a.to_radians().sin_cos(), c.to_radians().sin_cos());
            Vec3::new(sa * sc, -sa * cc, ca)
        };
        let (from, to) = (at(10.0, 0.0), at(10.0, 60.0));
        assert!((angle_between(from, to).to_degrees() - 9.961_851).abs() < 1e-6);
        let off = angle_between(on_great_circle(from, to, 0.5), at(10.0, 30.0));
        assert!((off.to_degrees() - 1.317_796).abs() < 1e-6);
    }
}
