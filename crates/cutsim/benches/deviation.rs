//! Deviation samples per second: ball and barrel raster, beside a nearest-neighbour tree of ball
//! centres at the spacing that keeps 0.1 µm.

#[path = "../tests/support/mod.rs"]
mod support;

use cutsim::{Ray, Reach, Swept, Which, sweep};
use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use kiddo::{ImmutableKdTree, SquaredEuclidean};
use support::{Quadric, Raster, Tool};

const HALF: f64 = 25.0;
/// Straight moves of this length leave a curve of radius 500 mm by 0.1 µm.
const CHORD: f64 = 0.6;
const REACH: Reach = Reach { lo_mm: -1.0, hi_mm: 0.2 };

fn main() {
    divan::main();
}

fn crown() -> Quadric {
    Quadric { kx: -1.0 / 500.0, ky: -1.0 / 700.0 }
}

/// Rays on a lattice, along a space-filling curve in blocks of 8 × 8.
fn rays(spacing: f64) -> Vec<Ray> {
    let n = (2.0 * (HALF - 1.0) / spacing / 8.0) as usize;
    let bit = |i: usize, k: usize| i >> k & 1;
    let mut out = Vec::with_capacity(n * n * 64);
    for block in 0..n * n {
        let (bx, by) = (block % n * 8, block / n * 8);
        for i in 0..64 {
            let x = bit(i, 0) | bit(i, 2) << 1 | bit(i, 4) << 2;
            let y = bit(i, 1) | bit(i, 3) << 1 | bit(i, 5) << 2;
            let at = |k: usize| -HALF + 1.0 + k as f64 * spacing;
            out.push(crown().ray(at(bx + x), at(by + y)));
        }
    }
    out
}

fn ball() -> (Swept, Vec<Ray>) {
    let tool = Tool::ball(6.0, 15f64.to_radians());
    let raster = Raster { half: HALF, angle: 0.0, step: 0.2, chord_length: CHORD, lean: 0.0 };
    let path = raster.path(crown(), &tool);
    (Swept::new(tool.body.clone(), sweep::moves(&path, Which::AtFeed)), rays(0.05))
}

fn barrel() -> (Swept, Vec<Ray>) {
    let tool = Tool::barrel(10.0, 250.0, 1.5, 84f64.to_radians());
    let raster = Raster { half: HALF, angle: 0.0, step: 2.5, chord_length: CHORD, lean: 0.0 };
    let path = raster.path(crown(), &tool);
    (Swept::new(tool.body.clone(), sweep::moves(&path, Which::AtFeed)), rays(0.05))
}

fn run(bencher: Bencher<'_, '_>, threads: usize, set: (Swept, Vec<Ray>)) {
    let (swept, rays) = set;
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("a pool");
    bencher
        .counter(ItemsCount::new(rays.len()))
        .bench_local(|| pool.install(|| black_box(swept.cuts(&rays, REACH))));
}

#[divan::bench(args = [1, 2], sample_count = 5, sample_size = 1)]
fn ball_raster(bencher: Bencher<'_, '_>, threads: usize) {
    run(bencher, threads, ball());
}

#[divan::bench(args = [1, 2], sample_count = 5, sample_size = 1)]
fn barrel_raster(bencher: Bencher<'_, '_>, threads: usize) {
    run(bencher, threads, barrel());
}

/// The nearest ball centre to the point one radius up the normal, then the ray against that one
/// ball: right for a ball alone, and only where the nearest centre is the one that cuts first.
#[divan::bench(sample_count = 5, sample_size = 1)]
fn ball_raster_by_nearest_centre(bencher: Bencher<'_, '_>) {
    let tool = Tool::ball(6.0, 15f64.to_radians());
    // f ≤ √(8 ε R) keeps the false ridge between standing balls below ε = 0.1 µm
    let chord_length = (8.0 * 1e-4 * 6.0_f64).sqrt();
    let raster = Raster { half: HALF, angle: 0.0, step: 0.2, chord_length, lean: 0.0 };
    let path = raster.path(crown(), &tool);
    let centres: Vec<[f64; 3]> = path
        .runs
        .iter()
        .flat_map(|r| &r.poses)
        .map(|p| (p.tip + p.axis * 6.0).to_array())
        .collect();
    let tree = ImmutableKdTree::new_from_slice(&centres).expect("a tree");
    let rays = rays(0.05);
    bencher.counter(ItemsCount::new(rays.len())).bench_local(|| {
        let depth = |r: &Ray| {
            let over = r.point + r.normal * 6.0;
            let found =
                tree.query(&over.to_array()).nearest_one::<SquaredEuclidean<f64>>().execute();
            let w = r.point - geom::Vec3::from_array(centres[found.item as usize]);
            let up = w.dot(r.normal);
            -up - (36.0 - (w.length_squared() - up * up)).sqrt()
        };
        black_box(rays.iter().map(depth).collect::<Vec<f64>>())
    });
}
