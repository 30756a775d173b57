//! Forces on the cutter over a revolution, for any form of cutter.
//!
//! `dFt = (Ktc h + Kte) db` and likewise radially and axially, resolved for an edge that stands at
//! `κ`: along the normal `ν = (sin κ sin φ, sin κ cos φ, −cos κ)`, the speed `v = (cos φ, −sin φ, 0)`
//! and the edge `τ = (cos κ sin φ, cos κ cos φ, sin κ)`: `dF = −dFr ν − dFt v + dFa τ` (mechanistic
//! model, form: Altintas, Manufacturing Automation, from memory). A tooth's lag grows along the
//! slice, so the force of a slice is an integral over angle between entry and exit, in closed form.
//!
//! Every force is on the cutter, in N; x along the feed, z along the axis towards the spindle.

mod harmonic;
mod mean;
mod passage;
mod revolution;

pub use mean::cylinder_mean;
pub use revolution::{Grid, Peaks, Revolution};

use crate::chip::Runout;
use crate::engagement::Slice;
pub use material::Coefficients;

/// Grooves that break the edge, so that the chip along it is split.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChipBreaker {
    /// Spacing of the grooves along the axis, mm.
    pub pitch_mm: f64,
    /// Share of the pitch that a groove takes.
    pub groove_share: f64,
}

/// What a cutter does in one steady cut.
#[derive(Debug, Clone, PartialEq)]
pub struct Cut<'a> {
    /// Where it is in the cut.
    pub slices: &'a [Slice],
    /// Number of teeth, evenly spaced.
    pub teeth: usize,
    /// Feed per tooth, mm.
    pub feed_per_tooth_mm: f64,
    /// The six coefficients.
    pub law: Coefficients,
    /// Runout.
    pub runout: Runout,
    /// Chip breakers.
    pub breaker: Option<ChipBreaker>,
}

/// Force along x, y, z in N and torque about the axis in N mm.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Load {
    /// Along the feed, N.
    pub x_n: f64,
    /// Across the feed, N.
    pub y_n: f64,
    /// Along the axis, N.
    pub z_n: f64,
    /// Torque that the spindle must give, N mm.
    pub torque_n_mm: f64,
}

impl Load {
    /// Magnitude across the axis, N.
    pub fn across_n(&self) -> f64 {
        self.x_n.hypot(self.y_n)
    }

    fn of(v: [f64; 4]) -> Self {
        Self { x_n: v[0], y_n: v[1], z_n: v[2], torque_n_mm: v[3] }
    }
}

/// Power of a torque at a speed, kW.
pub fn power_kw(torque_n_mm: f64, rev_s: f64) -> f64 {
    torque_n_mm * std::f64::consts::TAU * rev_s * 1e-6
}
