//! What a clock at the machine says about the draws: those that agree with it count for more.

use crate::response::quantiles;

/// Repeatability of a cycle and of reading its clock, one standard deviation of the logarithm:
/// common practice, no source.
const CLOCK_LN_SD: f64 = 0.01;
/// Fewer draws than this that count are too few to speak.
const FEWEST: f64 = 24.0;

/// A measured time beside its times in the draws.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Measured {
    /// What the clock says, s.
    pub(crate) clock_s: f64,
    /// What the model says in each draw, s.
    pub(crate) times_s: Vec<f64>,
}

/// Weights of the draws, and what must be told.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Weights {
    /// One for each draw.
    pub(crate) of_draw: Vec<f64>,
    /// Factor on all times where no draw agrees with the clock; 1 otherwise.
    pub(crate) correction: f64,
    /// Set where the correction is not 1: what the model says over what the clock says.
    pub(crate) disagreement: Option<f64>,
}

/// Weights from all measured times; even ones without any.
pub(crate) fn from_clock(measured: &[Measured], draws: usize) -> Weights {
    let weigh = |correction: f64| -> Vec<f64> {
        (0..draws)
            .map(|i| {
                let off = measured.iter().map(|m| (m.times_s[i] * correction / m.clock_s).ln());
                let sum: f64 = off.map(|d| (d / CLOCK_LN_SD).powi(2)).sum();
                (-0.5 * sum).exp()
            })
            .collect()
    };
    let plain = weigh(1.0);
    if measured.is_empty() || effective(&plain) >= FEWEST {
        return Weights { of_draw: plain, correction: 1.0, disagreement: None };
    }
    let median = |m: &Measured| quantiles(&m.times_s, &vec![1.0; draws], &[0.5])[0];
    let ratios = measured.iter().map(|m| (m.clock_s / median(m)).ln());
    let correction = (ratios.sum::<f64>() / measured.len() as f64).exp();
    let corrected = weigh(correction);
    let enough = effective(&corrected) >= FEWEST;
    Weights {
        of_draw: if enough { corrected } else { vec![1.0; draws] },
        correction,
        disagreement: Some(1.0 / correction),
    }
}

/// Number of even draws that carry as much (Kish 1965).
fn effective(weights: &[f64]) -> f64 {
    let (sum, squares) = weights.iter().fold((0.0, 0.0), |(s, q), w| (s + w, q + w * w));
    if squares > 0.0 { sum * sum / squares } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spread_times(count: usize) -> Vec<f64> {
        (0..count).map(|i| 90.0 + 30.0 * i as f64 / count as f64).collect()
    }

    #[test]
    fn without_a_clock_all_draws_count_alike() {
        assert_eq!(from_clock(&[], 5).of_draw, vec![1.0; 5]);
    }

    #[test]
    fn a_clock_inside_the_spread_narrows_it() {
        let times_s = spread_times(2000);
        let w = from_clock(&[Measured { clock_s: 100.0, times_s: times_s.clone() }], 2000);
        assert_eq!(w.correction, 1.0);
        let q = quantiles(&times_s, &w.of_draw, &[0.05, 0.5, 0.95]);
        assert!(q[0] > 97.0 && q[2] < 103.0 && (q[1] - 100.0).abs() < 0.5, "{q:?}");
    }

    #[test]
    fn a_clock_outside_the_spread_is_told_and_scales_the_model() {
        let times_s = spread_times(2000);
        let w = from_clock(&[Measured { clock_s: 200.0, times_s }], 2000);
        assert!((w.correction - 200.0 / 105.0).abs() < 0.02);
        assert!(w.disagreement.is_some());
    }
}
