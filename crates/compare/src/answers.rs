//! Time on the machine, and how it answers to the machine's uncertain values and to its limits.
//!
//! The whole path is planned once. What other values of the machine would bring is found on
//! contiguous pieces of it, which stand for the whole: a path of many like passes answers like a
//! few of them.

use crate::timing::Timing;
use machine::{AccountError, AccountOptions, Machine, Scenario, TimeAccount, Timer};
use rayon::prelude::*;
use toolpath::Toolpath;

/// A toolpath with more moves than this is answered for by pieces of it.
const WHOLE: usize = 3000;
/// Number of pieces.
const PIECES: usize = 5;
/// How many of the limits that hold most time are relaxed.
const RELAXED_LIMITS: usize = 6;

/// The account of a path with the worth of its foremost limits, and its timing.
pub(crate) fn timed(
    path: &Toolpath,
    machine: &Machine,
    options: &AccountOptions,
) -> Result<(TimeAccount, Timing), AccountError> {
    let whole = AccountOptions { worth_of: 0, ..*options };
    let (account, pieces) = rayon::join(
        || Timer::new(path, machine, &whole)?.account(),
        || Pieces::new(path).timed(machine, options),
    );
    let (mut account, (nominal_s, mut timing)) = (account?, pieces?);
    timing.nominal_s = account.times.total_s;
    let share = if nominal_s > 0.0 { timing.nominal_s / nominal_s } else { 0.0 };
    worths(&mut account, &Pieces::new(path), machine, options, (nominal_s, share))?;
    Ok((account, timing))
}

/// Pieces of a path that stand for the whole.
struct Pieces {
    paths: Vec<Toolpath>,
}

impl Pieces {
    /// Contiguous pieces, evenly over the path: all of it where it is short.
    fn new(path: &Toolpath) -> Self {
        if path.moves() <= WHOLE {
            return Self { paths: vec![path.clone()] };
        }
        let each = WHOLE / PIECES;
        let piece = |i: usize| {
            let start = path.runs.len() * (2 * i + 1) / (2 * PIECES);
            let mut moves = 0;
            let enough = path.runs[start..].iter().position(|r| {
                moves += r.poses.len().saturating_sub(1);
                moves >= each
            });
            let end = enough.map_or(path.runs.len(), |n| start + n + 1);
            Toolpath { runs: path.runs[start..end].to_vec() }
        };
        Self { paths: (0..PIECES).map(piece).collect() }
    }

    /// Time of all pieces together under each scenario, s.
    fn times(
        &self,
        machine: &Machine,
        options: &AccountOptions,
        scenarios: &[Scenario],
    ) -> Result<Vec<f64>, AccountError> {
        let timers = self
            .paths
            .par_iter()
            .map(|piece| Timer::new(piece, machine, options))
            .collect::<Result<Vec<_>, _>>()?;
        scenarios.par_iter().map(|s| timers.iter().map(|t| Ok(t.times(s)?.total_s)).sum()).collect()
    }

    /// Nominal time of the pieces, and their timing.
    fn timed(
        &self,
        machine: &Machine,
        options: &AccountOptions,
    ) -> Result<(f64, Timing), AccountError> {
        let timing = Timing::answered(&machine.uncertainty(), |scenarios| {
            self.times(machine, options, scenarios)
        })?;
        Ok((timing.nominal_s, timing))
    }
}

/// What relaxing each of the foremost limits saves, from the pieces.
fn worths(
    account: &mut TimeAccount,
    pieces: &Pieces,
    machine: &Machine,
    options: &AccountOptions,
    (nominal_s, share): (f64, f64),
) -> Result<(), AccountError> {
    let count = account.limits.len().min(RELAXED_LIMITS);
    let relaxed: Vec<Option<Scenario>> = account.limits[..count]
        .iter()
        .map(|l| l.limit.relaxed(&Scenario::default(), options.relax))
        .collect();
    let scenarios: Vec<Scenario> = relaxed.iter().flatten().cloned().collect();
    let mut times = pieces.times(machine, options, &scenarios)?.into_iter();
    for (line, scenario) in account.limits.iter_mut().zip(&relaxed) {
        let time_s = scenario.as_ref().and_then(|_| times.next());
        line.worth_s = time_s.map(|t| (nominal_s - t) * share);
    }
    Ok(())
}
