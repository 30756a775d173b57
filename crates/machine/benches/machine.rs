//! Poses per second through the kinematics, segments per second through the time account.

#[path = "../tests/shop/mod.rs"]
mod shop;

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use machine::{AccountOptions, Kinematics, Mounting, Scenario, Timer};

fn main() {
    divan::main();
}

#[divan::bench(args = ["XYZ-AC", "XYZ+AC", "XYZ-C+B"])]
fn inverse(bencher: Bencher<'_, '_>, layout: &str) {
    let kinematics = Kinematics::new(&shop::machine(layout), &Mounting::default());
    let path = shop::paths::raster(1, 1000, 0.3, 100.0);
    bencher.counter(ItemsCount::new(1001u32)).bench_local(|| {
        for pose in &path.runs[0].poses {
            black_box(kinematics.inverse(pose, [0.0; 2]).ok());
        }
    });
}

const PASSES: usize = 250;
const MOVES: usize = 400;

fn options(jerk: bool) -> AccountOptions {
    AccountOptions { jerk, worth_of: 0, ..AccountOptions::default() }
}

#[divan::bench(args = [false, true], sample_count = 3, sample_size = 1)]
fn account(bencher: Bencher<'_, '_>, jerk: bool) {
    let machine = shop::machine("XYZ-AC");
    let path = shop::paths::raster(PASSES, MOVES, 0.3, 100.0);
    bencher
        .counter(ItemsCount::new(path.moves()))
        .bench_local(|| machine::account(black_box(&path), &machine, &options(jerk)).ok());
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn route(bencher: Bencher<'_, '_>) {
    let machine = shop::machine("XYZ-AC");
    let path = shop::paths::raster(PASSES, MOVES, 0.3, 100.0);
    bencher.counter(ItemsCount::new(path.moves())).bench_local(|| {
        machine::Route::new(black_box(&path), &machine, &options(true).route, 0.01).ok()
    });
}

#[divan::bench(args = [false, true], sample_count = 3, sample_size = 1)]
fn replan(bencher: Bencher<'_, '_>, jerk: bool) {
    let machine = shop::machine("XYZ-AC");
    let path = shop::paths::raster(PASSES, MOVES, 0.3, 100.0);
    let timer = Timer::new(&path, &machine, &options(jerk)).expect("the raster can be routed");
    let scenario = Scenario { accel: 0.9, ..Scenario::default() };
    bencher
        .counter(ItemsCount::new(path.moves()))
        .bench_local(|| timer.times(black_box(&scenario)).ok());
}
