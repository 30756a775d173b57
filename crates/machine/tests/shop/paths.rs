//! Toolpaths for tests: rasters on a crown with a leaned tool, circles, corners.

use geom::Vec3;
use toolpath::{Pose, Run, RunKind, Toolpath};

pub(crate) fn run(kind: RunKind, poses: Vec<Pose>, feed_mm_s: f64) -> Run {
    let moves = poses.len().saturating_sub(1);
    Run { kind, pass: 0, poses, contacts: Vec::new(), tip_feed_mm_s: vec![feed_mm_s; moves] }
}

/// Tips with the axis along z, cut at one feed.
pub(crate) fn cut(tips: &[Vec3], feed_mm_s: f64) -> Toolpath {
    let poses = tips.iter().map(|&tip| Pose { tip, axis: Vec3::Z }).collect();
    Toolpath { runs: vec![run(RunKind::Cut, poses, feed_mm_s)] }
}

/// Where a ball of 6 mm stands on a sphere of 200 mm over (x, y), its axis leaned off the normal.
pub(crate) fn on_crown(x: f64, y: f64, lean_rad: f64) -> Pose {
    let n = Vec3::new(x, y, (200.0f64 * 200.0 - x * x - y * y).sqrt()) / 200.0;
    let across = n.cross(Vec3::X).normalize();
    let axis = n * lean_rad.cos() + across * lean_rad.sin();
    Pose { tip: n * 206.0 - axis * 6.0 - Vec3::Z * 200.0, axis }
}

/// A raster both ways over the crown, `passes` passes of `moves` moves, arcs as links.
pub(crate) fn raster(passes: usize, moves: usize, lean_rad: f64, feed_mm_s: f64) -> Toolpath {
    let (half, step) = (25.0, 50.0 / passes as f64);
    let mut runs = Vec::new();
    for pass in 0..passes {
        let y = -half + step * (pass as f64 + 0.5);
        let side = if pass % 2 == 0 { 1.0 } else { -1.0 };
        let at = |i: usize| side * half * (2.0 * i as f64 / moves as f64 - 1.0);
        let poses: Vec<_> = (0..=moves).map(|i| on_crown(at(i), y, lean_rad)).collect();
        runs.push(run(RunKind::Cut, poses, feed_mm_s));
        if pass + 1 < passes {
            let turn = (0..=8).map(|i| {
                let phi = std::f64::consts::PI * f64::from(i) / 8.0;
                let r = 0.5 * step;
                on_crown(side * (half + r * phi.sin()), y + r - r * phi.cos(), lean_rad)
            });
            runs.push(run(RunKind::Link, turn.collect(), feed_mm_s));
        }
    }
    Toolpath { runs }
}
