//! The closest stand of a move over a point, and the plane that it gives below the swept volume.

use crate::body::Body;
use crate::sweep::{Move, small_turn};
use geom::{Vec3, tolerance};

const STEPS: usize = 4;
/// What another step must be worth, mm: a hundredth of a micrometre, half of what the cut is good to.
const ENOUGH_MM: f64 = 10.0 * tolerance::COINCIDENT_MM;

/// What a move's cutter is to a point, standing at one x.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Stand {
    /// Where on the move, −1 to 1.
    pub(crate) x: f64,
    /// Signed distance, mm.
    pub(crate) value: f64,
    /// Its gradient in the point.
    pub(crate) gradient: Vec3,
    /// Its slope along x.
    pub(crate) slope: f64,
    /// x of the least signed distance, not held to the move, as Newton sees it from here.
    pub(crate) target: f64,
    /// How that x moves with the point, per mm.
    pub(crate) drift: Vec3,
    /// Element of the body that is closest.
    pub(crate) element: usize,
}

impl Stand {
    /// Bound from below of the signed distance anywhere on the move, where that is convex in x.
    #[inline(always)]
    pub(crate) fn floor(&self) -> f64 {
        self.value + (self.slope * (-1.0 - self.x)).min(self.slope * (1.0 - self.x))
    }
}

/// The cutter at x on the move against the point `c`.
#[inline(always)]
pub(crate) fn stand(body: &Body, m: &Move, c: Vec3, x: f64) -> Stand {
    let (sin, cos) = small_turn(x * m.half_turn_rad);
    let axis = m.axis * cos + m.turn * sin;
    let turn = m.turn * cos - m.axis * sin;
    let d = c - m.mid - m.half * x;
    let z = d.dot(axis);
    let radial = d - axis * z;
    let r = radial.length();
    let foot = body.foot(r, z);
    let inv_r = if r > 0.0 { 1.0 / r } else { 0.0 };
    let out = if r > 0.0 { radial * inv_r } else { axis.any_orthonormal_vector() };
    let gradient = out * foot.gr + axis * foot.gz;
    // turning the axis moves the point in the cutter's frame by (z, −r) per rad towards `turn`
    let towards = d.dot(turn) * m.half_turn_rad;
    let slope = towards * (foot.gz - foot.gr * z * inv_r) - gradient.dot(m.half);
    // second derivatives: along the profile and around
    let profile = axis * foot.gr - out * foot.gz;
    let along = profile.dot(m.half);
    let round = m.half - out * out.dot(m.half) - axis * axis.dot(m.half);
    let (bend, girth) = (body.bend(&foot, r, z), foot.gr * inv_r);
    let stiffness = bend * along * along + girth * round.length_squared();
    let pull = profile * (bend * along) + round * girth;
    let (target, drift) = if stiffness > f64::MIN_POSITIVE {
        (x - slope / stiffness, pull / stiffness)
    } else {
        (x - 2.0 * slope.signum() * f64::from(u8::from(slope != 0.0)), Vec3::ZERO)
    };
    Stand { x, value: foot.value, gradient, slope, target, drift, element: foot.element }
}

/// From a stand to the closest one, as nearly as it is worth; the floor is certain in any case.
#[inline(always)]
pub(crate) fn closest(body: &Body, m: &Move, c: Vec3, from: Stand) -> Stand {
    let mut s = from;
    for _ in 0..STEPS {
        let next = s.target.clamp(-1.0, 1.0);
        if next == s.x || (s.slope * (next - s.x)).abs() < ENOUGH_MM {
            break;
        }
        s = stand(body, m, c, next);
    }
    s
}
