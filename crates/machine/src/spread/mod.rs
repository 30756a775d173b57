//! How far a time may be off: shared draws, and how a time answers to what is not known.

pub mod draws;
pub mod response;
pub mod timing;

use crate::Machine;
use units::Interval;

/// The planner's own error that is common to all programs of one machine, as a factor: common
/// practice, no source.
const MODEL_COMMON: Interval = Interval { low: 0.95, high: 1.08 };
/// The planner's error that differs from program to program, as a factor: common practice, no source.
const MODEL_OWN: Interval = Interval { low: 0.98, high: 1.02 };

/// How far the model of the control is off, as factors on times (90 %).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ModelError {
    /// For every program of the machine alike.
    pub common: Interval,
    /// From program to program.
    pub own: Interval,
    /// Where it comes from, for the reader.
    pub because: &'static str,
}

impl Machine {
    /// How far the model of this machine's control is off: as a fit to measured times has found, of
    /// whose variance half is taken to be common to all programs; else as common practice has it.
    pub fn model_error(&self) -> ModelError {
        let Some(share) = self.fit_error else {
            let because = "error of the control's model; common practice, no source";
            return ModelError { common: MODEL_COMMON, own: MODEL_OWN, because };
        };
        let end = (response::END_Z * share * 0.5f64.sqrt()).exp();
        let half = Interval::new(1.0 / end, end);
        let because = "error of the control's model, from the fit to measured times";
        ModelError { common: half, own: half, because }
    }
}
