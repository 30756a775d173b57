//! How a control drives: what it does at corners and how it changes speed.
//!
//! The shapes are those of the textbooks (Altintas, Manufacturing Automation, 2nd ed., ch. 5, from
//! memory): a control either rounds corners within a tolerance, or drives through them with a speed
//! that keeps the step of every axis' speed small; and it either limits jerk while it plans, or
//! plans with acceleration alone and smooths each axis by a filter afterwards. Which of them a
//! machine has is seldom on its sheet; a fit to measured times tells.

use crate::setting::{Setting, Settings};
use crate::{MachineError, Stated};
use std::collections::BTreeMap;
use std::fmt;

/// What happens at a corner that is no stop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Corner {
    /// The path is rounded, missing the corner by the tolerance at most.
    #[default]
    Blend,
    /// The path is kept; the speed is that of the arc that would round the corner by the tolerance,
    /// no longer than half of either leg. With a step of speed stated as well, a corner at which no
    /// axis exceeds it is not slowed.
    Arc,
    /// The path is kept; no axis changes its speed at the corner by more than a step.
    SpeedStep,
    /// The path is kept; the speed is that at which the corner, spread over a length on both sides so
    /// that it is missed by the tolerance, keeps the axes' limits.
    Spread,
    /// The path is averaged over a length, as long as keeps it within the tolerance but no longer than
    /// stated; the speed is that at which the averaged path keeps the axes' accelerations.
    Average,
    /// The path is kept; near a corner a share of the feed is driven that falls with its angle. The
    /// interpolator knows no acceleration: speed steps, and the axes follow by their filter or lag,
    /// at rapids by the time in which they reach their speed.
    FeedShare,
}

/// How the speed changes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Ramp {
    /// Acceleration changes no faster than the jerk allows.
    #[default]
    Jerk,
    /// Acceleration jumps, and every axis is smoothed by a filter: each stop comes later by its
    /// length.
    Filter,
    /// Acceleration jumps, and every axis lags behind by a first order; at a stop it is waited until
    /// what is left lies within a window.
    Lag,
}

/// What a control does with a path.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Control {
    /// At corners.
    pub corner: Corner,
    /// At changes of speed.
    pub ramp: Ramp,
    /// Largest step of a linear axis' speed at a corner, mm/s; used by [`Corner::SpeedStep`]. A
    /// rotary axis may step in proportion to its acceleration.
    pub corner_step_mm_s: Stated,
    /// Length of the axes' filter, or time constant of their lag, s; used by [`Ramp::Filter`] and
    /// [`Ramp::Lag`].
    pub filter_s: Stated,
    /// Blocks that the control sees ahead, within which it must be able to stop; `None`: enough.
    pub look_ahead: Option<u32>,
    /// Corners that turn by more are exact stops, rad.
    pub stop_angle_rad: f64,
    /// Whether blocks are read while the axes move and stand, as many as are seen ahead: only where the
    /// reading falls behind is it waited for. Else the block time holds the speed of every block down.
    pub reads_ahead: bool,
    /// Whether rapid and feed meet at a stop.
    pub rapid_stops: bool,
    /// Whether the step of speed lets corners pass that their arc would slow.
    pub step_passes: bool,
    /// Largest acceleration along the path in any direction, mm/s²; `None`: the axes alone limit it.
    pub path_accel_mm_s2: Option<Stated>,
    /// Largest acceleration across the path, towards the centre of curvature, mm/s²; `None`: alike.
    pub radial_accel_mm_s2: Option<Stated>,
    /// Further settings.
    pub(crate) settings: Settings,
}

/// The keys of `[control]` in a machine file.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ControlSpec {
    /// `blend`, `arc`, `speed-step`, `spread`, `average` or `feed-share`.
    pub corner: Option<String>,
    /// `jerk`, `filter` or `lag`.
    pub ramp: Option<String>,
    /// Largest step of an axis' speed at a corner, mm/min.
    pub corner_step_mm_min: Option<f64>,
    /// Length of the axes' filter, or time constant of their lag, ms.
    pub filter_ms: Option<f64>,
    /// Blocks of look-ahead.
    pub look_ahead_blocks: Option<u32>,
    /// Whether blocks are read while the axes move; left out: not.
    pub reads_ahead: Option<bool>,
    /// Whether rapid and feed meet at a stop; left out: where the axes settle at stops.
    pub rapid_stops: Option<bool>,
    /// Corners that turn by more are exact stops, deg; 180: none is.
    pub stop_angle_deg: Option<f64>,
    /// Largest acceleration along the path, m/s².
    pub path_accel_m_s2: Option<f64>,
    /// Largest acceleration across the path, m/s².
    pub radial_accel_m_s2: Option<f64>,
    /// Further settings, each by its own key.
    pub settings: BTreeMap<Setting, f64>,
}

impl Corner {
    /// All of them.
    pub const ALL: [Self; 6] =
        [Self::Blend, Self::Arc, Self::SpeedStep, Self::Spread, Self::Average, Self::FeedShare];

    /// As the machine file writes it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Blend => "blend",
            Self::Arc => "arc",
            Self::SpeedStep => "speed-step",
            Self::Spread => "spread",
            Self::Average => "average",
            Self::FeedShare => "feed-share",
        }
    }
}

impl Ramp {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Jerk, Self::Filter, Self::Lag];

    /// As the machine file writes it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Jerk => "jerk",
            Self::Filter => "filter",
            Self::Lag => "lag",
        }
    }
}

impl fmt::Display for Corner {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

impl fmt::Display for Ramp {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// The one of `all` that `word` names.
pub(crate) fn named<T: Copy>(
    key: &str,
    word: Option<&str>,
    all: &[T],
    name: fn(T) -> &'static str,
) -> Result<Option<T>, MachineError> {
    let Some(word) = word else { return Ok(None) };
    let found = all.iter().copied().find(|&t| name(t) == word);
    found.map(Some).ok_or_else(|| {
        let names: Vec<_> = all.iter().map(|&t| name(t)).collect();
        let expected = format!("one of {}", names.join(", "));
        MachineError::wrong(key, word, &expected, "correct the word, or leave the key out")
    })
}
