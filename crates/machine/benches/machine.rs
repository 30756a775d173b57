//! Poses per second through the kinematics, segments per second through the time account.

#[path = "../tests/shop/mod.rs"]
mod shop;

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use machine::track::{Feed, Frame, Move, Place, Shape, Track};
use machine::{
    AccountOptions, ControlSpec, Kinematics, Machine, MachineSpec, Mounting, Scenario, Timer,
    TrackOptions, TrackTimer,
};

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

/// Blocks of a programmed raster of `passes` passes with 400 short moves each.
fn programmed(passes: usize) -> Track {
    let path = shop::paths::raster(passes, MOVES, 0.0, 100.0);
    let mut moves = Vec::new();
    for (block, pose) in path.runs.iter().flat_map(|r| r.poses.iter().skip(1)).enumerate() {
        moves.push(Move {
            to: Place { linear: pose.tip, rotary: [0.0; 2] },
            shape: Shape::Line,
            feed: Feed::Speed(100.0),
            frame: Frame::Axes,
            stop: false,
            block: block as u32,
            tool: 1,
        });
    }
    Track { start: moves[0].to, moves, waits: Vec::new() }
}

/// A million blocks put on the machine, planned and attributed.
#[divan::bench(args = ["blend", "arc", "speed-step"], sample_count = 2, sample_size = 1)]
fn million_blocks(bencher: Bencher<'_, '_>, corner: &str) {
    let control = ControlSpec { corner: Some(corner.into()), ..ControlSpec::default() };
    let machine = Machine::new(&MachineSpec { control, ..shop::spec("XYZ") }).expect("sound");
    let track = programmed(2500);
    bencher.counter(ItemsCount::new(track.moves.len())).bench_local(|| {
        let options = TrackOptions { worth_of: 0, ..TrackOptions::default() };
        TrackTimer::new(black_box(&track), &machine, &options).expect("drivable").account().ok()
    });
}
