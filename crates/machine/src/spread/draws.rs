//! Deterministic draws of standard normal numbers, shared by all processes of a study.
//!
//! A Latin hypercube: every dimension is cut into as many equally likely strata as there are draws
//! and each stratum is used once, in an order shuffled by a counter-based generator. The same seed
//! gives the same draws whatever the number of threads, and a dimension keeps its values when others
//! are added, so that both sides of a difference see the same machine.

/// A table of draws: one row for each draw, one column for each uncertain quantity.
#[derive(Debug, Clone, PartialEq)]
pub struct Draws {
    columns: Vec<Vec<f64>>,
}

impl Draws {
    /// `count` draws in `dimensions` dimensions.
    pub fn new(count: usize, dimensions: usize) -> Self {
        Self { columns: (0..dimensions).map(|d| column(count, d as u64)).collect() }
    }

    /// All draws of one quantity, standard normal.
    pub fn of(&self, dimension: usize) -> &[f64] {
        &self.columns[dimension]
    }
}

fn column(count: usize, dimension: u64) -> Vec<f64> {
    let mut order: Vec<usize> = (0..count).collect();
    let mut state = 0x5eed_0000_u64.wrapping_add(dimension.wrapping_mul(0x9e37_79b9_7f4a_7c15));
    for i in (1..count).rev() {
        let other = (next(&mut state) % (i as u64 + 1)) as usize;
        order.swap(i, other);
    }
    order
        .into_iter()
        .map(|stratum| normal_quantile((stratum as f64 + 0.5) / count as f64))
        .collect()
}

/// SplitMix64 (Steele, Lea, Flood 2014).
fn next(state: &mut u64) -> u64 {
    *state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

/// Quantile of the standard normal distribution, `p` strictly between 0 and 1, to about 1e-9
/// relative: the start of Abramowitz and Stegun 26.2.23 with three Halley steps on the tail.
pub fn normal_quantile(p: f64) -> f64 {
    let tail = p.min(1.0 - p);
    let t = (-2.0 * tail.ln()).sqrt();
    // error of this start: below 4.5e-4
    let start = t
        - (2.515_517 + t * (0.802_853 + t * 0.010_328))
            / (1.0 + t * (1.432_788 + t * (0.189_269 + t * 0.001_308)));
    let mut z = start;
    for _ in 0..3 {
        let error = upper_tail(z) - tail;
        let density = (-0.5 * z * z).exp() / (2.0 * std::f64::consts::PI).sqrt();
        let step = error / density;
        z += step / (1.0 + 0.5 * z * step);
    }
    if p < 0.5 { -z } else { z }
}

/// Probability that a standard normal number exceeds `z >= 0`: the series near zero, the continued
/// fraction beyond (Abramowitz and Stegun 26.2.10 and 26.2.14).
fn upper_tail(z: f64) -> f64 {
    let density = (-0.5 * z * z).exp() / (2.0 * std::f64::consts::PI).sqrt();
    if z < 2.5 {
        let (mut term, mut sum, mut k) = (z, z, 1.0);
        while term.abs() > 1e-17 * sum.abs() && k < 200.0 {
            term *= z * z / (2.0 * k + 1.0);
            sum += term;
            k += 1.0;
        }
        return 0.5 - density * sum;
    }
    let fraction = (1..=120).rev().fold(0.0, |acc, k| f64::from(k) / (z + acc));
    density / (z + fraction)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_of_the_normal_table() {
        // from tables of the normal distribution
        for (p, z) in [(0.95, 1.644_853_627), (0.975, 1.959_963_985), (0.999, 3.090_232_306)] {
            assert!((normal_quantile(p) - z).abs() < 1e-8, "{p}");
            assert!((normal_quantile(1.0 - p) + z).abs() < 1e-8, "{p}");
        }
        assert!(normal_quantile(0.5).abs() < 1e-12);
    }

    #[test]
    fn every_stratum_is_used_once_and_columns_do_not_follow_each_other() {
        let draws = Draws::new(512, 3);
        let mean = |v: &[f64]| v.iter().sum::<f64>() / v.len() as f64;
        let (a, b) = (draws.of(0), draws.of(2));
        assert!(mean(a).abs() < 1e-10);
        let variance = mean(&a.iter().map(|x| x * x).collect::<Vec<_>>());
        assert!((variance - 1.0).abs() < 0.01, "{variance}");
        let covariance = mean(&a.iter().zip(b).map(|(x, y)| x * y).collect::<Vec<_>>());
        assert!(covariance.abs() < 0.1, "{covariance}");
    }

    #[test]
    fn a_column_keeps_its_values_when_others_are_added() {
        assert_eq!(Draws::new(64, 2).of(1), Draws::new(64, 5).of(1));
    }
}
