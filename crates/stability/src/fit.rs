//! Modes fitted to a measured response, for methods that step through time.
//!
//! Modes are added one at a time where the imaginary part of what is left peaks; after each, frequency,
//! damping and size of all of them and a rest without mass are refined together by damped least squares
//! (Levenberg and Marquardt, textbook).

mod squares;

use crate::frf::MeasuredResponse;
use crate::response::Mode;
use num_complex::Complex64;
use squares::Parameters;

/// Most modes that are fitted.
const MOST_MODES: usize = 8;
/// Most rows that are fitted; of a longer table every n-th is taken.
const MOST_ROWS: usize = 6000;
/// A peak of what is left below this share of the highest is noise.
const NOISE: f64 = 0.03;
/// A mode that brings the misfit down by less than this share is not worth having.
const WORTH: f64 = 0.1;
/// Misfit below which nothing is left to fit.
const FITTED: f64 = 1e-6;
/// Misfit above which the modes do not stand for the response.
const POOR: f64 = 0.25;

/// Modes that stand for a measured response.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    modes: Vec<Mode>,
    rest_mm_n: f64,
    misfit: f64,
}

impl Fit {
    /// The modes, by frequency.
    pub fn modes(&self) -> &[Mode] {
        &self.modes
    }

    /// Static give of all that resonates above the band, mm/N.
    pub fn rest_mm_n(&self) -> f64 {
        self.rest_mm_n
    }

    /// What the modes leave unexplained: root mean square over that of the response.
    pub fn misfit(&self) -> f64 {
        self.misfit
    }

    /// Displacement over force, mm/N.
    pub fn response(&self, omega_rad_s: f64) -> Complex64 {
        self.modes.iter().map(|m| m.response(omega_rad_s)).sum::<Complex64>() + self.rest_mm_n
    }
}

/// Why no modes could be fitted.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum FitError {
    /// Nothing peaks.
    #[error(
        "the response has no peak in its band, expected at least one resonance; measure over a wider band"
    )]
    NoPeak,
    /// The modes leave too much unexplained.
    #[error(
        "{modes} modes leave {:.0} % of the response unexplained, expected at most {:.0} %; cut the band to the \
         resonances, average more blows, or use the zeroth order, which takes the response as it is",
        100.0 * .misfit,
        100.0 * POOR
    )]
    Poor {
        /// Modes that were fitted.
        modes: usize,
        /// Root mean square left over that of the response.
        misfit: f64,
    },
}

/// Fits modes to a response.
///
/// # Errors
/// Nothing peaks, or the modes leave a quarter of the response unexplained.
pub fn modes(measured: &MeasuredResponse) -> Result<Fit, FitError> {
    let rows = Rows::of(measured);
    let mut best: Option<(Parameters, f64)> = None;
    for _ in 0..MOST_MODES {
        let before = best.as_ref().map(|(p, _)| p);
        let Some(start) = rows.with_next_peak(before) else { break };
        let (found, misfit) = squares::refined(&rows.omegas, &rows.values, start);
        let sound = found.modes().is_some();
        let worth = best.as_ref().is_none_or(|(_, old)| misfit < (1.0 - WORTH) * old);
        if !sound || !worth {
            break;
        }
        best = Some((found, misfit));
        if misfit < FITTED {
            break;
        }
    }
    let (parameters, misfit) = best.ok_or(FitError::NoPeak)?;
    let mut modes = parameters.modes().ok_or(FitError::NoPeak)?;
    modes.sort_by(|a, b| a.frequency_hz.total_cmp(&b.frequency_hz));
    if !(misfit <= POOR) {
        return Err(FitError::Poor { modes: modes.len(), misfit });
    }
    Ok(Fit { modes, rest_mm_n: parameters.rest_mm_n, misfit })
}

struct Rows {
    omegas: Vec<f64>,
    values: Vec<Complex64>,
    highest: f64,
}

impl Rows {
    fn of(measured: &MeasuredResponse) -> Self {
        let stride = measured.omegas_rad_s().len().div_ceil(MOST_ROWS).max(1);
        let rows = measured.omegas_rad_s().iter().zip(measured.values_mm_n());
        let (omegas, values): (Vec<f64>, Vec<Complex64>) =
            rows.step_by(stride).filter(|(w, _)| **w > 0.0).map(|(w, g)| (*w, *g)).unzip();
        let highest = values.iter().map(|g| -g.im).fold(0.0, f64::max);
        Self { omegas, values, highest }
    }

    /// The modes so far and one where the imaginary part of what they leave is lowest; `None` where
    /// that is noise.
    fn with_next_peak(&self, before: Option<&Parameters>) -> Option<Parameters> {
        let mut parameters = before.cloned().unwrap_or_default();
        let left: Vec<f64> = self
            .omegas
            .iter()
            .zip(&self.values)
            .map(|(w, g)| parameters.response(*w).im - g.im)
            .collect();
        let inner = 1..left.len().saturating_sub(1);
        let top = inner.max_by(|a, b| left[*a].total_cmp(&left[*b]))?;
        let height = left[top];
        if !(height > NOISE * self.highest) {
            return None;
        }
        // the imaginary part falls to half at ω(1 ± ζ)
        let low = (0..top).rev().find(|i| left[*i] < 0.5 * height).unwrap_or(0);
        let high = (top..left.len()).find(|i| left[*i] < 0.5 * height).unwrap_or(left.len() - 1);
        let omega = self.omegas[top];
        let damping = 0.5 * (self.omegas[high] - self.omegas[low]) / omega;
        let damping = damping.clamp(1e-4, 0.5);
        parameters.push(omega, damping, 2.0 * damping * height);
        Some(parameters)
    }
}
