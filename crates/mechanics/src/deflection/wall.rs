//! The error that a cutter leaves on a wall because it gives way.
//!
//! A point of the wall at height z is made when the edge at that height passes the wall: at π in down
//! milling, at 0 in up milling. What counts is the force at that instant, not its mean and not its peak
//! (W. A. Kline, R. E. DeVor, I. A. Shareef, The prediction of surface accuracy in end milling, J. Eng.
//! Ind. 104 (1982), from memory). Static: valid far from resonance and without chatter.

use super::{At, Beam, form_error_mm};
use crate::engagement::peripheral::Way;
use std::f64::consts::PI;

/// A point of the wall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WallPoint {
    /// Height over the tip, mm.
    pub z_mm: f64,
    /// Stock that is left there, mm; negative where the cutter was drawn into the wall.
    pub stock_left_mm: f64,
}

/// Angle at which the tip of a tooth stands when its edge makes the wall at a height at which it lags
/// by `lag_rad`.
pub fn generating_rad(way: Way, lag_rad: f64) -> f64 {
    match way {
        Way::Down => PI + lag_rad,
        Way::Up => lag_rad,
    }
}

/// The error of the wall at each height.
///
/// `lag_rad` gives by how much a tooth lags behind its tip at a height over the tip in mm. `across_n`
/// gives the forces across the feed (y) by height while the tip of the first tooth stands at an angle;
/// its teeth must be alike, or the angle's tooth is the first.
pub fn wall_errors(
    beam: &Beam,
    way: Way,
    heights_mm: &[f64],
    lag_rad: impl Fn(f64) -> f64,
    across_n: impl Fn(f64) -> Vec<At>,
) -> Vec<WallPoint> {
    // the wall stands at −y in down milling and at +y in up milling: away from it leaves stock
    let away = match way {
        Way::Down => 1.0,
        Way::Up => -1.0,
    };
    let at = |z_mm: &f64| {
        let forces = across_n(generating_rad(way, lag_rad(*z_mm)));
        WallPoint { z_mm: *z_mm, stock_left_mm: away * form_error_mm(beam, &forces, *z_mm) }
    };
    heights_mm.iter().map(at).collect()
}
