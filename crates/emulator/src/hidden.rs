//! A control and its machine as they really are: what a fitted model has to predict from outside.

use crate::band::Band;
use crate::filtered::Filtered;
use crate::lagging::Lagging;
use crate::rounded::Rounded;
use crate::stopping::Stopping;
use machine::{Event, Kinematics};
use std::collections::BTreeMap;

/// How the control turns blocks into motion.
#[derive(Debug, Clone, PartialEq)]
pub enum Family {
    /// Constant acceleration along the polyline, then two moving averages per axis.
    Filtered(Filtered),
    /// Corners rounded within a tolerance, jerk-limited feed decided anew at every sample.
    Rounded(Rounded),
    /// Feed stepped by tables, smoothed afterwards by the axes' time constants.
    Lagging(Lagging),
    /// Path averaged within a tolerance band, looked at over a short horizon of time.
    Band(Band),
    /// Stops at corners, reads slowly, looks few blocks ahead.
    Stopping(Stopping),
}

/// What one axis really does; mm for linear axes, rad for rotary ones.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AxisHidden {
    /// Fastest speed, 1/s.
    pub speed: f64,
    /// Acceleration at a feed, 1/s².
    pub accel: f64,
    /// Acceleration at a rapid, 1/s².
    pub rapid_accel: f64,
    /// Jerk, 1/s³; families without a jerk limit do not look at it.
    pub jerk: f64,
}

/// A machine with everything that its maker and its service engineers set.
#[derive(Debug, Clone, PartialEq)]
pub struct Hidden {
    /// How the control turns blocks into motion.
    pub family: Family,
    /// The chain of axes, part and tool mounted.
    pub kinematics: Kinematics,
    /// 1, or −1 for a rotary axis that turns the other way than ISO 841 has it.
    pub directions: [f64; 2],
    /// Axes in the order of the layout: X, Y, Z and the rotary ones.
    pub axes: Vec<AxisHidden>,
    /// Interpolation clock, s.
    pub sample_s: f64,
    /// Time to read and prepare one block, s.
    pub block_time_s: f64,
    /// Blocks that are prepared ahead of the one in motion.
    pub queue_blocks: usize,
    /// Whether the axes stop between rapid and feed.
    pub rapid_stops: bool,
    /// Window inside which a linear axis counts as in position, mm.
    pub window_mm: f64,
    /// Window of a rotary axis, rad.
    pub window_rad: f64,
    /// Time for which the axes must stay inside before the next move, s.
    pub in_position_s: f64,
    /// True seconds for a second of the control's clock.
    pub clock_factor: f64,
    /// Chip to chip, s.
    pub tool_change_s: f64,
    /// Spindle from standstill to `spindle_rpm`, s.
    pub spindle_ramp_s: f64,
    /// Fastest speed of the spindle, rev/min.
    pub spindle_rpm: f64,
    /// What a dwell takes longer than written, s.
    pub dwell_extra_s: f64,
    /// Seconds of M words, by the word as `M8`.
    pub words_s: BTreeMap<String, f64>,
    /// Seconds of an M word that is not listed: the hand-shake with the relay logic.
    pub other_word_s: f64,
}

impl Hidden {
    /// Time of something that is waited for, s, by the control's own clock.
    pub(crate) fn event_s(&self, event: &Event) -> f64 {
        match event {
            Event::ToolChange => self.tool_change_s,
            Event::Spindle { from_rpm, to_rpm } => {
                self.spindle_ramp_s * ((to_rpm - from_rpm).abs() / self.spindle_rpm).min(1.0)
            }
            Event::Dwell(seconds) => seconds.max(0.0) + self.dwell_extra_s,
            Event::Word(word) => {
                let word = word.trim().to_ascii_uppercase();
                let number = word.strip_prefix('M').and_then(|digits| digits.parse::<u32>().ok());
                let listed = number.and_then(|n| self.words_s.get(&format!("M{n}")));
                listed.copied().unwrap_or(self.other_word_s)
            }
        }
    }

    /// Window of the axis of that number, mm or rad.
    pub(crate) fn window(&self, axis: usize) -> f64 {
        if axis < 3 { self.window_mm } else { self.window_rad }
    }
}
