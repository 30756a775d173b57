//! Runs of the planner that find how a cycle time answers to the machine's uncertain values.

use crate::response::Answer;
use crate::timing::{PLANNED, Quantity, Timing};
use machine::{AccountError, AccountOptions, Machine, Scenario, Timer};
use toolpath::Toolpath;

/// A toolpath with more moves than this is answered for by pieces of it.
const WHOLE: usize = 8000;
/// Number of pieces.
const PIECES: usize = 5;

/// Contiguous pieces that stand for the whole path: all of it where it is short.
fn pieces(path: &Toolpath) -> Vec<Toolpath> {
    if path.moves() <= WHOLE {
        return vec![path.clone()];
    }
    let each = WHOLE / PIECES;
    (0..PIECES)
        .map(|i| {
            let start = path.runs.len() * (2 * i + 1) / (2 * PIECES);
            let mut moves = 0;
            let enough = path.runs[start..].iter().position(|r| {
                moves += r.poses.len().saturating_sub(1);
                moves >= each
            });
            let end = enough.map_or(path.runs.len(), |n| start + n + 1);
            Toolpath { runs: path.runs[start..end].to_vec() }
        })
        .collect()
}

/// The timing of a path whose nominal time is known.
pub(crate) fn timing(
    path: &Toolpath,
    machine: &Machine,
    options: &AccountOptions,
    nominal_s: f64,
) -> Result<Timing, AccountError> {
    let pieces = pieces(path);
    let timers = pieces
        .iter()
        .map(|piece| Timer::new(piece, machine, options))
        .collect::<Result<Vec<_>, _>>()?;
    let time = |scenario: &Scenario| -> Result<f64, AccountError> {
        timers.iter().map(|t| Ok(t.times(scenario)?.total_s)).sum()
    };
    let uncertainty = machine.uncertainty();
    let nominal = time(&Scenario::default())?;
    let mut slow = Scenario::default();
    let mut answers = [Answer::default(); 4];
    for (quantity, answer) in PLANNED.into_iter().zip(&mut answers) {
        let ends = quantity.interval(&uncertainty);
        if ends.width() == 0.0 {
            continue;
        }
        let at = |factor: f64| time(&with(&Scenario::default(), quantity, factor));
        *answer = Answer::from_times(at(ends.low)?, nominal, at(ends.high)?);
        let slow_end = if answer.low >= answer.high { ends.low } else { ends.high };
        slow = with(&slow, quantity, slow_end);
    }
    let sum: f64 = answers.iter().map(|a| a.low.max(a.high)).sum();
    let together = if nominal > 0.0 { (time(&slow)? / nominal).ln() - sum } else { 0.0 };
    Ok(Timing { nominal_s, answers, together })
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
