//! What can burn, burst or harm when a material is cut.

use crate::sourced::Source;

/// Kind of a hazard.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hazard {
    /// Chips themselves burn.
    BurningChips,
    /// Only fine chips and dust burn.
    BurningFines,
    /// Wet chips give off hydrogen.
    Hydrogen,
    /// Dust or fumes that harm when breathed in.
    Breathing,
}

impl Hazard {
    /// All of them.
    pub const ALL: [Self; 4] =
        [Self::BurningChips, Self::BurningFines, Self::Hydrogen, Self::Breathing];

    /// The words that files and messages use.
    pub fn words(self) -> &'static str {
        match self {
            Self::BurningChips => "burning chips",
            Self::BurningFines => "burning fines",
            Self::Hydrogen => "hydrogen",
            Self::Breathing => "breathing",
        }
    }

    /// Whether it is a hazard of fire.
    pub fn is_fire(self) -> bool {
        matches!(self, Self::BurningChips | Self::BurningFines)
    }
}

/// A caution that comes with a material.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caution {
    /// Kind.
    pub hazard: Hazard,
    /// What to know and to do.
    pub text: String,
    /// Where it comes from.
    pub source: Source,
}
