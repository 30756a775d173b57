//! Constants of tool life after Taylor, extended by feed, depth and width.
//!
//! `T = (C / v)^(1/n) · (fz0 / fz)^p · (ap0 / ap)^q · (ae0 / ae)^u`, T in min of cutting time, v in
//! m/min, lengths in mm. The computation is not here.

use crate::validity::Validity;

/// What the edge is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EdgeMaterial {
    /// Coated cemented carbide.
    CoatedCarbide,
    /// Bright (uncoated) cemented carbide.
    BrightCarbide,
    /// High-speed steel.
    HighSpeedSteel,
    /// Cubic boron nitride.
    BoronNitride,
    /// Polycrystalline diamond.
    Diamond,
}

impl EdgeMaterial {
    /// All of them.
    pub const ALL: [Self; 5] = [
        Self::CoatedCarbide,
        Self::BrightCarbide,
        Self::HighSpeedSteel,
        Self::BoronNitride,
        Self::Diamond,
    ];

    /// The words that files and messages use.
    pub fn words(self) -> &'static str {
        match self {
            Self::CoatedCarbide => "coated carbide",
            Self::BrightCarbide => "bright carbide",
            Self::HighSpeedSteel => "high-speed steel",
            Self::BoronNitride => "boron nitride",
            Self::Diamond => "diamond",
        }
    }
}

/// A factor `(reference / value)^exponent`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LifeFactor {
    /// Reference value, in the unit of the influence.
    pub reference: f64,
    /// Exponent.
    pub exponent: f64,
}

/// Constants of tool life for one edge and criterion.
#[derive(Debug, Clone, PartialEq)]
pub struct Taylor {
    /// Cutting speed for a life of 1 min at the reference feed, depth and width, m/min.
    pub c_m_min: f64,
    /// Exponent of `v · Tⁿ = C`.
    pub n: f64,
    /// Influence of the feed per tooth, mm; `None` where the source does not give it.
    pub feed: Option<LifeFactor>,
    /// Influence of the depth along the axis, mm.
    pub depth: Option<LifeFactor>,
    /// Influence of the width across the axis, mm.
    pub width: Option<LifeFactor>,
    /// Influence of the width over the cutter's diameter.
    pub width_over_diameter: Option<LifeFactor>,
    /// What the edge is made of.
    pub edge: EdgeMaterial,
    /// What ends the life: `flank wear 0.2 mm`.
    pub criterion: String,
    /// How it was tested: cutter, coolant, machine.
    pub conditions: String,
    /// Range it was found over.
    pub validity: Validity,
}
