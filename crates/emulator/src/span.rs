//! What a feed generator sees of a path: spans with a speed each, one after another.

use crate::legs::Q;

/// A stretch of path with one set of limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Span {
    /// Length in the unit of its leg.
    pub(crate) length: f64,
    /// Largest speed on it, programmed feed included.
    pub(crate) cap: f64,
    pub(crate) accel: f64,
    pub(crate) jerk: f64,
    /// Largest speed at its end; zero: a stop.
    pub(crate) exit: f64,
    /// The leg that must have been read before the span can be run.
    pub(crate) leg: usize,
    /// The leg that is done at the span's end.
    pub(crate) ends: Option<usize>,
    /// Whether it is a rapid.
    pub(crate) rapid: bool,
}

impl Span {
    pub(crate) fn stops(&self) -> bool {
        self.exit <= 0.0
    }
}

/// The path under the spans.
pub(crate) trait Course {
    /// Joints at length `s` of a span.
    fn joints(&self, span: usize, s: f64) -> Q;
}
