//! Where a straight line lies in what a cutter sweeps on a straight move with a steady axis.
//!
//! A convex body swept along a segment is convex, so that a line meets it in one interval. The
//! signed distance is convex along the line: steps by its slope from outside end on the border
//! without passing it.

use cutter::distance::Kernel;
use geom::Vec3;

/// Most steps from outside to the border.
const STEPS: usize = 60;
/// Most chords that find the nearest place of the move.
const MOST_CHORDS: usize = 40;
/// The distance is level along the move where it changes by less than this share of the way.
const LEVEL: f64 = 1e-10;

/// A body of revolution on a straight move with a steady axis.
#[derive(Debug, Clone, Copy)]
pub struct Sweep<'a> {
    /// The body.
    pub body: &'a Kernel,
    /// Tip at the start, mm.
    pub from: Vec3,
    /// Tip at the end, mm.
    pub to: Vec3,
    /// Unit axis towards the spindle.
    pub axis: Vec3,
}

impl Sweep<'_> {
    /// Signed distance of a point from what is swept, mm, and its gradient.
    pub fn distance(&self, p: Vec3) -> (f64, Vec3) {
        let m = self.to - self.from;
        let long2 = m.length_squared();
        let at = |s: f64| self.body.at_with_gradient(self.from + m * s, self.axis, p);
        if long2 < 1e-18 {
            return at(0.0);
        }
        let along = m.dot(self.axis);
        if along.abs() <= geom::tolerance::PARALLEL_RAD * long2.sqrt() {
            // across the axis the distance grows with that from the axis
            return at(((p - self.from).dot(m) / long2).clamp(0.0, 1.0));
        }
        let slope = |s: f64| {
            let here = at(s);
            (-here.1.dot(m), here)
        };
        let (first, start) = slope(0.0);
        if first >= 0.0 {
            return start;
        }
        let (last, end) = slope(1.0);
        if last <= 0.0 {
            return end;
        }
        // the slope grows along the move: where it passes 0, the chord of its ends halved where one
        // of them stays
        let (mut a, mut b) = ((0.0, first), (1.0, last));
        let (mut found, mut stays) = (start, 0);
        for _ in 0..MOST_CHORDS {
            let s = (a.0 * b.1 - b.0 * a.1) / (b.1 - a.1);
            let (value, here) = slope(s);
            found = here;
            if value.abs() <= LEVEL * long2.sqrt() {
                break;
            }
            let (end, other, side) =
                if value > 0.0 { (&mut b, &mut a, 1) } else { (&mut a, &mut b, -1) };
            *end = (s, value);
            if stays == side {
                other.1 *= 0.5;
            }
            stays = side;
        }
        found
    }

    /// The interval of `p + t dir` (unit) within `[lo, hi]` that is swept.
    pub fn interval(&self, p: Vec3, dir: Vec3, lo: f64, hi: f64) -> Option<(f64, f64)> {
        let a = self.enter(p, dir, lo, hi)?;
        let b = self.enter(p, -dir, -hi, -a)?;
        Some((a, -b))
    }

    /// Where `p + t dir` (unit) enters what is swept, seen from `lo`, within `[lo, hi]`.
    pub(crate) fn enter(&self, p: Vec3, dir: Vec3, lo: f64, hi: f64) -> Option<f64> {
        let mut t = lo;
        for _ in 0..STEPS {
            let (value, gradient) = self.distance(p + dir * t);
            if value <= geom::tolerance::SOLVED_MM {
                return Some(t);
            }
            let slope = gradient.dot(dir);
            if slope >= 0.0 {
                return None;
            }
            t -= value / slope;
            if t > hi {
                return None;
            }
        }
        Some(t)
    }
}
