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
    measure(bencher, name, Method::ConstantEngagement);
}

#[divan::bench(args = ["rectangle", "three islands"], sample_count = 5)]
fn contour_parallel(bencher: Bencher<'_, '_>, name: &str) {
    measure(bencher, name, Method::ContourParallel);
}

fn measure(bencher: Bencher<'_, '_>, name: &str, method: Method) {
    let scenes = support::scenes::all();
    let scene = scenes.iter().find(|s| s.name == name).expect("a scene of that name");
    bencher.bench_local(|| clear(&support::scenes::job(scene, 45.0, method)));
}
