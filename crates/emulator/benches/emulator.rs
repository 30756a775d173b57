//! Ten minutes of motion in every family, and 50 000 short blocks.

use divan::{Bencher, black_box};
use emulator::programs::Program;
use emulator::zoo::{Chassis, Kind};
use emulator::{run, zoo};

fn main() {
    divan::main();
}

fn bench(bencher: Bencher<'_, '_>, kind: Kind, program: Program, seed: u64, seconds: f64) {
    let Ok(specimen) = zoo(kind, Chassis::Table, seed) else { return };
    let track = program.track(seed, seconds);
    bencher.bench_local(|| run(black_box(&specimen.hidden), black_box(&track)));
}

#[divan::bench(args = Kind::ALL, sample_count = 5, sample_size = 1)]
fn ten_minutes_of_raster(bencher: Bencher<'_, '_>, kind: Kind) {
    bench(bencher, kind, Program::Raster, 1, 500.0);
}

#[divan::bench(args = Kind::ALL, sample_count = 5, sample_size = 1)]
fn ten_minutes_on_five_axes(bencher: Bencher<'_, '_>, kind: Kind) {
    bench(bencher, kind, Program::TiltedRaster, 1, 400.0);
}

#[divan::bench(args = Kind::ALL, sample_count = 5, sample_size = 1)]
fn fifty_thousand_short_blocks(bencher: Bencher<'_, '_>, kind: Kind) {
    bench(bencher, kind, Program::ShortBlocks, 3, 20.0);
}
