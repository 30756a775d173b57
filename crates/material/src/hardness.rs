//! Hardness as a range on its scale.

use units::Interval;

/// Scale of a hardness.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HardnessScale {
    /// Brinell, HBW (ISO 6506).
    Brinell,
    /// Rockwell C, HRC (ISO 6508).
    RockwellC,
    /// Shore D (ISO 868), for plastics.
    ShoreD,
}

impl HardnessScale {
    /// The letters of the scale.
    pub fn letters(self) -> &'static str {
        match self {
            Self::Brinell => "HBW",
            Self::RockwellC => "HRC",
            Self::ShoreD => "Shore D",
        }
    }
}

/// Hardness of a state of supply.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hardness {
    /// The scale.
    pub scale: HardnessScale,
    /// From the softest to the hardest that is usual.
    pub range: Interval,
}
