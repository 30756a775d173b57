//! What is wrong with a record or its binding.

use std::fmt;

/// A fault: where, what, and what to do.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, thiserror::Error)]
#[error("{place}: {what}")]
pub struct Fault {
    /// File, record or binding.
    pub place: String,
    /// What is wrong, what was expected, the remedy.
    pub what: String,
}

impl Fault {
    /// A fault at a place.
    pub fn new(place: impl fmt::Display, what: impl fmt::Display) -> Self {
        Self { place: place.to_string(), what: what.to_string() }
    }
}
