//! Evaluation of exact surfaces: jets and closest points.

use divan::{Bencher, black_box, counter::ItemsCount};
use geom::surface::{Frame, Knots, NurbsSurface, Surface};
use geom::{Vec2, Vec3};

fn main() {
    divan::main();
}

const POINTS: usize = 4096;

/// A crowned bicubic of 20 × 16 poles over 160 × 110 mm.
fn crown(rational: bool) -> Surface {
    let uniform = |n: usize| {
        let inner = (1..n - 3).map(|i| i as f64);
        let knots = [0.0; 4].into_iter().chain(inner).chain([(n - 3) as f64; 4]).collect();
        Knots { degree: 3, knots, period: None }
    };
    let mut poles = Vec::new();
    for i in 0..20 {
        for j in 0..16 {
            let (x, y) = (-80.0 + 160.0 * i as f64 / 19.0, -55.0 + 110.0 * j as f64 / 15.0);
            poles.push(Vec3::new(x, y, 40.0 - x * x / 840.0 - y * y / 520.0));
        }
    }
    let weights: Vec<_> = (0..poles.len()).map(|i| 1.0 + 0.1 * (i % 3) as f64).collect();
    let surface =
        NurbsSurface::new(uniform(20), uniform(16), &poles, rational.then_some(&weights[..]));
    Surface::Nurbs(Box::new(surface.expect("a valid surface")))
}

fn places() -> Vec<Vec2> {
    let golden = 0.618_033_988_749_895;
    (0..POINTS)
        .map(|i| Vec2::new(17.0 * (i as f64 * golden).fract(), 13.0 * i as f64 / POINTS as f64))
        .collect()
}

fn jets(bencher: Bencher<'_, '_>, surface: &Surface) {
    let places = places();
    bencher.counter(ItemsCount::new(POINTS)).bench_local(|| {
        places.iter().map(|at| black_box(surface.jet(at.x, at.y)).duu.z).sum::<f64>()
    });
}

#[divan::bench]
fn jet_b_spline(bencher: Bencher<'_, '_>) {
    jets(bencher, &crown(false));
}

#[divan::bench]
fn jet_nurbs(bencher: Bencher<'_, '_>) {
    jets(bencher, &crown(true));
}

#[divan::bench]
fn jet_offset_of_nurbs(bencher: Bencher<'_, '_>) {
    jets(bencher, &Surface::offset(crown(true), 2.0));
}

#[divan::bench]
fn jet_torus(bencher: Bencher<'_, '_>) {
    jets(bencher, &Surface::torus(Frame::WORLD, 20.0, 6.0));
}

#[divan::bench]
fn curvature_b_spline(bencher: Bencher<'_, '_>) {
    let (surface, places) = (crown(false), places());
    bencher.counter(ItemsCount::new(POINTS)).bench_local(|| {
        places
            .iter()
            .filter_map(|at| surface.site(black_box(*at), false))
            .map(|s| s.curvature.entries.eigen().large)
            .sum::<f64>()
    });
}

#[divan::bench]
fn project_b_spline(bencher: Bencher<'_, '_>) {
    let surface = crown(false);
    let points: Vec<_> = places()
        .into_iter()
        .map(|at| (surface.point(at.x, at.y) + Vec3::Z * 0.01, at + Vec2::splat(0.02)))
        .collect();
    bencher.counter(ItemsCount::new(POINTS)).bench_local(|| {
        points.iter().filter_map(|(p, guess)| surface.project(black_box(*p), *guess)).count()
    });
}
