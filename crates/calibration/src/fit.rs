//! The fit: shapes of control one after another, the best of them kept, with what the readings leave
//! open.

use crate::figures::{Shape, rounded, set};
use crate::readings::Reading;
use crate::search::Search;
use crate::solve::{Problem, Solved};
use crate::stretch::Stretch;
use crate::trial::{Trial, TrialError};
use crate::watch::{MODEL_SHARE, deviation_s};
use machine::{FitSpec, MachineSpec};
use thiserror::Error;

/// Standard normal quantile of the ends of a 90 % interval.
const NINETY: f64 = 1.645;
/// A figure whose deviation stays above this share of what it was beforehand is not told by the
/// readings.
const UNTOLD: f64 = 0.7;
/// Significant digits of what is written into the machine file.
const DIGITS: i32 = 4;
/// Fewest readings of stretches that move.
const FEWEST: usize = 8;
/// Least share by which programs are off, as they lean on the machine in other ways than the stretches
/// do: with it 137 of 150 times of programs on fifteen emulated three-axis machines lay inside the 90 %
/// interval.
const LEAST_SHARE: f64 = 0.008;
/// Least that a reading is taken not to tell of itself.
const LEAST_OWN: f64 = 0.3;

/// A fitted machine.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// The machine file with what was found.
    pub spec: MachineSpec,
    /// The shape of control that explains the readings best.
    pub shape: Shape,
    /// Every shape that was tried, best first.
    pub tried: Vec<ShapeTried>,
    /// The figures.
    pub figures: Vec<Found>,
    /// Readings beside the times of the fitted machine.
    pub residuals: Vec<Residual>,
    /// How far the time of another program may be off, as a share (standard deviation).
    pub error_share: f64,
    /// Stretches without a reading.
    pub unread: Vec<String>,
}

/// A shape that was tried.
#[derive(Debug, Clone, PartialEq)]
pub struct ShapeTried {
    /// Which.
    pub shape: Shape,
    /// Root of the mean square of the relative residuals.
    pub residual_share: f64,
    /// Largest relative residual and its stretch.
    pub worst: (String, f64),
    /// What the choice goes by: lower is better.
    pub score: f64,
}

/// A figure after the fit.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// Dotted key of the machine file.
    pub key: String,
    /// What it was before, in the unit of the key.
    pub before: f64,
    /// What was found.
    pub value: f64,
    /// Ends of the 90 % interval.
    pub low: f64,
    /// The upper end.
    pub high: f64,
    /// Whether the readings say anything of it.
    pub told: bool,
}

/// A reading and the time of the fitted machine.
#[derive(Debug, Clone, PartialEq)]
pub struct Residual {
    /// Which stretch.
    pub name: String,
    /// What was read, s.
    pub read_s: f64,
    /// What the fitted machine takes, s.
    pub fitted_s: f64,
    /// What the machine takes by its file before the fit, s.
    pub before_s: f64,
}

/// Why no fit can be made.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum FitError {
    /// No test program can be made for the machine.
    #[error(transparent)]
    Trial(#[from] TrialError),
    /// Too few readings.
    #[error("{read} readings of stretches that move; the fit needs {FEWEST} at least")]
    TooFew {
        /// How many there are.
        read: usize,
    },
    /// The readings have nothing to do with the machine.
    #[error(
        "no shape of control comes near the readings; is it the right machine file, and was override at 100 %?"
    )]
    NoFit,
}

/// Fits `spec` to `readings`.
///
/// # Errors
/// Too few readings, or readings that no machine of this file can give.
pub fn fit(spec: &MachineSpec, readings: &[Reading]) -> Result<Fit, FitError> {
    let trial = Trial::new(spec)?;
    let read = |s: &Stretch| readings.iter().find(|r| r.test == s.name).map(|r| r.seconds);
    let known: Vec<&Stretch> = trial.stretches.iter().filter(|s| read(s).is_some()).collect();
    let read_s: Vec<f64> = known.iter().filter_map(|s| read(s)).collect();
    let moving =
        known.iter().filter(|s| !["m-codes", "tool-change", "spindle"].contains(&&*s.name)).count();
    if moving < FEWEST {
        return Err(FitError::TooFew { read: moving });
    }
    let search = Search { spec, stretches: &known, read_s: &read_s };
    let (shape, best, mut tried) = search.shapes().ok_or(FitError::NoFit)?;
    tried.sort_by(|a, b| a.1.score.total_cmp(&b.1.score));
    // the one chosen first, even where a needless effect comes out a little better
    tried.sort_by_key(|(s, _)| *s != shape);
    let mut seen = Vec::new();
    tried.retain(|(s, _)| {
        let first = !seen.contains(s);
        seen.push(*s);
        first
    });
    let expected = |s: &Stretch| {
        let at = trial.stretches.iter().position(|t| t.name == s.name);
        at.map_or(f64::NAN, |i| trial.expected_s[i])
    };
    let residuals = known
        .iter()
        .zip(&read_s)
        .zip(&best.times)
        .map(|((s, &read_s), &fitted_s)| Residual {
            name: s.name.clone(),
            read_s,
            fitted_s,
            before_s: expected(s),
        })
        .collect();
    let error_share = error_share(&best, (&known, &read_s));
    let figures = found(&best);
    Ok(Fit {
        spec: search.fitted(shape, &figures, error_share).ok_or(FitError::NoFit)?,
        shape,
        tried: tried.iter().map(|(shape, s)| search.report(*shape, s)).collect(),
        figures,
        residuals,
        error_share,
        unread: trial
            .stretches
            .iter()
            .filter(|s| read(s).is_none())
            .map(|s| s.name.clone())
            .collect(),
    })
}

impl Search<'_> {
    fn report(&self, shape: Shape, solved: &Solved) -> ShapeTried {
        let shares: Vec<f64> =
            solved.times.iter().zip(self.read_s).map(|(t, read)| t / read - 1.0).collect();
        let square = shares.iter().map(|s| s * s).sum::<f64>() / shares.len() as f64;
        let worst = (0..shares.len())
            .max_by(|&a, &b| shares[a].abs().total_cmp(&shares[b].abs()))
            .unwrap_or(0);
        ShapeTried {
            shape,
            residual_share: square.sqrt(),
            worst: (self.stretches[worst].name.clone(), shares[worst]),
            score: solved.score,
        }
    }

    fn fitted(&self, shape: Shape, figures: &[Found], error_share: f64) -> Option<MachineSpec> {
        let problem = Problem::new(shape, self.spec, &[], &[])?;
        let mut spec = problem.spec;
        for found in figures {
            set(&mut spec, &found.key, found.value);
        }
        let known = machine::Machine::new(&spec).ok()?;
        let interval = figures
            .iter()
            .filter(|f| known.figure(&f.key).is_some())
            .map(|f| (f.key.clone(), [f.low, f.high]));
        spec.fit =
            FitSpec { error_share: Some(rounded(error_share, 2)), interval: interval.collect() };
        Some(spec)
    }
}

fn found(best: &Solved) -> Vec<Found> {
    let one = |(i, figure): (usize, &crate::figures::Figure)| {
        let at = |z: f64| rounded(figure.at(z), DIGITS);
        let half = NINETY * best.deviation[i];
        Found {
            key: figure.key.clone(),
            before: figure.start,
            value: at(best.z[i]),
            low: at(best.z[i] - half),
            high: at(best.z[i] + half),
            told: best.deviation[i] < UNTOLD,
        }
    };
    best.figures.iter().enumerate().map(one).collect()
}

/// How far times of other programs may be off: what the model of a control is off by, times the root of
/// the mean square of the residuals over what stopwatch and model are expected to be off by (the ratio
/// of Birge, Phys. Rev. 40 (1932), from memory), each stretch as it comes out where it is left out of the
/// fit, by its leverage (Cook and Weisberg 1982, from memory). So the hand on the stopwatch counts little
/// where a stretch was short.
fn error_share(best: &Solved, (stretches, read_s): (&[&Stretch], &[f64])) -> f64 {
    let readings = stretches.iter().zip(read_s);
    let fitted = best.times.iter().zip(&best.leverage);
    let left_out = readings.zip(fitted).map(|((stretch, read), (t, leverage))| {
        let own = (1.0 - leverage).max(LEAST_OWN);
        (t - read) / deviation_s(stretch, *read) / own
    });
    let square = left_out.map(|ratio| ratio * ratio).sum::<f64>() / read_s.len().max(1) as f64;
    (MODEL_SHARE * square.sqrt()).max(LEAST_SHARE)
}
