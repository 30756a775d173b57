//! What claims of time rest on.

pub(crate) use machine::spread::timing::{COLUMNS, Quantity, Timing, factors};

use machine::Machine;
use study::outcome::Assumed;
use units::Interval;

/// The ranges that claims of time rest on, for the reader.
pub(crate) fn ranges(machine: &Machine) -> Vec<Assumed> {
    let (uncertainty, error) = (&machine.uncertainty(), machine.model_error());
    let line = |what: &str, range: Interval, because: &str| Assumed {
        key: format!("factor on {what}"),
        value: 1.0,
        range,
        because: because.to_owned(),
    };
    let sheet = "what a machine file's value is good to; common practice, no source";
    vec![
        line("the axes' acceleration", Quantity::Accel.interval(uncertainty), sheet),
        line("the axes' jerk", Quantity::Jerk.interval(uncertainty), sheet),
        line("the block time", Quantity::BlockTime.interval(uncertainty), sheet),
        line("the corner tolerance", Quantity::PathTolerance.interval(uncertainty), sheet),
        line("the tool change", Quantity::ToolChange.interval(uncertainty), sheet),
        line("all times of this machine alike", error.common, error.because),
        line("the times of one process", error.own, error.because),
    ]
}
