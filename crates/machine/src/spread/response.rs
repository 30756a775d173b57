//! How a time answers to what is not known of the machine, from a few runs of the planner.
//!
//! Running the planner thousands of times is out of reach on a laptop and not needed: the logarithm
//! of a time is smooth in the logarithms of the limits. A parabola through the runs at the low end,
//! the middle and the high end of each quantity, added up, stands for the planner; one run with
//! everything at its slow end tells how far the sum is off, and that becomes part of the interval.

/// A quantity's answer: ln(time ÷ nominal time) at its low and high end.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Answer {
    /// At z = −[`END_Z`].
    pub low: f64,
    /// At z = +[`END_Z`].
    pub high: f64,
}

/// Ends of a stated interval in standard deviations: it is read as holding 90 %.
pub const END_Z: f64 = 1.644_853_627;

impl Answer {
    /// From the times of the runs at both ends and in the middle.
    pub fn from_times(low_s: f64, nominal_s: f64, high_s: f64) -> Self {
        let ln = |t: f64| if t > 0.0 && nominal_s > 0.0 { (t / nominal_s).ln() } else { 0.0 };
        Self { low: ln(low_s), high: ln(high_s) }
    }

    /// ln(time ÷ nominal time) at `z` standard deviations. Beyond the ends it goes on straight, so
    /// that a parabola never turns back.
    pub fn at(&self, z: f64) -> f64 {
        let x = z / END_Z;
        let slope = 0.5 * (self.high - self.low);
        let bend = 0.5 * (self.high + self.low);
        if x.abs() <= 1.0 {
            return slope * x + bend * x * x;
        }
        let end = if x > 0.0 { self.high } else { self.low };
        let steepness = slope + 2.0 * bend * x.signum();
        let kept = if steepness * slope > 0.0 { steepness } else { 0.0 };
        end + kept * (x - x.signum())
    }
}

/// Factor at `z` standard deviations of a quantity whose factor lies in `low ..= high` round 1.
pub fn factor_at(low: f64, high: f64, z: f64) -> f64 {
    let end = if z >= 0.0 { high } else { low };
    (end.max(f64::MIN_POSITIVE).ln() * z.abs() / END_Z).exp()
}

/// The weighted quantile of `values` at each of `shares`; weights need not add up to 1.
pub fn quantiles(values: &[f64], weights: &[f64], shares: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|a, b| values[*a].total_cmp(&values[*b]).then(a.cmp(b)));
    let total: f64 = order.iter().map(|i| weights[*i]).sum();
    shares
        .iter()
        .map(|share| {
            let mut below = 0.0;
            for i in &order {
                below += weights[*i];
                if below >= share * total {
                    return values[*i];
                }
            }
            order.last().map_or(f64::NAN, |i| values[*i])
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_power_law_is_met_exactly() {
        // time ~ limit^-0.4, limit known to 0.8 .. 1.25
        let time = |factor: f64| 100.0 * factor.powf(-0.4);
        let answer = Answer::from_times(time(0.8), time(1.0), time(1.25));
        for z in [-1.6, -0.7, 0.0, 0.3, 1.6] {
            let exact = (time(factor_at(0.8, 1.25, z)) / 100.0).ln();
            assert!((answer.at(z) - exact).abs() < 1e-12, "{z}");
        }
    }

    #[test]
    fn a_parabola_never_turns_back_beyond_its_ends() {
        let answer = Answer { low: 0.2, high: 0.01 };
        assert!(answer.at(3.0) <= answer.at(END_Z) + 1e-12);
        assert!(answer.at(-3.0) > answer.at(-END_Z));
    }

    #[test]
    fn weighted_quantiles_follow_the_weight() {
        let values = [3.0, 1.0, 2.0, 4.0];
        assert_eq!(quantiles(&values, &[1.0; 4], &[0.5, 1.0]), [2.0, 4.0]);
        assert_eq!(quantiles(&values, &[0.0, 0.0, 0.0, 1.0], &[0.05]), [4.0]);
    }
}
