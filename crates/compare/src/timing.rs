//! What claims of time rest on.

pub(crate) use machine::spread::timing::{COLUMNS, Quantity, Timing, factors};
pub(crate) use machine::spread::{MODEL_COMMON, MODEL_OWN};

use machine::Uncertainty;
use study::outcome::Assumed;
use units::Interval;

/// The ranges that claims of time rest on, for the reader.
pub(crate) fn ranges(uncertainty: &Uncertainty) -> Vec<Assumed> {
    let line = |what: &str, range: Interval, because: &str| Assumed {
        key: format!("factor on {what}"),
        value: 1.0,
        range,
        because: format!("{because}; common practice, no source"),
    };
    let sheet = "what a machine file's value is good to";
    vec![
        line("the axes' acceleration", Quantity::Accel.interval(uncertainty), sheet),
        line("the axes' jerk", Quantity::Jerk.interval(uncertainty), sheet),
        line("the block time", Quantity::BlockTime.interval(uncertainty), sheet),
        line("the corner tolerance", Quantity::PathTolerance.interval(uncertainty), sheet),
        line("the tool change", Quantity::ToolChange.interval(uncertainty), sheet),
        line("all times of this machine alike", MODEL_COMMON, "error of the control's model"),
        line("the times of one process", MODEL_OWN, "error that differs between programs"),
    ]
}
