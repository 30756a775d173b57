//! Jerk-limited paths against closed forms.

mod curves;

use curves::{circle, line};
use motion::path::{AxisLimits, PathGrid, PlanError, plan, plan_without_jerk};
use motion::profile::{Move, MoveLimits};

const AXIS: AxisLimits = AxisLimits { speed: 500.0, acceleration: 4000.0, jerk: 60_000.0 };
const STRAIGHT: MoveLimits = MoveLimits { speed: 500.0, acceleration: 4000.0, jerk: 60_000.0 };

/// derived: the closed form of the seven-segment profile, all three regimes.
#[test]
fn a_line_takes_the_time_of_the_closed_form() {
    for (length, speed) in
        [(0.2, 100.0), (3.0, 100.0), (25.0, 100.0), (80.0, 500.0), (400.0, 500.0)]
    {
        let closed = Move::rest_to_rest(length, &MoveLimits { speed, ..STRAIGHT }).expect("a move");
        for points in [2, 101, 1001] {
            let limits = [AxisLimits { speed, ..AXIS }];
            let t = plan(&line(length, points).grid(), &limits).expect("a plan").total_s;
            assert!((t / closed.time_s() - 1.0).abs() < 2e-4, "{length} {points}: {t}");
        }
    }
}

#[test]
fn end_speeds_with_zero_acceleration_agree_with_the_closed_form() {
    for (from, to) in [(50.0, 50.0), (0.0, 120.0), (120.0, 0.0), (40.0, 90.0)] {
        let closed = Move::new(30.0, from, to, &STRAIGHT).expect("a move").time_s();
        let curve = line(30.0, 601);
        let grid = PathGrid { start_speed: from, end_speed: to, ..curve.grid() };
        let t = plan(&grid, &[AXIS]).expect("a plan").total_s;
        assert!((t / closed - 1.0).abs() < 1e-3, "{from} {to}: {t} {closed}");
    }
}

#[test]
fn an_end_speed_out_of_reach_is_refused() {
    let curve = line(3.0, 301);
    let error =
        plan(&PathGrid { end_speed: 150.0, ..curve.grid() }, &[AXIS]).expect_err("too fast");
    let PlanError::EndSpeed { possible, .. } = error else { panic!("{error}") };
    let length = |v: f64| motion::profile::Ramp::new(0.0, v, &STRAIGHT).length();
    assert!((length(possible) / 3.0 - 1.0).abs() < 0.02, "{possible}");
}

/// derived: at steady speed |j| = v³/r² meets each axis in turn, so v = (J r²)^(1/3) keeps the
/// limits; the box of axis limits allows a little more between the axes.
#[test]
fn a_small_circle_is_held_down_by_jerk() {
    let axis = AxisLimits { jerk: 50_000.0, acceleration: 3000.0, ..AXIS };
    let plan =
        plan(&circle(1.0, 10.0 * std::f64::consts::TAU, 4001).grid(), &[axis; 2]).expect("a plan");
    let lap: f64 = plan.time_s[2000..2400].iter().sum();
    let steady = std::f64::consts::TAU / (2210.419 / 60.0);
    assert!(lap < steady * 1.001 && lap > steady * 0.85, "{lap} {steady}");
}

#[test]
fn never_faster_than_without_jerk_and_close_to_it_when_jerk_is_high() {
    let curve = circle(15.0, std::f64::consts::TAU, 1001);
    let bound = plan_without_jerk(&curve.grid(), &[AXIS; 2]).expect("a plan").total_s;
    let with =
        |jerk| plan(&curve.grid(), &[AxisLimits { jerk, ..AXIS }; 2]).expect("a plan").total_s;
    let times = [1e9, 1e7, 1e6, 1e5, 1e4].map(with);
    assert!(times[0] >= bound && times[0] < bound * 1.002, "{times:?} {bound}");
    assert!(times.is_sorted(), "{times:?}");
}

/// Legs of 1 mm with corners whose bend swells and fades over 0.1 mm, `fine` times as many points.
fn blended_corners(corners: usize, fine: usize) -> curves::Curve {
    let mut curve =
        curves::Curve { axes: 2, s: vec![], first: vec![], second: vec![], feed: vec![] };
    let (mut start, mut heading) = (0.0, 0.0f64);
    let mut push = |s: f64, angle: f64, bend: f64| {
        curve.s.push(s);
        curve.first.extend([angle.cos(), angle.sin()]);
        curve.second.extend([-angle.sin() * bend, angle.cos() * bend]);
    };
    for corner in 0..corners {
        (0..fine).for_each(|i| push(start + i as f64 / fine as f64, heading, 0.0));
        start += 1.0;
        let turn = if corner % 3 == 0 { -0.5 } else { 0.35 };
        for i in 0..16 * fine {
            let share = i as f64 / (16 * fine) as f64;
            let (sin, cos) = (std::f64::consts::TAU * share).sin_cos();
            let angle = heading + turn * (share - sin / std::f64::consts::TAU);
            push(start + 0.1 * share, angle, turn / 0.1 * (1.0 - cos));
        }
        start += 0.1;
        heading += turn;
    }
    push(start, heading, 0.0);
    curve
}

/// A leg of one interval between two corners is split by the planner as its motion needs.
#[test]
fn long_intervals_between_corners_are_resolved() {
    let time = |fine| plan(&blended_corners(30, fine).grid(), &[AXIS; 2]).expect("a plan").total_s;
    let (coarse, medium, fine) = (time(1), time(2), time(8));
    assert!((coarse / fine - 1.0).abs() < 0.01, "{coarse} {medium} {fine}");
    assert!((medium / fine - 1.0).abs() < 0.005, "{coarse} {medium} {fine}");
}

/// The mean of many corners does not depend on how many there are: long paths are solved as well.
#[test]
fn a_long_path_takes_as_long_per_corner_as_a_short_one() {
    let time = |n| plan(&blended_corners(n, 1).grid(), &[AXIS; 2]).expect("a plan");
    let (a, b, long) = (time(30), time(60), time(600));
    let per_corner = (b.total_s - a.total_s) / 30.0;
    let expected = a.total_s + 570.0 * per_corner;
    assert!((long.total_s / expected - 1.0).abs() < 2e-3, "{} {expected}", long.total_s);
    assert!(long.gap_s < 1e-4 * long.total_s, "gap {}", long.gap_s);
}

/// A point that rounding has set beside another, as where the curves of two corners meet, changes
/// nothing.
#[test]
fn a_sliver_between_two_points_costs_nothing() {
    let whole = blended_corners(40, 2);
    let time = plan(&whole.grid(), &[AXIS; 2]).expect("a plan").total_s;
    for at in [70, 321, 777] {
        let mut cut = whole.clone();
        cut.s.insert(at + 1, whole.s[at] + 8e-15 * whole.s[at].max(1.0));
        for (field, from) in [(&mut cut.first, &whole.first), (&mut cut.second, &whole.second)] {
            let pair = [from[2 * at], from[2 * at + 1]];
            field.splice(2 * at + 2..2 * at + 2, pair);
        }
        let sliver = cut.s[at + 1] - cut.s[at];
        assert!(sliver > 0.0 && sliver < 1e-12, "{sliver}");
        let with = plan(&cut.grid(), &[AXIS; 2]).expect("a plan");
        assert!((with.total_s / time - 1.0).abs() < 1e-4, "{at}: {} {time}", with.total_s);
    }
}

/// A long straight line at a feed is planned by what its motion needs, not by its points: the steady row
/// inside it is one cell. derived: the closed form of the seven-segment profile.
#[test]
fn a_long_straight_line_takes_the_time_of_the_closed_form() {
    for (length, speed) in [(20_000.0, 50.0), (100_000.0, 50.0), (30_000.0, 500.0)] {
        let closed = Move::rest_to_rest(length, &MoveLimits { speed, ..STRAIGHT }).expect("a move");
        let limits = [AxisLimits { speed, ..AXIS }];
        let plan = plan(&line(length, length as usize + 1).grid(), &limits).expect("a plan");
        assert!((plan.total_s / closed.time_s() - 1.0).abs() < 1e-5, "{length} {}", plan.total_s);
        let steady: f64 = plan.time_s[1000..9000].iter().sum();
        assert!((steady * speed / 8000.0 - 1.0).abs() < 1e-5, "{length} {steady}");
        let slowest = plan.speed[1000..9000].iter().fold(f64::INFINITY, |a, b| a.min(*b));
        assert!(slowest > 0.9999 * speed, "{slowest}");
    }
}

/// A path of many blocks of nodes is the same to the last bit on any number of threads.
#[test]
fn the_number_of_threads_changes_no_bit() {
    let curve = blended_corners(700, 1);
    let planned = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("a pool");
        pool.install(|| plan(&curve.grid(), &[AXIS; 2]).expect("a plan"))
    };
    let one = planned(1);
    assert!(one.speed.len() > 10_000, "{}", one.speed.len());
    assert!(planned(2) == one && planned(3) == one);
}
