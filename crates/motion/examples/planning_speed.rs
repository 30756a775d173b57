//! Plans a long path and prints the grid points per second, with and without jerk limits.
//!
//! `planning_speed PATH.bin` reads little-endian f64: points, axes, then s, q', q'' (point by
//! point) and speed, acceleration and jerk per axis; without a file a finishing raster is planned.

use std::time::Instant;

use motion::path::{AxisLimits, PathGrid, plan, plan_without_jerk};

struct Path {
    s: Vec<f64>,
    first: Vec<f64>,
    second: Vec<f64>,
    limits: Vec<AxisLimits>,
    feed: Vec<f64>,
}

/// Passes of 150 mm on a crown of radius 400 mm with half circles between, five axes.
fn raster(passes: usize) -> Path {
    let mut path =
        Path { s: vec![], first: vec![], second: vec![], limits: limits(), feed: vec![] };
    let (length, turn, radius) = (150.0, 2.0, 400.0);
    let arc = std::f64::consts::PI * turn;
    let mut start = 0.0;
    for pass in 0..passes {
        let sense = if pass % 2 == 0 { 1.0 } else { -1.0 };
        let steps = 150;
        for i in 0..steps {
            let along = length * i as f64 / steps as f64;
            let angle: f64 = (along - 75.0) / radius;
            let (sin, cos) = angle.sin_cos();
            path.s.push(start + along);
            path.first.extend([sense * cos, 0.0, -sense * sin, 1.0 / radius, 0.1 * cos / radius]);
            path.second.extend([
                -sense * sin / radius,
                0.0,
                -sense * cos / radius,
                0.0,
                -0.1 * sin / radius / radius,
            ]);
        }
        start += length;
        // a turn whose curvature swells and fades as sin²
        let steps = 400;
        for i in 0..steps {
            let t = i as f64 / steps as f64;
            let tau = std::f64::consts::TAU;
            let angle = std::f64::consts::PI * (t - (tau * t).sin() / tau);
            let bend = std::f64::consts::PI / arc * (1.0 - (tau * t).cos());
            let (sin, cos) = angle.sin_cos();
            path.s.push(start + arc * t);
            path.first.extend([sense * cos, sin, 0.0, 0.0, 0.0]);
            path.second.extend([-sense * sin * bend, cos * bend, 0.0, 0.0, 0.0]);
        }
        start += arc;
    }
    path.feed = vec![8000.0 / 60.0; path.s.len() - 1];
    path
}

fn limits() -> Vec<AxisLimits> {
    let linear = AxisLimits { speed: 500.0, acceleration: 4000.0, jerk: 60_000.0 };
    let rotary = AxisLimits { speed: 2.0, acceleration: 15.0, jerk: 300.0 };
    vec![linear, linear, linear, rotary, rotary]
}

fn read(name: &str) -> std::io::Result<Path> {
    let bytes = std::fs::read(name)?;
    let mut values =
        bytes.chunks_exact(8).map(|b| f64::from_le_bytes(b.try_into().unwrap_or([0; 8])));
    let mut take = |n: usize| values.by_ref().take(n).collect::<Vec<f64>>();
    let head = take(2);
    let (n, m) = (head[0] as usize, head[1] as usize);
    let (s, first, second) = (take(n), take(n * m), take(n * m));
    let limits = take(3 * m)
        .chunks(3)
        .map(|l| AxisLimits { speed: l[0], acceleration: l[1], jerk: l[2] })
        .collect();
    Ok(Path { s, first, second, limits, feed: vec![] })
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let path = match std::env::args().nth(1) {
        Some(name) if name.parse::<usize>().is_err() => read(&name)?,
        Some(passes) => raster(passes.parse()?),
        None => raster(500),
    };
    let grid = PathGrid {
        s: &path.s,
        first: &path.first,
        second: &path.second,
        feed_cap: &path.feed,
        feed_kind: &[],
        point_cap: &[],
        start_speed: 0.0,
        end_speed: 0.0,
    };
    for (name, jerk) in [("without_jerk", false), ("with_jerk", true)] {
        let begin = Instant::now();
        let plan =
            if jerk { plan(&grid, &path.limits)? } else { plan_without_jerk(&grid, &path.limits)? };
        let took = begin.elapsed().as_secs_f64();
        let points = path.s.len();
        println!(
            "{name} points {points} total_s {:.9} took_s {took:.6} points_per_s {:.0}",
            plan.total_s,
            points as f64 / took
        );
    }
    Ok(())
}
