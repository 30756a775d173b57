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

/// Lag over a slice above which runout and grooves are not the same all over it, rad.
const ALIKE_RAD: f64 = 0.02;
/// Shortest piece over the pitch of the chip breakers.
const GROOVE_PIECES: f64 = 60.0;
/// Most pieces of a slice.
const MOST_PIECES: f64 = 2000.0;

impl Cut<'_> {
    /// The slices, cut finer where runout or grooves change along the edge.
    fn fine_slices(&self) -> Vec<Slice> {
        let split = |s: &Slice| -> Vec<Slice> {
            let by_lag =
                if self.runout.offset_mm == 0.0 { 1.0 } else { s.lag_span_rad.abs() / ALIKE_RAD };
            let by_groove = self.breaker.map_or(1.0, |b| GROOVE_PIECES * s.width_mm / b.pitch_mm);
            let n = by_lag.max(by_groove).ceil().clamp(1.0, MOST_PIECES);
            let rise = s.width_mm * s.kappa_rad.sin();
            let piece = |i: usize| {
                let off = (i as f64 + 0.5) / n - 0.5;
                Slice {
                    z_mm: s.z_mm + off * rise,
                    width_mm: s.width_mm / n,
                    lag_rad: s.lag_rad + off * s.lag_span_rad,
                    lag_span_rad: s.lag_span_rad / n,
                    ..*s
                }
            };
            (0..n as usize).map(piece).collect()
        };
        self.slices.iter().flat_map(split).collect()
    }
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
