//! Length units that part files come in.

use std::fmt;
use std::str::FromStr;
use units::convert::MM_PER_INCH;

/// A unit of length of a part file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum LengthUnit {
    /// Micrometre.
    Micron,
    /// Millimetre.
    #[default]
    Mm,
    /// Centimetre.
    Cm,
    /// Metre.
    Metre,
    /// Inch of 25.4 mm.
    Inch,
    /// Foot of 12 inches.
    Foot,
}

impl LengthUnit {
    /// Millimetres in one of this unit.
    pub fn mm(self) -> f64 {
        match self {
            Self::Micron => 1e-3,
            Self::Mm => 1.0,
            Self::Cm => 10.0,
            Self::Metre => 1000.0,
            Self::Inch => MM_PER_INCH,
            Self::Foot => 12.0 * MM_PER_INCH,
        }
    }

    /// The word for it, as people write it: `mm`, `inch`.
    pub fn name(self) -> &'static str {
        match self {
            Self::Micron => "micron",
            Self::Mm => "mm",
            Self::Cm => "cm",
            Self::Metre => "m",
            Self::Inch => "inch",
            Self::Foot => "foot",
        }
    }
}

impl fmt::Display for LengthUnit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// A word that names no unit of length that part files use.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "\"{given}\" is no unit of length: expected mm or inch (micron, cm, m and foot are known too)"
)]
pub struct UnknownUnit {
    /// What was given.
    pub given: String,
}

impl FromStr for LengthUnit {
    type Err = UnknownUnit;

    fn from_str(word: &str) -> Result<Self, Self::Err> {
        match word.trim().to_ascii_lowercase().as_str() {
            "mm" | "millimeter" | "millimetre" => Ok(Self::Mm),
            "in" | "inch" | "inches" | "\"" => Ok(Self::Inch),
            "um" | "µm" | "micron" | "micrometer" | "micrometre" => Ok(Self::Micron),
            "cm" | "centimeter" | "centimetre" => Ok(Self::Cm),
            "m" | "meter" | "metre" => Ok(Self::Metre),
            "ft" | "foot" | "feet" => Ok(Self::Foot),
            _ => Err(UnknownUnit { given: word.to_owned() }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_read_back() {
        use LengthUnit::{Cm, Foot, Inch, Metre, Micron, Mm};
        for unit in [Micron, Mm, Cm, Metre, Inch, Foot] {
            assert_eq!(unit.name().parse(), Ok(unit));
        }
        assert!("furlong".parse::<LengthUnit>().is_err());
    }
}
