//! Pieces of a long program that stand for the whole where other values of the machine are asked
//! for.

use machine::spread::draws::Draws;
use machine::spread::response::quantiles;
use machine::spread::timing::{COLUMNS, Quantity, Timing, factors};
use machine::track::Track;
use machine::{
    AccountError, Kinematics, Machine, Mounting, Scenario, TrackOptions, TrackTimer, TrackTimes,
};
use rayon::prelude::*;
use units::Interval;

/// A track with more moves than this is answered for by pieces of it.
const WHOLE: usize = 12_000;
/// Number of pieces and moves of each.
const PIECES: usize = 10;
const EACH: usize = 1000;
/// Draws of the interval.
const DRAWS: usize = 1024;

/// Contiguous pieces of a track, evenly over its moves; waits are left out.
pub(super) struct Pieces {
    tracks: Vec<Track>,
    whole: bool,
}

impl Pieces {
    pub(super) fn new(track: &Track, machine: &Machine) -> Self {
        let kinematics = Kinematics::new(machine, &Mounting::default());
        let count = track.moves.len();
        let whole = count <= WHOLE;
        let ranges: Vec<_> = if whole {
            std::iter::once(0..count).collect()
        } else {
            (0..PIECES)
                .map(|i| {
                    let middle = count * (2 * i + 1) / (2 * PIECES);
                    middle - EACH / 2..middle + EACH / 2
                })
                .collect()
        };
        let piece = |range: std::ops::Range<usize>| {
            let start = track.before(range.start, &kinematics);
            Track { start, moves: track.moves[range].to_vec(), waits: Vec::new() }
        };
        Self { tracks: ranges.into_iter().map(piece).collect(), whole }
    }

    /// Whether the one piece is the whole track.
    pub(super) fn is_whole(&self) -> bool {
        self.whole
    }

    /// Moving time of all pieces together under each scenario, s.
    pub(super) fn times(
        &self,
        machine: &Machine,
        scenarios: &[Scenario],
    ) -> Result<Vec<f64>, AccountError> {
        let options = TrackOptions { worth_of: 0, ..TrackOptions::default() };
        let timers = self
            .tracks
            .par_iter()
            .map(|piece| TrackTimer::new(piece, machine, &options))
            .collect::<Result<Vec<_>, _>>()?;
        scenarios.par_iter().map(|s| timers.iter().map(|t| Ok(t.times(s)?.total_s)).sum()).collect()
    }

    /// The interval of the total time.
    pub(super) fn spread(
        &self,
        machine: &Machine,
        times: &TrackTimes,
        confidence: f64,
    ) -> Result<Interval, AccountError> {
        let uncertainty = machine.uncertainty();
        let answered = Timing::answered(&uncertainty, |s| self.times(machine, s))?;
        let timing = Timing { nominal_s: times.cutting_s + times.rapid_s, ..answered };
        let draws = Draws::new(DRAWS, COLUMNS + 1);
        let moving = timing.in_draws(&draws, DRAWS);
        let column = Quantity::ModelCommon.column();
        let error = machine.model_error();
        let common = factors(&draws, column, error.common);
        let own = factors(&draws, COLUMNS, error.own);
        let change = factors(&draws, Quantity::ToolChange.column(), uncertainty.tool_change);
        let totals: Vec<f64> = (0..DRAWS)
            .map(|i| {
                let waits = times.tool_change_s * change[i] + times.dwell_s + times.other_s;
                moving[i] * common[i] * own[i] + waits
            })
            .collect();
        let tail = 0.5 * (1.0 - confidence);
        let ends = quantiles(&totals, &vec![1.0; DRAWS], &[tail, 1.0 - tail]);
        Ok(Interval { low: ends[0].min(times.total_s), high: ends[1].max(times.total_s) })
    }
}
