//! Bytes per second of reading alone.

#[path = "../tests/shop/mod.rs"]
mod shop;

use divan::counter::{BytesCount, ItemsCount};
use divan::{Bencher, black_box};
use nc::{Dialect, ReadOptions};
use std::fmt::Write as _;

fn main() {
    divan::main();
}

/// A raster of `blocks` short blocks as postprocessors write them.
fn raster(blocks: usize) -> String {
    let mut text =
        String::from("%\nO1\nG21 G90 G17\nT1 M6\nS12000 M3\nG0 X0. Y0. Z10.\nG1 Z0. F3000.\n");
    for i in 0..blocks {
        let (x, row) = ((i % 500) as f64 * 0.317, i / 500);
        let x = if row % 2 == 0 { x } else { 158.183 - x };
        let z = (x * 0.05).sin() * 4.0;
        // writing to a string cannot fail
        let _ = if i % 500 == 0 {
            writeln!(text, "N{} G1 X{x:.3} Y{:.3} Z{z:.3} F3000.", i + 10, row as f64 * 0.05)
        } else {
            writeln!(text, "N{} X{x:.3} Z{z:.3}", i + 10)
        };
    }
    text + "M30\n%\n"
}

fn arcs(blocks: usize) -> String {
    let mut text = String::from("G21 G90 G17\nT1 M6\nS12000 M3\nG0 X0. Y0. Z0.\nG1 F3000. X0.1\n");
    for i in 0..blocks {
        let _ = if i % 2 == 0 {
            writeln!(text, "G2 X{:.3} Y0. I1.5 J0.", i as f64 * 3.0 + 3.1)
        } else {
            writeln!(text, "G3 X{:.3} Y0. I1.5 J0.", i as f64 * 3.0 + 3.1)
        };
    }
    text + "M30\n"
}

fn measure(bencher: Bencher<'_, '_>, text: &str, blocks: usize) {
    let machine = shop::machine("XYZ");
    let (dialect, options) = (Dialect::a(), ReadOptions::default());
    bencher.counter(BytesCount::new(text.len())).counter(ItemsCount::new(blocks)).bench_local(
        || {
            let program = nc::read(black_box(text.as_bytes()), &dialect, &machine, &options);
            assert!(program.is_ok_and(|p| p.track.moves.len() >= blocks - 500));
        },
    );
}

#[divan::bench(args = [100_000, 2_000_000], sample_count = 5, sample_size = 1)]
fn short_blocks(bencher: Bencher<'_, '_>, blocks: usize) {
    measure(bencher, &raster(blocks), blocks);
}

/// A million blocks read, planned, attributed, with worths, interval, stretches and pictures.
#[divan::bench(sample_count = 2, sample_size = 1)]
fn audited(bencher: Bencher<'_, '_>) {
    let text = raster(1_000_000);
    let machine = shop::machine("XYZ");
    let (dialect, options) = (Dialect::a(), ReadOptions::default());
    bencher.counter(ItemsCount::new(1_000_000u32)).bench_local(|| {
        let program = nc::read(black_box(text.as_bytes()), &dialect, &machine, &options);
        let program = program.expect("a sound program");
        nc::audit(&program, &machine, &nc::AuditOptions::default()).expect("drivable")
    });
}

#[divan::bench(args = [100_000], sample_count = 5, sample_size = 1)]
fn half_circles(bencher: Bencher<'_, '_>, blocks: usize) {
    measure(bencher, &arcs(blocks), blocks);
}
