//! Straight moves per second; grid points per second with and without jerk limits.

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use motion::path::{AxisLimits, PathGrid, plan, plan_without_jerk};
use motion::profile::{Move, MoveLimits};

fn main() {
    divan::main();
}

/// Moves of 0.1 to 100 mm, every other one between two speeds.
#[divan::bench]
fn straight_moves(bencher: Bencher<'_, '_>) {
    let limits = MoveLimits { speed: 500.0, acceleration: 4000.0, jerk: 60_000.0 };
    let moves: Vec<(f64, f64, f64)> = (0..1000)
        .map(|i| {
            let (d, v) = (0.1 * f64::from(i + 1), f64::from(i % 2) * f64::from(i % 30));
            (d + 5.0, v, 0.5 * v)
        })
        .collect();
    bencher.counter(ItemsCount::new(moves.len())).bench(|| {
        let time = |&(d, from, to): &(f64, f64, f64)| {
            Move::new(d, from, to, &limits).map_or(0.0, |m| m.time_s())
        };
        black_box(&moves).iter().map(time).sum::<f64>()
    });
}

/// A wavy path in five axes.
struct Wavy {
    s: Vec<f64>,
    first: Vec<f64>,
    second: Vec<f64>,
    feed: Vec<f64>,
    limits: [AxisLimits; 5],
}

impl Wavy {
    fn new(points: usize) -> Self {
        let linear = AxisLimits { speed: 500.0, acceleration: 4000.0, jerk: 60_000.0 };
        let rotary = AxisLimits { speed: 2.0, acceleration: 15.0, jerk: 300.0 };
        let mut wavy = Self {
            s: (0..points).map(|i| 0.2 * i as f64).collect(),
            first: Vec::new(),
            second: Vec::new(),
            feed: vec![130.0; points - 1],
            limits: [linear, linear, linear, rotary, rotary],
        };
        for &s in &wavy.s {
            for (size, w) in [(0.9, 0.03), (0.6, 0.11), (0.4, 0.27), (0.006, 0.05), (0.004, 0.13)] {
                wavy.first.push(size * f64::cos(w * s));
                wavy.second.push(-size * w * f64::sin(w * s));
            }
        }
        wavy
    }

    fn grid(&self) -> PathGrid<'_> {
        PathGrid {
            s: &self.s,
            first: &self.first,
            second: &self.second,
            feed_cap: &self.feed,
            feed_kind: &[],
            point_cap: &[],
            start_speed: 0.0,
            end_speed: 0.0,
        }
    }
}

#[divan::bench(args = [1_000, 30_000, 300_000])]
fn path_without_jerk(bencher: Bencher<'_, '_>, points: usize) {
    let wavy = Wavy::new(points);
    bencher
        .counter(ItemsCount::new(points))
        .bench(|| plan_without_jerk(&wavy.grid(), &wavy.limits).map(|p| p.total_s));
}

#[divan::bench(args = [1_000, 30_000], sample_count = 10)]
fn path_with_jerk(bencher: Bencher<'_, '_>, points: usize) {
    let wavy = Wavy::new(points);
    bencher
        .counter(ItemsCount::new(points))
        .bench(|| plan(&wavy.grid(), &wavy.limits).map(|p| p.total_s));
}
