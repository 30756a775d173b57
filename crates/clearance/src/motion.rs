//! A straight move: the tip on a line, the axis on the great circle, both at a steady rate.

use geom::Vec3;
use toolpath::Pose;

/// The move from one pose to the next, laid out for bounds over stretches of it.
#[derive(Debug, Clone, Copy)]
pub struct Motion {
    from: Pose,
    along: Vec3,
    /// Unit vector about which the axis turns, and its angle, rad.
    about: Vec3,
    turn_rad: f64,
    side: Vec3,
}

/// A stretch of a move: its middle and half its length, as shares of the move.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// Middle, 0 to 1.
    pub middle: f64,
    /// Half the length.
    pub half: f64,
}

impl Stretch {
    /// The whole move.
    pub const WHOLE: Self = Self { middle: 0.5, half: 0.5 };

    /// The first and the second half.
    pub fn halves(self) -> [Self; 2] {
        let half = 0.5 * self.half;
        [-half, half].map(|by| Self { middle: self.middle + by, half })
    }
}

/// How far a stretch moves the body from its pose in the middle.
#[derive(Debug, Clone, Copy)]
pub struct Reach {
    /// Pose in the middle of the stretch.
    pub pose: Pose,
    along: Vec3,
    about: Vec3,
    turn_rad: f64,
    along_mm: f64,
}

impl Motion {
    /// The move between two poses; axes that point against each other turn about an arbitrary
    /// perpendicular.
    pub fn new(from: Pose, to: Pose) -> Self {
        let cross = from.axis.cross(to.axis);
        let sin = cross.length();
        let turn_rad = sin.atan2(from.axis.dot(to.axis));
        let about = if sin > 0.0 { cross / sin } else { from.axis.any_orthonormal_vector() };
        Self { from, along: to.tip - from.tip, about, turn_rad, side: about.cross(from.axis) }
    }

    /// The pose at a share of the move.
    pub fn pose(&self, share: f64) -> Pose {
        let tip = self.from.tip + self.along * share;
        if self.turn_rad == 0.0 {
            return Pose { tip, axis: self.from.axis };
        }
        let (s, c) = (self.turn_rad * share).sin_cos();
        Pose { tip, axis: self.from.axis * c + self.side * s }
    }

    /// Farthest that a point within `length_mm` of the tip moves in the whole move, mm.
    pub fn bound_mm(&self, length_mm: f64) -> f64 {
        self.along.length() + 2.0 * length_mm * (0.5 * self.turn_rad).sin()
    }

    /// The stretch's middle pose and what moves away from it.
    pub fn reach(&self, stretch: Stretch) -> Reach {
        let along = self.along * stretch.half;
        Reach {
            pose: self.pose(stretch.middle),
            along,
            about: self.about,
            turn_rad: self.turn_rad * stretch.half,
            along_mm: along.length(),
        }
    }
}

impl Reach {
    /// The supporting plane with outward normal `g` at `p`, where the distance is `value_mm`, as
    /// it moves during the stretch.
    #[inline]
    pub fn plane(&self, g: Vec3, p: Vec3, value_mm: f64) -> MovingPlane {
        if self.turn_rad == 0.0 {
            let gain = g.dot(self.along).abs();
            return MovingPlane { g, at: value_mm - g.dot(p), still: 0.0, turn: Vec3::ZERO, gain };
        }
        let turn = g.cross(self.about) * self.turn_rad;
        MovingPlane {
            g,
            at: value_mm - g.dot(p),
            still: g.dot(self.along) - turn.dot(self.pose.tip),
            turn,
            gain: self.turn_rad * self.along_mm,
        }
    }

    /// What the second order of the turn can add for points within `length_mm` of the tip in the
    /// middle pose, mm: a rotation by φ differs from its linear part by at most φ²/2 times the arm.
    #[inline]
    pub fn curl_mm(&self, length_mm: f64) -> f64 {
        0.5 * self.turn_rad * self.turn_rad * (length_mm + self.along_mm)
    }

    /// How far the tip moves from the middle of the stretch, mm.
    pub fn along_mm(&self) -> f64 {
        self.along_mm
    }
}

/// A supporting plane with the gain that the motion gives it: a lower bound of the distance that
/// is concave in place, so that its least over a triangle or box stands at a corner.
#[derive(Debug, Clone, Copy)]
pub struct MovingPlane {
    g: Vec3,
    at: f64,
    still: f64,
    turn: Vec3,
    gain: f64,
}

impl MovingPlane {
    /// Distance to the plane in the middle pose, mm.
    #[inline]
    pub fn value(&self, q: Vec3) -> f64 {
        self.g.dot(q) + self.at
    }

    /// The most that the plane gains on `q` during the stretch, without the curl, mm.
    #[inline]
    pub fn gain(&self, q: Vec3) -> f64 {
        (self.still + self.turn.dot(q)).abs() + self.gain
    }

    /// Lower bound of the distance over the box about `middle`, without the curl, mm.
    #[inline]
    pub fn box_bound(&self, middle: Vec3, half: Vec3) -> f64 {
        let value = self.value(middle) - self.g.abs().dot(half);
        value - self.gain(middle) - self.turn.abs().dot(half)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_axis_turns_on_the_great_circle() {
        let axis = |a: f64| Vec3::new(a.to_radians().sin(), 0.0, a.to_radians().cos());
        let from = Pose { tip: Vec3::ZERO, axis: axis(10.0) };
        let to = Pose { tip: Vec3::new(4.0, 0.0, 0.0), axis: axis(50.0) };
        let m = Motion::new(from, to);
        let quarter = m.pose(0.25);
        assert!((quarter.axis - axis(20.0)).length() < 1e-14);
        assert!((quarter.tip - Vec3::X).length() < 1e-15);
        assert!((m.pose(1.0).axis - to.axis).length() < 1e-14);
    }

    #[test]
    fn bound_on_the_motion_of_a_point() {
        // derived: 0.05 mm and 0.2° about a point 60 mm away
        let a = 0.2_f64.to_radians();
        let from = Pose { tip: Vec3::ZERO, axis: Vec3::Z };
        let to = Pose { tip: Vec3::new(0.03, 0.04, 0.0), axis: Vec3::new(a.sin(), 0.0, a.cos()) };
        assert!((Motion::new(from, to).bound_mm(60.0) - 0.259_439_4).abs() < 5e-8);
    }
}
