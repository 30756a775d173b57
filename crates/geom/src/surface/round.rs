//! Cylinder, cone, sphere and torus: bodies of revolution whose profile is a line or a circle.

use super::{Frame, Jet, Jet3};
use crate::{Affine3, Vec2, Vec3};

/// A surface of revolution about the frame's third axis with an elementary profile.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Round {
    /// Placement.
    pub frame: Frame,
    profile: Profile,
}

/// Radius and height as functions of the second parameter.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Profile {
    /// `r = radius + v sin`, `z = v cos`.
    Line { radius_mm: f64, sin: f64, cos: f64 },
    /// `r = major + minor cos v`, `z = minor sin v`.
    Circle { major_mm: f64, minor_mm: f64 },
}

impl Round {
    pub(super) fn cylinder(frame: Frame, radius_mm: f64) -> Self {
        Self { frame, profile: Profile::Line { radius_mm, sin: 0.0, cos: 1.0 } }
    }

    pub(super) fn cone(frame: Frame, radius_mm: f64, half_angle_rad: f64) -> Self {
        let (sin, cos) = half_angle_rad.sin_cos();
        Self { frame, profile: Profile::Line { radius_mm, sin, cos } }
    }

    pub(super) fn sphere(frame: Frame, radius_mm: f64) -> Self {
        Self { frame, profile: Profile::Circle { major_mm: 0.0, minor_mm: radius_mm } }
    }

    pub(super) fn torus(frame: Frame, major_mm: f64, minor_mm: f64) -> Self {
        Self { frame, profile: Profile::Circle { major_mm, minor_mm } }
    }

    /// Radius of a cylinder, of a cone at its frame's origin, or of the circle of a torus' tube
    /// or of a sphere, mm.
    pub fn radius_mm(&self) -> f64 {
        match self.profile {
            Profile::Line { radius_mm, .. } => radius_mm,
            Profile::Circle { minor_mm, .. } => minor_mm,
        }
    }

    /// Distance of the profile circle's centre from the axis (0 for a sphere), mm; `None` for
    /// cylinder and cone.
    pub fn major_radius_mm(&self) -> Option<f64> {
        match self.profile {
            Profile::Line { .. } => None,
            Profile::Circle { major_mm, .. } => Some(major_mm),
        }
    }

    /// Half of the cone's angle, rad; 0 for a cylinder, `None` for sphere and torus.
    pub fn half_angle_rad(&self) -> Option<f64> {
        match self.profile {
            Profile::Line { sin, cos, .. } => Some(sin.atan2(cos)),
            Profile::Circle { .. } => None,
        }
    }

    /// Radius and height with their derivatives up to the third.
    fn profile(&self, v: f64) -> ([f64; 4], [f64; 4]) {
        match self.profile {
            Profile::Line { radius_mm, sin, cos } => {
                ([radius_mm + v * sin, sin, 0.0, 0.0], [v * cos, cos, 0.0, 0.0])
            }
            Profile::Circle { major_mm, minor_mm } => {
                let (s, c) = v.sin_cos();
                let (s, c) = (minor_mm * s, minor_mm * c);
                ([major_mm + c, -s, -c, s], [s, c, -s, -c])
            }
        }
    }

    pub(super) fn jet3(&self, u: f64, v: f64) -> Jet3 {
        let (f, g) = self.profile(v);
        let (sin, cos) = u.sin_cos();
        let Frame { origin, x, y, z } = self.frame;
        let out = x * cos + y * sin;
        let round = y * cos - x * sin;
        Jet3 {
            jet: Jet {
                p: origin + out * f[0] + z * g[0],
                du: round * f[0],
                dv: out * f[1] + z * g[1],
                duu: out * -f[0],
                duv: round * f[1],
                dvv: out * f[2] + z * g[2],
            },
            duuu: round * -f[0],
            duuv: out * -f[1],
            duvv: round * f[2],
            dvvv: out * f[3] + z * g[3],
        }
    }

    pub(super) fn moved(&self, motion: &Affine3) -> Self {
        Self { frame: self.frame.moved(motion), profile: self.profile }
    }

    /// Closed form of the closest point on the branch (nappe, side of the tube) that `guess` is on.
    pub(super) fn project(&self, p: Vec3, guess: Vec2) -> Vec2 {
        let q = self.frame.local(p);
        let side = if self.profile(guess.y).0[0] < 0.0 { -1.0 } else { 1.0 };
        let rho = side * q.x.hypot(q.y);
        let u =
            if rho == 0.0 { guess.x } else { near(f64::atan2(side * q.y, side * q.x), guess.x) };
        let v = match self.profile {
            Profile::Line { radius_mm, sin, cos } => (rho - radius_mm) * sin + q.z * cos,
            Profile::Circle { major_mm: 0.0, .. } => q.z.atan2(rho),
            Profile::Circle { major_mm, .. } => near(q.z.atan2(rho - major_mm), guess.y),
        };
        Vec2::new(u, v)
    }
}

/// `angle_rad` shifted by whole turns to within half a turn of `guess_rad`.
fn near(angle_rad: f64, guess_rad: f64) -> f64 {
    angle_rad + std::f64::consts::TAU * ((guess_rad - angle_rad) / std::f64::consts::TAU).round()
}
