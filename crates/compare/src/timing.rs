//! The time of one operation as a function of what is not known of the machine.

use crate::draws::Draws;
use crate::response::{Answer, END_Z, factor_at};
use machine::Uncertainty;
use study::outcome::Assumed;
use units::Interval;

/// Quantities that move cycle times, each with its own column of draws.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Quantity {
    /// Acceleration of the axes.
    Accel,
    /// Jerk of the axes.
    Jerk,
    /// Time of a block.
    BlockTime,
    /// Corner tolerance.
    PathTolerance,
    /// Chip to chip.
    ToolChange,
    /// What the answers added up miss when all quantities move together.
    Together,
    /// How far the model of the control is off for every program alike.
    ModelCommon,
}

/// The quantities that a planner run can be given.
pub(crate) const PLANNED: [Quantity; 4] =
    [Quantity::Accel, Quantity::Jerk, Quantity::BlockTime, Quantity::PathTolerance];
/// Columns used by the quantities above; columns of single processes and cutters follow.
pub(crate) const COLUMNS: usize = 7;

/// The planner's own error that is common to all programs of one machine, as a factor: common
/// practice, no source.
pub(crate) const MODEL_COMMON: Interval = Interval { low: 0.95, high: 1.08 };
/// The planner's error that differs from program to program, as a factor: common practice, no source.
pub(crate) const MODEL_OWN: Interval = Interval { low: 0.98, high: 1.02 };

impl Quantity {
    /// Its column of draws.
    pub(crate) fn column(self) -> usize {
        self as usize
    }

    /// Interval of its factor.
    pub(crate) fn interval(self, uncertainty: &Uncertainty) -> Interval {
        match self {
            Self::Accel => uncertainty.accel,
            Self::Jerk => uncertainty.jerk,
            Self::BlockTime => uncertainty.block_time,
            Self::PathTolerance => uncertainty.path_tolerance,
            Self::ToolChange => uncertainty.tool_change,
            Self::Together => Interval::point(1.0),
            Self::ModelCommon => MODEL_COMMON,
        }
    }
}

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

/// Nominal time of an operation and its answers.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Timing {
    /// Time on the machine as stated, s.
    pub(crate) nominal_s: f64,
    /// Answers to [`PLANNED`].
    pub(crate) answers: [Answer; 4],
    /// ln(time with all at their slow ends ÷ nominal), less the answers added up.
    pub(crate) together: f64,
}

impl Timing {
    /// The time in every draw, the model's own error left out, s.
    pub(crate) fn in_draws(&self, draws: &Draws, count: usize) -> Vec<f64> {
        (0..count)
            .map(|i| {
                let planned = PLANNED.iter().zip(&self.answers);
                let sum: f64 = planned.map(|(q, a)| a.at(draws.of(q.column())[i])).sum();
                let together = draws.of(Quantity::Together.column())[i] / END_Z * self.together;
                self.nominal_s * (sum + together).exp()
            })
            .collect()
    }
}

/// Factors in every draw of a quantity whose interval is `interval`.
pub(crate) fn factors(draws: &Draws, column: usize, interval: Interval) -> Vec<f64> {
    draws.of(column).iter().map(|z| factor_at(interval.low, interval.high, *z)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_known_exactly_does_not_move_the_time() {
        let timing = Timing { nominal_s: 10.0, answers: [Answer::default(); 4], together: 0.0 };
        let times = timing.in_draws(&Draws::new(32, COLUMNS), 32);
        assert!(times.iter().all(|t| *t == 10.0));
    }

    #[test]
    fn a_slower_low_end_widens_upwards() {
        let accel = Answer { low: 0.1, high: -0.02 };
        let answers = [accel, Answer::default(), Answer::default(), Answer::default()];
        let timing = Timing { nominal_s: 10.0, answers, together: 0.0 };
        let times = timing.in_draws(&Draws::new(64, COLUMNS), 64);
        let (low, high) =
            times.iter().fold((f64::MAX, 0.0_f64), |(l, h), t| (l.min(*t), h.max(*t)));
        assert!(high > 11.0 && low > 9.5, "{low} {high}");
    }
}
