//! Forty candidates, twenty pockets, twenty-four places.

use selection::{Pocket, Problem, best_sets};

fn main() {
    divan::main();
}

/// Numbers in 0..1 from a fixed seed (a linear congruential generator).
fn noise(seed: &mut u64) -> f64 {
    *seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
    (*seed >> 11) as f64 / (1u64 << 53) as f64
}

/// Cutters of 25 down to 1.5 mm in pockets of every size: the area that a disk misses grows with
/// the square of its diameter, the rate falls with it.
fn shop(mut seed: u64) -> Problem {
    let d: Vec<f64> = (0..40).map(|i| 25.0 - 23.5 * f64::from(i) / 39.0).collect();
    let rate: Vec<f64> = d.iter().map(|d| d.powf(1.7) * (0.7 + 0.6 * noise(&mut seed))).collect();
    let pockets = (0..20).map(|_| {
        let volume = 2000.0 + 50_000.0 * noise(&mut seed);
        let width = 4.0 + 40.0 * noise(&mut seed);
        let corner = 1.8 + 0.5 * width * noise(&mut seed);
        let left = |d: f64| volume * (d / width).powi(2).min(1.0) * 0.4;
        let fits = |c: usize| d[c] < width;
        let first = (0..40).map(|c| if fits(c) { volume / rate[c] } else { f64::INFINITY });
        let after = (0..40).map(|a| {
            let stage = |c: usize| match a < c && fits(a) && fits(c) {
                true => (left(d[a]) - left(d[c])).max(0.0) / rate[c],
                false => f64::INFINITY,
            };
            (0..40).map(stage).collect()
        });
        let finishes = d.iter().map(|d| d / 2.0 <= 0.9 * corner).collect();
        Pocket { first: first.collect(), after: after.collect(), finishes }
    });
    Problem { pockets: pockets.collect(), fixed: vec![6.0; 40], places: 24 }
}

#[divan::bench(args = [1, 2, 3, 4], sample_count = 3)]
fn forty_candidates_twenty_pockets(seed: u64) -> usize {
    best_sets(&shop(seed), 4).len()
}
