//! The depth that stays free of chatter at a stated probability, when modes and forces are not known
//! exactly.
//!
//! Lobes move with the natural frequency, so that the limit at one speed may be several times too deep
//! when the frequency is off by two per cent. Every uncertain value is multiplied by a log-normal
//! factor; the factors come from an additive recurrence (a low-discrepancy sequence, Roberts 2018, from
//! memory) and the transform of Box and Muller, and are the same in every run.

use crate::cut::Cut;
use crate::limit::{LimitError, Method, limits};
use crate::response::{Axis, Mode, Structure};
use rayon::prelude::*;
use std::f64::consts::TAU;
use units::{OutOfRange, RangeCheck};

/// How far each value scatters: standard deviation of the logarithm of its factor, which is the
/// relative standard deviation where it is small.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Scatter {
    /// Natural frequencies of an axis, together.
    pub frequency: f64,
    /// Damping ratios of an axis, together.
    pub damping: f64,
    /// Stiffnesses of an axis, together.
    pub stiffness: f64,
    /// Tangential coefficient.
    pub force: f64,
    /// Whether both axes take the same factors, as those of a round cutter in one holder do.
    pub axes_alike: bool,
}

/// Largest scatter that is taken.
const WIDEST: f64 = 1.0;
/// Largest damping ratio of a draw.
const MOST_DAMPING: f64 = 0.9;
/// Fewest and most draws.
const FEWEST: usize = 8;
const MOST: usize = 100_000;
/// Numbers for one draw: three for each axis, one for the force, and one to make pairs.
const DIMENSIONS: usize = 8;

/// A cut and structure as they may be: equally likely draws.
#[derive(Debug, Clone, PartialEq)]
pub struct Sampled {
    draws: Vec<(Structure, Cut)>,
}

impl Sampled {
    /// Draws around the best values.
    ///
    /// # Errors
    /// A scatter or the number of draws is out of range, or an axis is a measured response, whose
    /// modes cannot be moved.
    pub fn new(
        structure: &Structure,
        cut: &Cut,
        scatter: &Scatter,
        count: usize,
    ) -> Result<Self, LimitError> {
        (count as f64).within("number of draws", FEWEST as f64, MOST as f64)?;
        for (value, name) in [
            (scatter.frequency, "scatter of the frequency"),
            (scatter.damping, "scatter of the damping"),
            (scatter.stiffness, "scatter of the stiffness"),
            (scatter.force, "scatter of the force"),
        ] {
            value.within(name, 0.0, WIDEST)?;
        }
        for (axis, name) in structure.axes().into_iter().zip(["x", "y"]) {
            axis.modes().ok_or(LimitError::NeedsModes { axis: name })?;
        }
        let draw = |z: [f64; DIMENSIONS]| -> Result<(Structure, Cut), OutOfRange> {
            let factor = |spread: f64, z: f64| (spread * z).exp();
            let moved = |axis: &Axis, z: &[f64]| -> Result<Axis, OutOfRange> {
                let one = |mode: &Mode| {
                    let damping = mode.damping * factor(scatter.damping, z[1]);
                    Mode::new(
                        mode.frequency_hz * factor(scatter.frequency, z[0]),
                        damping.min(MOST_DAMPING.max(mode.damping)),
                        mode.stiffness_n_mm * factor(scatter.stiffness, z[2]),
                    )
                };
                let modes = axis.modes().unwrap_or_default().iter().map(one);
                Ok(Axis::Modes(modes.collect::<Result<_, _>>()?))
            };
            let of_y = if scatter.axes_alike { &z[0..3] } else { &z[3..6] };
            let structure =
                Structure { x: moved(&structure.x, &z[0..3])?, y: moved(&structure.y, of_y)? };
            let kt_n_mm2 = cut.kt_n_mm2 * factor(scatter.force, z[6]);
            Ok((structure, Cut { kt_n_mm2, ..*cut }))
        };
        let draws = (0..count).map(|i| draw(normal(i))).collect::<Result<_, _>>()?;
        Ok(Self { draws })
    }

    /// The depth at each speed that stays free of chatter with a probability; `None` where no depth up
    /// to `deepest_mm` chatters with more than the rest of it.
    ///
    /// # Errors
    /// As of [`limits`], and a probability that is not between 0 and 1.
    pub fn depths_mm(
        &self,
        speeds_rpm: &[f64],
        probability: f64,
        method: Method,
        deepest_mm: f64,
    ) -> Result<Vec<Option<f64>>, LimitError> {
        probability.within("probability", 0.0, 1.0)?;
        let one = |(structure, cut): &(Structure, Cut)| {
            limits(structure, cut, speeds_rpm, method, deepest_mm)
        };
        let found: Vec<_> = self.draws.par_iter().map(one).collect::<Result<_, _>>()?;
        let count = self.draws.len();
        let rank = (((1.0 - probability) * count as f64).floor() as usize).min(count - 1);
        let quantile = |speed: usize| {
            let depth = |of_draw: &Vec<Option<crate::Limit>>| {
                of_draw[speed].map_or(f64::INFINITY, |l| l.depth_mm)
            };
            let mut depths: Vec<f64> = found.iter().map(depth).collect();
            depths.sort_by(f64::total_cmp);
            Some(depths[rank]).filter(|d| d.is_finite())
        };
        Ok((0..speeds_rpm.len()).map(quantile).collect())
    }
}

/// Standard normal numbers of one draw.
fn normal(index: usize) -> [f64; DIMENSIONS] {
    // the positive root of x^(d+1) = x + 1
    let root = (0..64).fold(2.0_f64, |x, _| (x + 1.0).powf(1.0 / (DIMENSIONS as f64 + 1.0)));
    let uniform = |dimension: usize| {
        let step = root.powi(-(dimension as i32 + 1));
        (0.5 + step * (index as f64 + 1.0)).fract().max(1e-12)
    };
    let mut out = [0.0; DIMENSIONS];
    for pair in 0..DIMENSIONS / 2 {
        let size = (-2.0 * uniform(2 * pair).ln()).sqrt();
        let (sin, cos) = (TAU * uniform(2 * pair + 1)).sin_cos();
        (out[2 * pair], out[2 * pair + 1]) = (size * cos, size * sin);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn draws_have_mean_0_and_deviation_1_and_no_two_go_together() {
        let count = 4096;
        let draws: Vec<_> = (0..count).map(normal).collect();
        let mean =
            |f: &dyn Fn(&[f64; DIMENSIONS]) -> f64| draws.iter().map(f).sum::<f64>() / count as f64;
        for i in 0..DIMENSIONS {
            assert!(mean(&|z| z[i]).abs() < 0.01, "{i}");
            assert!((mean(&|z| z[i] * z[i]) - 1.0).abs() < 0.02, "{i}");
            for j in 0..i {
                assert!(mean(&|z| z[i] * z[j]).abs() < 0.02, "{i} {j}");
            }
        }
    }
}
