//! Bad paths and limits are refused with place and expectation; odd ones are planned.

mod curves;

use curves::{Curve, circle, line};
use motion::path::{ActiveLimit, AxisLimits, PathGrid, PlanError, plan};
use proptest::prelude::*;

const AXIS: AxisLimits = AxisLimits { speed: 300.0, acceleration: 4000.0, jerk: 60_000.0 };

fn refused(grid: &PathGrid<'_>, limits: &[AxisLimits]) -> String {
    plan(grid, limits).expect_err("refused").to_string()
}

#[test]
fn lengths_and_values_are_named_with_their_place() {
    let curve = line(10.0, 11);
    let grid = curve.grid();
    assert!(refused(&grid, &[]).contains("1 to 8 axes"));
    assert!(refused(&grid, &[AXIS; 9]).contains("got 9"));
    assert!(refused(&grid, &[AXIS; 2]).contains("`first` holds 11 values, expected 22"));
    assert!(refused(&PathGrid { s: &[1.0], ..grid }, &[AXIS]).contains("at least 2"));
    assert!(refused(&PathGrid { feed_cap: &[1.0], ..grid }, &[AXIS]).contains("expected 10"));
    let nan = AxisLimits { jerk: f64::NAN, ..AXIS };
    assert_eq!(refused(&grid, &[nan]), "`jerk` at index 0 is NaN, expected greater than 0");
    let mut back = curve.s.clone();
    back[4] = 9.5;
    assert!(refused(&PathGrid { s: &back, ..grid }, &[AXIS]).contains("`s` at index 5"));
    let mut cap = vec![f64::INFINITY; 11];
    cap[3] = 0.0;
    let stop = refused(&PathGrid { point_cap: &cap, ..grid }, &[AXIS]);
    assert!(stop.contains("split the path at its stops"), "{stop}");
    assert!(refused(&PathGrid { start_speed: -1.0, ..grid }, &[AXIS]).contains("start_speed"));
}

#[test]
fn a_path_on_which_nothing_moves_needs_a_cap() {
    let still = Curve::sample(10.0, 11, |_| ([0.0], [0.0]));
    let error = plan(&still.grid(), &[AXIS]).expect_err("refused");
    assert!(matches!(error, PlanError::Unbounded { .. }), "{error}");
    let capped = still.with_feed(50.0);
    let p = plan(&capped.grid(), &[AXIS]).expect("a plan");
    assert!(p.total_s > 0.2 && p.total_s < 0.21, "{}", p.total_s);
}

#[test]
fn a_jump_of_curvature_is_marked_by_a_point_given_twice() {
    // line, arc of radius 5, line
    let arc = circle(5.0, 1.0, 101);
    let mut joined = Curve { axes: 2, s: vec![], first: vec![], second: vec![], feed: vec![] };
    for (offset, radius) in [(0.0, 0.0), (20.0, 5.0), (25.0, 0.0)] {
        for i in 0..=100 {
            let along = f64::from(i) / 100.0 * if radius > 0.0 { 5.0 } else { 20.0 };
            joined.s.push(offset + along);
            if radius > 0.0 {
                joined.first.extend(&arc.first[2 * i as usize..2 * i as usize + 2]);
                joined.second.extend(&arc.second[2 * i as usize..2 * i as usize + 2]);
            } else {
                let angle = if offset > 0.0 { 1.0_f64 } else { 0.0 };
                joined.first.extend([-angle.sin(), angle.cos()]);
                joined.second.extend([0.0, 0.0]);
            }
        }
    }
    let p = plan(&joined.grid(), &[AXIS; 2]).expect("a plan");
    assert_eq!(p.time_s[100], 0.0);
    assert_eq!(p.speed[100], p.speed[101]);
    assert!(p.speed[150] < (4000.0_f64 * 5.0).sqrt() * 1.5, "{}", p.speed[150]);
}

#[test]
fn feed_kinds_and_point_caps_come_back_as_limits() {
    let curve = line(200.0, 401).with_feed(100.0);
    let mut kinds = vec![0; 400];
    kinds[200..].fill(7);
    let mut caps = vec![f64::INFINITY; 401];
    caps[100] = 20.0;
    let p = plan(&PathGrid { feed_kind: &kinds, point_cap: &caps, ..curve.grid() }, &[AXIS])
        .expect("a plan");
    assert_eq!(p.active[180], ActiveLimit::FeedCap(0));
    assert_eq!(p.active[300], ActiveLimit::FeedCap(7));
    assert_eq!(p.active[0], ActiveLimit::AxisJerk(0));
    assert!(p.speed[100] <= 20.0);
    assert!(p.active.contains(&ActiveLimit::PointCap));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    /// Rough paths, wild scales: an answer that is finite, or a refusal.
    #[test]
    fn wild_paths_neither_panic_nor_give_nonsense(
        steps in prop::collection::vec(0.0..3.0f64, 1..40),
        numbers in prop::collection::vec(-1.0..1.0f64, 160),
        scale in -9i32..9, bend in -6i32..6, jerk in 0i32..12, speed in -3i32..6,
    ) {
        let mut s = vec![0.0];
        for step in &steps {
            s.push(s[s.len() - 1] + step * 10f64.powi(scale));
        }
        let n = s.len();
        let first = &numbers[..2 * n];
        let second: Vec<f64> = numbers[2 * n - 2..4 * n - 2].iter().map(|v| v * 10f64.powi(bend - scale)).collect();
        let limits = [AxisLimits { speed: 10f64.powi(speed), acceleration: 1e3, jerk: 10f64.powi(jerk) }; 2];
        let grid = PathGrid { s: &s, first, second: &second, feed_cap: &[], feed_kind: &[], point_cap: &[], start_speed: 0.0, end_speed: 0.0 };
        if let Ok(p) = plan(&grid, &limits) {
            prop_assert!(p.total_s.is_finite() && p.total_s > 0.0);
            prop_assert!(p.time_s.iter().all(|t| t.is_finite() && *t >= 0.0));
            prop_assert!(p.speed.iter().chain(&p.acceleration).all(|v| v.is_finite()));
            // far outside what a machine drives the optimum may stay away, but the plan says how far
            prop_assert!((0.0..=p.total_s).contains(&p.gap_s), "gap {} of {}", p.gap_s, p.total_s);
        }
    }
}
