//! A check as its record states it.

use crate::inputs::Inputs;
use crate::printed::Printed;

/// How the value came to us.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Seen {
    /// Read in a stored text of the source.
    StoredText,
    /// Recalled, not read again.
    FromMemory,
    /// Computed from first principles apart from our code; the place says how, and what second
    /// method agreed.
    Derived,
}

impl Seen {
    /// Every way.
    pub const ALL: [Self; 3] = [Self::StoredText, Self::FromMemory, Self::Derived];

    /// The words of records and of the register.
    pub fn words(self) -> &'static str {
        match self {
            Self::StoredText => "stored text",
            Self::FromMemory => "from memory",
            Self::Derived => "derived",
        }
    }
}

/// How far off our value may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Allowed {
    /// A share of the value.
    Relative(f64),
    /// In the unit of the value.
    Absolute(f64),
    /// In units of the last printed digit.
    LastDigits(f64),
}

impl Allowed {
    /// In the unit of the value.
    pub(crate) fn width(self, expected: &Printed) -> f64 {
        match self {
            Self::Relative(share) => share * expected.value.abs(),
            Self::Absolute(width) => width,
            Self::LastDigits(count) => count * expected.last_digit,
        }
    }

    /// For people.
    pub(crate) fn in_words(self, unit: &str) -> String {
        match self {
            Self::Relative(share) if share >= 1e-4 => format!("±{} %", share * 100.0),
            Self::Relative(share) => format!("±{share:e} relative"),
            Self::Absolute(width) => format!("±{width} {unit}").trim_end().to_owned(),
            Self::LastDigits(count) => format!("±{count} of the last digit"),
        }
    }
}

/// One value to be met: a record, or one case of a record.
#[derive(Debug, Clone)]
pub struct Check {
    /// Name of the record, unique in its crate.
    pub id: String,
    /// Number of the case, from 1; 0 where the record holds a single value.
    pub case: usize,
    /// Field of the register.
    pub field: String,
    /// The claim that the record stands for.
    pub group: String,
    /// What is computed.
    pub quantity: String,
    /// Key of the literature; empty for a derived value whose inputs are our own choice.
    pub source: String,
    /// Page, table, equation or figure; how it was derived.
    pub place: String,
    /// How the value came to us.
    pub seen: Seen,
    /// What goes in.
    pub inputs: Inputs,
    /// Inputs that must not move the value.
    pub indifferent: Vec<String>,
    /// What the source prints.
    pub expected: Printed,
    /// Unit of the value; empty for a ratio.
    pub unit: String,
    /// How far off we may be.
    pub allowed: Allowed,
    /// Why that far.
    pub because: String,
    /// Smallest wrong answer that must be refused.
    pub sees: Allowed,
    /// Why a coarser `sees` than usual: what of the source allows no better.
    pub no_better: Option<String>,
    /// Range of validity that the values lie in.
    pub domain: String,
}

/// Share that a check sees unless its record says why not.
pub(crate) const SEES: f64 = 0.05;

impl Check {
    /// Record and case.
    pub(crate) fn name(&self) -> String {
        if self.case == 0 { self.id.clone() } else { format!("{} case {}", self.id, self.case) }
    }
}
