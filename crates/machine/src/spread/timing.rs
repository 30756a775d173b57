//! A time as a function of what is not known of the machine.

use super::draws::Draws;
use super::response::{Answer, END_Z, factor_at};
use crate::{AccountError, Scenario, Uncertainty};
use units::Interval;

/// Quantities that move cycle times, each with its own column of draws.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
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
    /// How far the model of the control is off for every program alike; its interval is that of
    /// [`super::ModelError::common`].
    ModelCommon,
}

/// The quantities that a planner run can be given.
pub const PLANNED: [Quantity; 4] =
    [Quantity::Accel, Quantity::Jerk, Quantity::BlockTime, Quantity::PathTolerance];
/// Columns used by the quantities above; columns of single processes and cutters follow.
pub const COLUMNS: usize = 7;

impl Quantity {
    /// Its column of draws.
    pub fn column(self) -> usize {
        self as usize
    }

    /// Interval of its factor.
    pub fn interval(self, uncertainty: &Uncertainty) -> Interval {
        match self {
            Self::Accel => uncertainty.accel,
            Self::Jerk => uncertainty.jerk,
            Self::BlockTime => uncertainty.block_time,
            Self::PathTolerance => uncertainty.path_tolerance,
            Self::ToolChange => uncertainty.tool_change,
            Self::Together | Self::ModelCommon => Interval::point(1.0),
        }
    }
}

/// Nominal time of an operation and its answers.
#[derive(Debug, Clone, PartialEq)]
pub struct Timing {
    /// Time on the machine as stated, s.
    pub nominal_s: f64,
    /// Answers to [`PLANNED`].
    pub answers: [Answer; 4],
    /// ln(time with all at their slow ends ÷ nominal), less the answers added up.
    pub together: f64,
}

impl Timing {
    /// From the times, s, that a path takes under scenarios given to `times`, in their order.
    ///
    /// # Errors
    /// Those of `times`.
    pub fn answered(
        uncertainty: &Uncertainty,
        times: impl Fn(&[Scenario]) -> Result<Vec<f64>, AccountError>,
    ) -> Result<Self, AccountError> {
        let ends = PLANNED.map(|quantity| quantity.interval(uncertainty));
        let mut scenarios = vec![Scenario::default()];
        for (quantity, end) in PLANNED.into_iter().zip(&ends) {
            scenarios.extend([end.low, end.high].map(|f| with(&scenarios[0], quantity, f)));
        }
        let found = times(&scenarios)?;
        let mut slow = Scenario::default();
        let mut answers = [Answer::default(); 4];
        for (i, (quantity, end)) in PLANNED.into_iter().zip(&ends).enumerate() {
            answers[i] = Answer::from_times(found[2 * i + 1], found[0], found[2 * i + 2]);
            let slower = if answers[i].low >= answers[i].high { end.low } else { end.high };
            slow = with(&slow, quantity, slower);
        }
        let all_slow = times(&[slow])?[0];
        let sum: f64 = answers.iter().map(|a| a.low.max(a.high)).sum();
        let together = if found[0] > 0.0 { (all_slow / found[0]).ln() - sum } else { 0.0 };
        Ok(Self { nominal_s: found[0], answers, together })
    }

    /// The time in every draw, the model's own error left out, s.
    pub fn in_draws(&self, draws: &Draws, count: usize) -> Vec<f64> {
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
pub fn factors(draws: &Draws, column: usize, interval: Interval) -> Vec<f64> {
    draws.of(column).iter().map(|z| factor_at(interval.low, interval.high, *z)).collect()
}

fn with(scenario: &Scenario, quantity: Quantity, factor: f64) -> Scenario {
    let mut changed = scenario.clone();
    match quantity {
        Quantity::Accel => changed.accel = factor,
        Quantity::Jerk => changed.jerk = factor,
        Quantity::BlockTime => changed.block_time = factor,
        Quantity::PathTolerance => changed.path_tolerance = factor,
        Quantity::ToolChange | Quantity::Together | Quantity::ModelCommon => {}
    }
    changed
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
