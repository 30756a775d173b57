//! Circles and lines against closed forms, acceleration limits only.

mod curves;

use curves::{circle, line};
use motion::path::{ActiveLimit, AxisLimits, PathGrid, plan};

const NO_JERK: AxisLimits =
    AxisLimits { speed: f64::INFINITY, acceleration: 5000.0, jerk: f64::INFINITY };

fn time(curve: &curves::Curve, limits: &[AxisLimits]) -> f64 {
    plan(&curve.grid(), limits).expect("a plan").total_s
}

/// derived: the same arc by an independent integrator on 40 000 points, 0.114008 s; a general
/// planner on 2000 points gives 0.114021 s and 0.319516 s.
#[test]
fn arcs_with_each_axis_limited() {
    let quarter = time(&circle(10.0, std::f64::consts::FRAC_PI_2, 2001), &[NO_JERK; 2]);
    assert!((quarter / 0.114008 - 1.0).abs() < 1e-4, "{quarter}");
    let full = time(&circle(10.0, std::f64::consts::TAU, 2001), &[NO_JERK; 2]);
    assert!((full / 0.3195 - 1.0).abs() < 2e-4, "{full}");
}

/// derived: each axis limited to a, the whole acceleration v²/r turns through every axis, so the
/// lap at speed takes 2π √(r/a).
#[test]
fn a_lap_at_speed_meets_the_limit_of_each_axis_in_turn() {
    let limits = AxisLimits { acceleration: 2500.0, ..NO_JERK };
    let curve = circle(15.0, 3.0 * std::f64::consts::TAU, 6001);
    let plan = plan(&curve.grid(), &[limits; 2]).expect("a plan");
    let lap: f64 = plan.time_s[2000..4000].iter().sum();
    // the box of limits lets the corners of the square be used: no slower than the circle inside
    assert!(lap <= 0.486_693_4 * 1.0001, "{lap}");
    assert!(lap >= 0.486_693_4 / 2.0_f64.sqrt().sqrt(), "{lap}");
    let share = |limit| plan.active.iter().filter(|&&l| l == limit).count();
    assert!(share(ActiveLimit::AxisAcceleration(0)) > 2000);
    assert!(share(ActiveLimit::AxisAcceleration(1)) > 2000);
}

/// derived: trapezoid, t = L/V + V/A.
#[test]
fn a_line_takes_the_time_of_a_trapezoid() {
    let limits = AxisLimits { speed: 500.0, ..NO_JERK };
    let t = time(&line(100.0, 2001), &[limits]);
    assert!((t - 0.3).abs() < 1e-9, "{t}");
    let short = time(&line(5.0, 2), &[limits]);
    assert!((short - 0.063_245_553).abs() < 1e-8, "{short}");
}

/// derived: from 200 to 100 over a length that has room for v1 = √(v0² + 2 a d) peaks.
#[test]
fn end_speeds_are_kept_or_refused_with_what_is_possible() {
    let curve = line(5.0, 501);
    let limits = [AxisLimits { speed: 500.0, ..NO_JERK }];
    let ends = |start_speed, end_speed| {
        plan(&PathGrid { start_speed, end_speed, ..curve.grid() }, &limits)
    };
    let p = ends(200.0, 100.0).expect("a plan");
    assert_eq!((p.speed[0], p.speed[500]), (200.0, 100.0));
    let peak = (0.5 * (200.0_f64.powi(2) + 100.0_f64.powi(2) + 2.0 * 5000.0 * 5.0)).sqrt();
    let expected = (2.0 * peak - 300.0) / 5000.0;
    assert!((p.total_s / expected - 1.0).abs() < 1e-5, "{} {expected}", p.total_s);
    assert!(ends(300.0, 0.0).expect_err("too fast").to_string().contains("at most 223.6"));
    assert!(ends(0.0, 300.0).expect_err("too fast").to_string().contains("at most 223.6"));
}
