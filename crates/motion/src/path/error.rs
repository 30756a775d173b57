//! Why a path cannot be planned: where, what was expected, what to do.

use thiserror::Error;

/// A path or limits that cannot be planned.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum PlanError {
    /// Fewer than two grid points.
    #[error("a path needs at least 2 grid points, got {points}")]
    TooShort {
        /// Number of points given.
        points: usize,
    },
    /// No axis, or more than the planner takes.
    #[error("a path needs 1 to 8 axes, got {axes}")]
    AxisCount {
        /// Number of axes given.
        axes: usize,
    },
    /// A slice whose length does not fit the grid.
    #[error("`{what}` holds {got} values, expected {expected}")]
    Length {
        /// Name of the slice.
        what: &'static str,
        /// Its length.
        got: usize,
        /// The length that fits.
        expected: usize,
    },
    /// A value that is not allowed where it stands.
    #[error("`{what}` at index {index} is {value}, expected {expected}")]
    Value {
        /// Name of the slice or field.
        what: &'static str,
        /// Index of the value.
        index: usize,
        /// The value.
        value: f64,
        /// What was expected.
        expected: &'static str,
    },
    /// No axis moves on an interval and no cap bounds its speed.
    #[error(
        "nothing bounds the speed at grid point {index}: no axis moves and no cap is set; cap the speed there"
    )]
    Unbounded {
        /// Grid point.
        index: usize,
    },
    /// The limits do not allow the start speed.
    #[error(
        "start speed {asked} cannot be kept, at most {possible}; slow down before the path starts"
    )]
    StartSpeed {
        /// Speed asked for.
        asked: f64,
        /// Largest speed from which the path can be followed.
        possible: f64,
    },
    /// The limits do not allow the end speed.
    #[error(
        "end speed {asked} cannot be reached, at most {possible}; ask for less or start faster"
    )]
    EndSpeed {
        /// Speed asked for.
        asked: f64,
        /// Largest speed that can be reached.
        possible: f64,
    },
    /// Lengths, speeds and limits so far apart that the time overflows.
    #[error("lengths and limits are too far apart for a finite time; check their units")]
    OutOfScale,
}
