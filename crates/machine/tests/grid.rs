//! The grid on which a route is planned stays in proportion to the path.

mod shop;

use geom::Vec3;
use machine::{Route, RouteOptions};
use toolpath::{Pose, Run, RunKind, Toolpath};

/// A tip that all but stands while the axis circles about +Z, `turns` times, between long moves.
fn circling(
    lean_deg: f64,
    step_deg: f64,
    tip_mm_per_deg: f64,
    turns: f64,
    every: usize,
) -> Toolpath {
    let (s, c) = lean_deg.to_radians().sin_cos();
    let count = (turns * 360.0 / step_deg) as usize;
    let mut x = 0.0;
    let poses: Vec<Pose> = (0..=count)
        .map(|k| {
            let a = (k as f64 * step_deg).to_radians();
            x += if every > 0 && k % every == 0 { 1.0 } else { tip_mm_per_deg * step_deg };
            Pose { tip: Vec3::new(x, 0.0, 0.0), axis: Vec3::new(s * a.cos(), s * a.sin(), c) }
        })
        .collect();
    let tip_feed_mm_s = vec![0.01; poses.len() - 1];
    let run = Run { kind: RunKind::Cut, pass: 0, poses, contacts: Vec::new(), tip_feed_mm_s };
    Toolpath { runs: vec![run] }
}

#[test]
fn points_stay_in_proportion_to_moves_whatever_they_turn() {
    for name in ["XYZ-AC", "XYZ+AC"] {
        let machine = shop::machine(name);
        for lean_deg in [1e-4, 0.01, 1.0, 20.0, 75.0] {
            for step_deg in [0.05, 1.0, 5.0] {
                for tip_mm_per_deg in [0.0, 1.5e-7, 1.5e-4, 1e-2] {
                    for every in [0, 7] {
                        let path = circling(lean_deg, step_deg, tip_mm_per_deg, 1.0, every);
                        let options = RouteOptions::default();
                        let route = Route::new(&path, &machine, &options, 0.01).expect("a route");
                        let most = 15 * path.runs[0].poses.len();
                        let case = (name, lean_deg, step_deg, tip_mm_per_deg, every);
                        assert!(route.points() <= most, "{case:?}: {}", route.points());
                    }
                }
            }
        }
    }
}
