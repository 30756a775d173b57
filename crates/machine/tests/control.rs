//! Shapes and settings of a control against closed forms.

mod shop;

use geom::Vec3;
use machine::track::{Feed, Move, Place, Shape, Track};
use machine::{ControlSpec, Machine, MachineSpec, Scenario, Setting, TrackOptions, TrackTimer};

/// Acceleration of the shop's X and Y, mm/s².
const ACCEL: f64 = 6000.0;

fn line(x: f64, y: f64, feed: Feed) -> Move {
    shop::line(x, y, 0.0, feed)
}

/// Time of the moves from the origin, s, under a control with a filter of 40 ms and 0.01 mm.
fn time(moves: Vec<Move>, corner: &str, ramp: &str, change: impl Fn(&mut MachineSpec)) -> f64 {
    let mut spec = MachineSpec {
        block_time_ms: Some(0.0),
        path_tolerance_mm: Some(0.01),
        control: ControlSpec {
            corner: Some(corner.into()),
            ramp: Some(ramp.into()),
            filter_ms: Some(40.0),
            ..ControlSpec::default()
        },
        ..shop::spec("XYZ")
    };
    change(&mut spec);
    let machine = Machine::new(&spec).expect("sound");
    let track = Track { start: Place::default(), moves, waits: Vec::new() };
    let timer = TrackTimer::new(&track, &machine, &TrackOptions::default()).expect("sound");
    timer.times(&Scenario::default()).expect("drivable").total_s
}

fn set(setting: Setting, value: f64) -> impl Fn(&mut MachineSpec) {
    move |spec| {
        spec.control.settings.insert(setting, value);
    }
}

fn close(got: f64, expected: f64) {
    assert!((got / expected - 1.0).abs() < 1e-6, "{got} against {expected}");
}

/// Steps of 10 mm along X and Y in turn at 50 mm/s.
fn stairs(legs: u32) -> Vec<Move> {
    let at = |i: u32| (f64::from(i.div_ceil(2)) * 10.0, f64::from(i / 2) * 10.0);
    (1..=legs).map(at).map(|(x, y)| line(x, y, Feed::Speed(50.0))).collect()
}

#[test]
fn a_lag_is_waited_for_until_it_is_inside_its_window() {
    // derived: behind by τ v on the way, by a τ² (1 − exp(−T/τ)) after braking for T = v/a
    let (v, tau, window): (f64, f64, f64) = (100.0, 0.04, 0.005);
    let braking = v / ACCEL;
    let behind = ACCEL * tau * tau * (1.0 - (-braking / tau).exp());
    let expected = 1.0 + braking + tau * (behind / window).ln();
    let moves = vec![line(100.0, 0.0, Feed::Speed(v))];
    close(time(moves, "speed-step", "lag", set(Setting::Window, window)), expected);
}

#[test]
fn near_a_corner_a_share_of_the_feed_is_driven() {
    // derived: at every corner 2 · 0.5 mm at a quarter of 50 mm/s, no acceleration, one filter
    let change = |spec: &mut MachineSpec| {
        set(Setting::Share90, 0.25)(spec);
        set(Setting::Zone, 0.5)(spec);
    };
    let expected = 20.0 * 10.0 / 50.0 + 19.0 * (1.0 / 12.5 - 1.0 / 50.0) + 0.04;
    close(time(stairs(20), "feed-share", "filter", change), expected);
}

/// Largest second derivative by length of an axis on the curve that spreads a right angle over 1 on both
/// sides, and half of its length: dB/dx = C + S g, stepped through.
fn right_angle() -> (f64, f64) {
    let count = 20_000;
    let tangent = |i: i32| {
        let x = f64::from(i) / f64::from(count);
        let g = 0.5 * x * (3.0 - x * x);
        (0.5 * (1.0 - g), 0.5 * (1.0 + g))
    };
    let (mut most, mut length) = (0.0f64, 0.0);
    for i in -count..count {
        let [(ax, ay), (bx, by)] = [tangent(i), tangent(i + 1)];
        let step = 0.5 * (ax.hypot(ay) + bx.hypot(by)) / f64::from(count);
        most = most.max((bx / bx.hypot(by) - ax / ax.hypot(ay)).abs() / step);
        length += 0.5 * step;
    }
    (most, length)
}

#[test]
fn a_spread_corner_is_passed_at_the_speed_of_its_curvature() {
    // derived: l = e/(3/16 √2); at V but for the curve, of which half is as long as l times its share,
    // and the dip, (V − v)²/(a V)
    let l = 0.01 / (3.0 / 16.0 * 2f64.sqrt());
    let (bend, length) = right_angle();
    let v = (ACCEL * l / bend).sqrt();
    let corner = 2.0 * l * length / v + (50.0 - v).powi(2) / (ACCEL * 50.0);
    let expected = (200.0 - 38.0 * l) / 50.0 + 19.0 * corner + 50.0 / ACCEL + 0.04;
    let took = time(stairs(20), "spread", "filter", |_| {});
    // differences over sixteen steps leave a little of the peak out
    assert!((took / expected - 1.0).abs() < 2e-3, "{took} against {expected}");
}

#[test]
fn an_averaged_corner_is_passed_at_the_speed_of_its_average() {
    // derived: w = 4 e/sin 45°, v² = a w, on w/2 on both sides; the dip costs (V − v)²/(a V)
    let alone = 4.0 * 0.01 / std::f64::consts::FRAC_PI_4.sin();
    for most in [1.0, 0.02] {
        let w: f64 = alone.min(most);
        let v = (ACCEL * w).sqrt();
        let corner = w * (1.0 / v - 1.0 / 50.0) + (50.0 - v).powi(2) / (ACCEL * 50.0);
        let expected = 200.0 / 50.0 + 19.0 * corner + 50.0 / ACCEL + 0.04;
        close(time(stairs(20), "average", "filter", set(Setting::AverageMost, most)), expected);
    }
}

#[test]
fn bends_may_take_a_share_of_the_acceleration() {
    // derived: circles of 1 mm at v² = 0.5 a r: the time of one of them more
    let circles = |count: usize| {
        let centre = Vec3::new(0.0, 1.0, 0.0);
        let shape = Shape::Arc { centre, axis: Vec3::Z, sweep_rad: std::f64::consts::TAU };
        let arc = Move { shape, ..line(0.0, 0.0, Feed::Speed(200.0)) };
        time(vec![arc; count], "speed-step", "filter", set(Setting::BendAccel, 0.5))
    };
    let expected = std::f64::consts::TAU / (0.5 * ACCEL).sqrt();
    let one = circles(3) - circles(2);
    assert!((one / expected - 1.0).abs() < 5e-3, "{one} against {expected}");
}

#[test]
fn rapids_have_their_own_acceleration_and_sight_bounds_the_speed() {
    // derived: 10 mm rest to rest in a triangle, 2 √(s/a), and the filter
    let rapid = || vec![line(10.0, 0.0, Feed::Rapid)];
    let expected = 2.0 * (10.0 / (1.5 * ACCEL)).sqrt() + 0.04;
    close(time(rapid(), "speed-step", "filter", set(Setting::RapidAccel, 1.5)), expected);
    // derived: 2 a T = 24 mm/s
    let sight = set(Setting::Sight, 0.002);
    let moves = vec![line(30.0, 0.0, Feed::Speed(200.0))];
    close(time(moves, "speed-step", "filter", sight), 30.0 / 24.0 + 24.0 / ACCEL + 0.04);
}

#[test]
fn along_an_arc_a_share_of_the_acceleration_is_left() {
    // derived: half a circle of 40 mm at 50 mm/s that starts and ends along X: L/v + v/(share a)
    for share in [1.0, 0.5] {
        let centre = Vec3::new(0.0, 40.0, 0.0);
        let shape = Shape::Arc { centre, axis: Vec3::Z, sweep_rad: std::f64::consts::PI };
        let arc = Move { shape, ..line(0.0, 80.0, Feed::Speed(50.0)) };
        let took = time(vec![arc], "speed-step", "filter", set(Setting::ArcAccel, share));
        let expected = std::f64::consts::PI * 40.0 / 50.0 + 50.0 / (share * ACCEL) + 0.04;
        assert!((took - expected).abs() < 2e-4, "{share}: {took} against {expected}");
    }
}

#[test]
fn blocks_read_ahead_are_waited_for_only_where_the_reading_falls_behind() {
    let blocks = || (1..=400).map(|i| line(0.02 * f64::from(i), 0.0, Feed::Speed(100.0))).collect();
    let reading = |block_ms: f64| {
        move |spec: &mut MachineSpec| {
            spec.block_time_ms = Some(block_ms);
            spec.control.reads_ahead = Some(true);
        }
    };
    // derived: 399 blocks in 1 ms each; the last two, braking, take longer than that: √(2 s/a)
    let last = (2.0f64 * 0.04 / ACCEL).sqrt();
    close(time(blocks(), "speed-step", "filter", reading(1.0)), 0.399 + last + 0.04);
    // derived: 0.1 ms is sooner than the axes; the first block alone is waited for
    close(time(blocks(), "speed-step", "filter", reading(0.1)), 0.08 + 100.0 / ACCEL + 0.04 + 1e-4);
}

#[test]
fn a_setting_that_is_no_number_above_zero_is_refused_by_its_key() {
    let mut spec = shop::spec("XYZ");
    spec.control.settings.insert(Setting::Zone, -1.0);
    let error = Machine::new(&spec).err().map(|e| e.to_string()).unwrap_or_default();
    assert!(error.contains("control.corner_zone_mm"), "{error}");
}
