//! Tool axes over a surface: from feed, lead and lean to a direction, and back.
//!
//! Contact frame: `f` along the feed in the tangent plane, `c = n × f` to the left of the feed,
//! `n` out of the part. Lead is applied first and tips the axis towards the feed; the lean follows
//! and tips it across the feed: `a = (sin l, cos l sin t, cos l cos t)`.

use crate::contact::kappa_between;
use geom::Vec3;

/// The side of the feed to which an axis leans, seen with the surface's normal upwards.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// To the left of the feed, `n × f`.
    Left,
    /// To the right of the feed.
    Right,
}

impl Side {
    /// +1 for left, -1 for right: the sign of the component along `n × f`.
    pub fn sign(self) -> f64 {
        match self {
            Side::Left => 1.0,
            Side::Right => -1.0,
        }
    }
}

/// Feed, left of the feed, normal: an orthonormal right-handed frame at a contact.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ContactFrame {
    /// Along the feed, in the tangent plane.
    pub feed: Vec3,
    /// To the left of the feed.
    pub left: Vec3,
    /// Out of the part.
    pub normal: Vec3,
}

/// How an axis stands to a contact frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lean {
    /// Towards the feed, rad.
    pub lead_rad: f64,
    /// Across the feed after the lead, rad, positive to the left.
    pub tilt_rad: f64,
    /// Angle between normal and axis, rad.
    pub kappa_rad: f64,
}

impl ContactFrame {
    /// From a unit normal and any direction that is not parallel to it; `None` where it is.
    pub fn new(normal: Vec3, towards: Vec3) -> Option<Self> {
        let along = towards - normal * towards.dot(normal);
        let length = along.length();
        if length.is_nan() || length <= geom::tolerance::PARALLEL_RAD * towards.length() {
            return None;
        }
        let feed = along / length;
        Some(Self { feed, left: normal.cross(feed), normal })
    }

    fn axis(&self, feed: f64, left: f64, normal: f64) -> Vec3 {
        (self.feed * feed + self.left * left + self.normal * normal).normalize()
    }

    /// Axis from lead, then tilt (positive to the left), rad.
    pub fn axis_leaning(&self, lead_rad: f64, tilt_rad: f64) -> Vec3 {
        let (sl, cl) = lead_rad.sin_cos();
        let (st, ct) = tilt_rad.sin_cos();
        self.axis(sl, cl * st, cl * ct)
    }

    /// Axis at the angle `kappa_rad` from the normal, with a lead, leaning to `side`; `None` where
    /// the lead alone is more than `kappa_rad`.
    pub fn axis_at(&self, kappa_rad: f64, lead_rad: f64, side: Side) -> Option<Vec3> {
        // cos² l - cos² κ = sin(κ - l) sin(κ + l), without cancellation
        let across = (kappa_rad - lead_rad).sin() * (kappa_rad + lead_rad).sin();
        if across.is_nan() || across < 0.0 {
            return None;
        }
        Some(self.axis(lead_rad.sin(), side.sign() * across.sqrt(), kappa_rad.cos()))
    }

    /// How a unit axis stands in this frame.
    pub fn lean(&self, axis: Vec3) -> Lean {
        let (f, c, n) = (axis.dot(self.feed), axis.dot(self.left), axis.dot(self.normal));
        Lean {
            lead_rad: f.atan2(c.hypot(n)),
            tilt_rad: c.atan2(n),
            kappa_rad: kappa_between(self.normal, axis),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn frame() -> ContactFrame {
        ContactFrame::new(Vec3::Z, Vec3::new(3.0, 0.0, 1.0)).expect("not parallel")
    }

    #[test]
    fn lead_first_then_tilt() {
        // derived: lead 12, tilt 25 gives kappa 27.56297; the other order lies 1.235208 away
        let (l, t) = (12_f64.to_radians(), 25_f64.to_radians());
        let a = frame().axis_leaning(l, t);
        assert!((kappa_between(Vec3::Z, a).to_degrees() - 27.562_97).abs() < 5e-6);
        let other = Vec3::new(l.sin() * t.cos(), t.sin(), l.cos() * t.cos());
        assert!((kappa_between(a, other).to_degrees() - 1.235_208).abs() < 5e-7);
        let lean = frame().lean(a);
        assert!((lean.lead_rad - l).abs() < 1e-15 && (lean.tilt_rad - t).abs() < 1e-15);
    }

    #[test]
    fn an_axis_at_kappa_keeps_lead_and_side() {
        let (k, l) = (84_f64.to_radians(), 5_f64.to_radians());
        for side in [Side::Left, Side::Right] {
            let lean = frame().lean(frame().axis_at(k, l, side).expect("lead is less"));
            assert!((lean.kappa_rad - k).abs() < 1e-14 && (lean.lead_rad - l).abs() < 1e-14);
            assert!(lean.tilt_rad * side.sign() > 0.0);
        }
        assert!(frame().axis_at(0.1, 0.2, Side::Left).is_none());
        assert_eq!(frame().axis_at(0.0, 0.0, Side::Left), Some(Vec3::Z));
    }

    #[test]
    fn no_frame_without_a_feed() {
        assert!(ContactFrame::new(Vec3::Z, Vec3::Z).is_none());
        assert!(ContactFrame::new(Vec3::Z, Vec3::ZERO).is_none());
        assert!(ContactFrame::new(Vec3::Z, Vec3::splat(f64::NAN)).is_none());
    }
}
