//! A value with its source and scatter, or the reason why there is none.

use std::fmt;
use units::Interval;

/// How sure a value is, from its origin alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Certainty {
    /// Read in a publication that is named with its place.
    Published,
    /// Recalled from the literature, not read again; never a gate, and its scatter is wide.
    FromMemory,
    /// A habit of the trade without a publication.
    CommonPractice,
}

/// What kind of value a scatter belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// A property of the material: density, hardness.
    Property,
    /// A law of force, or a ratio of forces.
    Force,
    /// A law of tool life.
    Life,
    /// A habit of chip, edge or speed.
    Habit,
}

impl Certainty {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Published, Self::FromMemory, Self::CommonPractice];

    /// Least scatter that a value may claim. A value that was not read in a publication may not
    /// claim to be sharper than this; a published one only may not claim to be exact. Common
    /// practice, no source.
    pub fn least_scatter(self, quantity: Quantity) -> f64 {
        match (self, quantity) {
            (Self::Published, Quantity::Property) => 0.002,
            (Self::Published, _) => 0.05,
            (_, Quantity::Property) => 0.02,
            (_, Quantity::Force) => 0.25,
            (_, Quantity::Life) => 1.0,
            (_, Quantity::Habit) => 0.2,
        }
    }

    /// The words that files and messages use.
    pub fn words(self) -> &'static str {
        match self {
            Self::Published => "published",
            Self::FromMemory => "from memory",
            Self::CommonPractice => "common practice, no source",
        }
    }
}

/// Where a value comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// How sure that makes it.
    pub certainty: Certainty,
    /// Author, title, year, and how to find it; for a value without a publication what it rests on.
    pub citation: String,
    /// Table, equation or page; empty where there is none.
    pub place: String,
}

impl fmt::Display for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.certainty.words())?;
        if !self.citation.is_empty() {
            write!(f, ": {}", self.citation)?;
        }
        if !self.place.is_empty() {
            write!(f, ", {}", self.place)?;
        }
        Ok(())
    }
}

/// A value, or a law with several, that has one source.
#[derive(Debug, Clone, PartialEq)]
pub struct Sourced<T> {
    /// The value; its unit stands in the name of the field that holds it.
    pub value: T,
    /// Half-width of the 90 % interval as a relative number `s`: a positive quantity lies between
    /// `value / (1 + s)` and `value · (1 + s)`. For a law it is the scatter of what the law gives.
    pub scatter: f64,
    /// Where it comes from.
    pub source: Source,
    /// What else has to be known to use it; may be empty.
    pub note: String,
}

impl Sourced<f64> {
    /// The 90 % interval of a positive value.
    pub fn interval(&self) -> Interval {
        scattered(self.value, self.scatter)
    }
}

/// The 90 % interval of a positive value with a relative half-width: `value / (1 + s)` to
/// `value · (1 + s)`.
pub fn scattered(value: f64, scatter: f64) -> Interval {
    Interval::new(value / (1.0 + scatter), value * (1.0 + scatter))
}

/// Scatter of a product of two independent factors with the scatters `a` and `b`: logarithms add
/// in quadrature (derived: normal logarithms).
pub fn combined(a: f64, b: f64) -> f64 {
    a.ln_1p().hypot(b.ln_1p()).exp_m1()
}

/// Why something is not known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Missing {
    /// The reason, as a sentence for people without a full stop.
    pub reason: String,
}

impl Missing {
    /// A reason.
    pub fn because(reason: impl Into<String>) -> Self {
        Self { reason: reason.into() }
    }
}

impl fmt::Display for Missing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.reason)
    }
}

impl std::error::Error for Missing {}

/// What is known, or the reason why it is not.
pub type Known<T> = Result<T, Missing>;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scatter_is_a_factor_both_ways_and_combines_in_logarithms() {
        let interval = scattered(100.0, 0.25);
        assert_eq!((interval.low, interval.high), (80.0, 125.0));
        assert!((combined(0.3, 0.0) - 0.3).abs() < 1e-12);
        // ln 1.2 and ln 1.5 in quadrature: exp(sqrt(0.0332412 + 0.1644020)) - 1
        assert!((combined(0.2, 0.5) - 0.559_820).abs() < 1e-5, "{}", combined(0.2, 0.5));
    }

    #[test]
    fn a_source_reads_as_one_line() {
        let source = Source {
            certainty: Certainty::Published,
            citation: "A. Author, Title, 2020".to_owned(),
            place: "Table 5".to_owned(),
        };
        assert_eq!(source.to_string(), "published: A. Author, Title, 2020, Table 5");
    }
}
