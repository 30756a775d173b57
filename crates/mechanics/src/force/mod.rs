//! Forces on the cutter over a revolution, for any form of cutter.
//!
//! `dFt = (Ktc h + Kte) db` and likewise radially and axially, resolved for an edge that stands at
//! `κ`: along the normal `ν = (sin κ sin φ, sin κ cos φ, −cos κ)`, the speed `v = (cos φ, −sin φ, 0)`
//! and the edge `τ = (cos κ sin φ, cos κ cos φ, sin κ)`: `dF = −dFr ν − dFt v + dFa τ` (mechanistic
//! model, form: Altintas, Manufacturing Automation, from memory). A tooth's lag, its entry and its exit
//! grow along the slice, each like a straight line, so the force of a slice is an integral over angle
//! between two places of it, in closed form.
//!
//! A law by a power of the chip (Kienzle's) is cut into lines so fine that it is met: see `chain`.
//!
//! Every force is on the cutter, in N; x along the feed, z along the axis towards the spindle.

mod chain;
mod harmonic;
mod mean;
mod part;
mod passage;
mod revolution;
mod ring;
mod tally;
mod window;

pub use mean::cylinder_mean;
pub use revolution::{Grid, Peaks, Revolution};

use crate::chip::Runout;
use crate::engagement::Slice;
use chain::Chain;
pub use material::{Coefficients, CuttingLaw, PowerLaw};
use passage::Passages;
use ring::Ring;

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
    /// Feed per tooth across the axis, mm.
    pub feed_per_tooth_mm: f64,
    /// Feed per tooth along the axis, towards the spindle, mm: below 0 on the way into the work. It adds
    /// `−cos κ` times itself to the chip.
    pub axial_feed_mm: f64,
    /// The law of the force on an edge.
    pub law: CuttingLaw,
    /// Runout.
    pub runout: Runout,
    /// Chip breakers.
    pub breaker: Option<ChipBreaker>,
}

impl Cut<'_> {
    /// Thickest chip of any tooth, mm.
    pub fn thickest_mm(&self) -> f64 {
        self.thickest_of(&ring::rings(self))
    }

    fn thickest_of(&self, rings: &[Ring]) -> f64 {
        let mut passages = Passages::new(self);
        let mut thickest: f64 = 0.0;
        for tooth in 0..self.teeth {
            for ring in rings {
                thickest = thickest.max(passages.thickest_mm(tooth, ring));
            }
        }
        thickest
    }

    /// The law as lines over the chips of these rings.
    fn chain(&self, rings: &[Ring], stretches: usize) -> Chain {
        let thickest_mm = match self.law {
            CuttingLaw::Line(_) => 0.0,
            CuttingLaw::Power(_) => self.thickest_of(rings),
        };
        Chain::new(&self.law, thickest_mm, stretches)
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
