//! Positions per second of a stock's update at 0.05 mm, beside grey erosion of an image.

use cutter::{Cutter, CutterSpec, Form};
use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use geom::Vec3;
use stock::{Columns, Direction, Grid};

fn main() {
    divan::main();
}

fn stock() -> Columns {
    let hi = Vec3::new(100.0, 100.0, 20.0);
    Columns::block(Grid::over((Vec3::ZERO, hi), 0.05, Direction::Z).expect("a grid"))
}

/// Rows 1 mm apart, positions 0.1 mm apart.
fn raster() -> Vec<Vec3> {
    let mut out = Vec::new();
    for row in 0..80 {
        for i in 0..=800 {
            let i = if row % 2 == 0 { i } else { 800 - i };
            out.push(Vec3::new(10.0 + 0.1 * i as f64, 10.0 + row as f64, 5.0));
        }
    }
    out
}

/// A spiral of positions 0.1 mm apart, 1 mm from turn to turn: no two moves in line.
fn spiral() -> Vec<Vec3> {
    let mut angle: f64 = 0.0;
    let mut out = Vec::new();
    while angle < 40.0 * std::f64::consts::TAU {
        let r = 0.5 + angle / std::f64::consts::TAU;
        out.push(Vec3::new(50.0 + r * angle.cos(), 50.0 + r * angle.sin(), 5.0));
        angle += 0.1 / r;
    }
    out
}

fn run(bencher: Bencher<'_, '_>, threads: usize, form: Form, path: Vec<Vec3>) {
    let mut spec = CutterSpec::new(form, 10.0);
    spec.flute_length_mm = Some(30.0);
    let cutter = Cutter::new(&spec).expect("a cutter");
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("a pool");
    bencher.counter(ItemsCount::new(path.len())).with_inputs(stock).bench_local_values(|mut s| {
        pool.install(|| s.cut_upright(cutter.profile(), &path).expect("finite"));
        black_box(s)
    });
}

#[divan::bench(args = [1, 2], sample_count = 5, sample_size = 1)]
fn flat_raster(bencher: Bencher<'_, '_>, threads: usize) {
    run(bencher, threads, Form::Flat, raster());
}

#[divan::bench(args = [1, 2], sample_count = 5, sample_size = 1)]
fn ball_raster(bencher: Bencher<'_, '_>, threads: usize) {
    run(bencher, threads, Form::Ball, raster());
}

#[divan::bench(args = [1, 2], sample_count = 5, sample_size = 1)]
fn flat_spiral(bencher: Bencher<'_, '_>, threads: usize) {
    run(bencher, threads, Form::Flat, spiral());
}

#[divan::bench(args = [1, 2], sample_count = 5, sample_size = 1)]
fn ball_spiral(bencher: Bencher<'_, '_>, threads: usize) {
    run(bencher, threads, Form::Ball, spiral());
}

/// Every pixel of a grey image as a position of a flat cutter of the same size: an erosion by a
/// disc of radius 100 pixels (its own use of threads).
#[divan::bench(sample_count = 3, sample_size = 1)]
fn grey_erosion_of_an_image(bencher: Bencher<'_, '_>) {
    let image = image::GrayImage::from_fn(200, 200, |x, y| image::Luma([(x * 7 + y * 13) as u8]));
    let mask = imageproc::morphology::Mask::disk(100);
    bencher
        .counter(ItemsCount::new(200usize * 200))
        .bench_local(|| black_box(imageproc::morphology::grayscale_erode(&image, &mask)));
}
