//! What a reading is expected to be off by: the hand on the stopwatch and the model of a control.

use crate::stretch::Stretch;

/// A stopwatch by hand, s (standard deviation of an interval: common practice, no source).
const STOPWATCH_S: f64 = 0.15;
/// What the model of a control is off by on a single stretch, as a share: common practice, no source.
pub(crate) const MODEL_SHARE: f64 = 0.006;
/// The same where arcs meet in corners, which every control rounds in its own way: common practice, no source.
const CURVED_CORNERS_SHARE: f64 = 0.03;

/// Standard deviation of the reading of a stretch from the time of the right figures, s.
pub(crate) fn deviation_s(stretch: &Stretch, read_s: f64) -> f64 {
    let share = if stretch.curved_corners { CURVED_CORNERS_SHARE } else { MODEL_SHARE };
    STOPWATCH_S.hypot(share * read_s)
}
