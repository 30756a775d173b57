//! What can be wrong with the description of a machine.

use thiserror::Error;

/// A machine file that cannot be used: which key, what was found, what to write instead.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum MachineError {
    /// A key that nothing can stand in for is absent.
    #[error("`{key}` is missing, expected {expected}; {remedy}")]
    Missing {
        /// Dotted key of the machine file: `axis.X.max_feed_mm_min`.
        key: String,
        /// What belongs there.
        expected: String,
        /// What to do.
        remedy: String,
    },
    /// A key holds a value that no machine has.
    #[error("`{key}` is {found}, expected {expected}; {remedy}")]
    Wrong {
        /// Dotted key of the machine file.
        key: String,
        /// The value as it was given.
        found: String,
        /// What was expected.
        expected: String,
        /// What to do.
        remedy: String,
    },
}

impl MachineError {
    /// The dotted key that the message is about.
    pub fn key(&self) -> &str {
        match self {
            Self::Missing { key, .. } | Self::Wrong { key, .. } => key,
        }
    }

    pub(crate) fn missing(key: &str, expected: &str, remedy: &str) -> Self {
        Self::Missing { key: key.into(), expected: expected.into(), remedy: remedy.into() }
    }

    pub(crate) fn wrong(key: &str, found: impl ToString, expected: &str, remedy: &str) -> Self {
        Self::Wrong {
            key: key.into(),
            found: found.to_string(),
            expected: expected.into(),
            remedy: remedy.into(),
        }
    }
}
