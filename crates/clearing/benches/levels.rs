//! Levels cleared per second.
#![allow(missing_docs, reason = "a benchmark")]

#[path = "../tests/support/mod.rs"]
mod support;

use clearing::{Method, clear};
use divan::Bencher;

fn main() {
    divan::main();
}

#[divan::bench(args = ["rectangle", "round island", "two chambers", "three islands"], sample_count = 5)]
fn constant_engagement(bencher: Bencher<'_, '_>, name: &str) {
    measure(bencher, name, Method::ConstantEngagement, false);
}

#[divan::bench(args = ["rectangle", "three islands"], sample_count = 5)]
fn both_ways(bencher: Bencher<'_, '_>, name: &str) {
    measure(bencher, name, Method::ConstantEngagement, true);
}

#[divan::bench(args = ["rectangle", "three islands"], sample_count = 5)]
fn contour_parallel(bencher: Bencher<'_, '_>, name: &str) {
    measure(bencher, name, Method::ContourParallel, false);
}

fn measure(bencher: Bencher<'_, '_>, name: &str, method: Method, both_ways: bool) {
    let scenes = support::scenes::all();
    let scene = scenes.iter().find(|s| s.name == name).expect("a scene of that name");
    let job = clearing::Job { both_ways, ..support::scenes::job(scene, 45.0, method) };
    let shares = clear(&job).expect("a clearing").shares;
    println!(
        "{name}: air {:.2} of the cutting, largest arc {:.1}°",
        shares.air_mm / shares.cutting_mm,
        shares.peak_rad.to_degrees()
    );
    bencher.bench_local(|| clear(&job));
}
