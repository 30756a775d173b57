//! What controls that keep their corners do where rotary axes turn, against closed forms.

mod shop;

use geom::Vec3;
use machine::track::{Feed, Frame, Move, Place, Track};
use machine::{ControlSpec, Machine, MachineSpec, Scenario, Setting, TrackOptions, TrackTimer};

/// Acceleration of the shop's rotary axes, deg/s², and their speed, deg/s.
const ACCEL: f64 = 900.0;
const SPEED: f64 = 300.0;

/// A move of the tip to `x` with C at that angle.
fn to(x: f64, c_deg: f64, feed: Feed) -> Move {
    let rotary = [c_deg.to_radians(), 0.0];
    let place = Place { linear: Vec3::new(x, 0.0, 0.0), rotary };
    Move { to: place, frame: Frame::Tip, ..shop::line(0.0, 0.0, 0.0, feed) }
}

/// Time of the moves, s, on a trunnion whose axes neither lag nor round.
fn time(moves: &[Move], corner: &str, change: impl Fn(&mut MachineSpec)) -> f64 {
    let mut spec = MachineSpec {
        block_time_ms: Some(0.0),
        path_tolerance_mm: Some(0.01),
        control: ControlSpec {
            corner: Some(corner.into()),
            ramp: Some("filter".into()),
            filter_ms: Some(0.0),
            ..ControlSpec::default()
        },
        ..shop::spec("XYZ-AC")
    };
    change(&mut spec);
    let machine = Machine::new(&spec).expect("sound");
    let start = Place::default();
    let track = Track { start, moves: moves.to_vec(), waits: Vec::new() };
    let timer = TrackTimer::new(&track, &machine, &TrackOptions::default()).expect("sound");
    timer.times(&Scenario::default()).expect("drivable").total_s
}

fn close(got: f64, expected: f64) {
    assert!((got / expected - 1.0).abs() < 1e-6, "{got} against {expected}");
}

/// Time in which an axis turns by `deg` from rest to rest, s: 2 √(d/a) below full speed.
fn stroke_s(deg: f64, accel: f64) -> f64 {
    assert!(deg * accel < SPEED * SPEED, "the speed is not reached");
    2.0 * (deg / accel).sqrt()
}

#[test]
fn a_turn_that_turns_back_stops_where_the_path_would() {
    let moves = [10.0, 0.0].map(|c| to(0.0, c, Feed::Rapid));
    let stopping = time(&moves, "speed-step", |_| ());
    close(stopping, 2.0 * stroke_s(10.0, ACCEL));
    let waiting = time(&moves, "speed-step", |s| s.in_position_s = Some(0.05));
    close(waiting, stopping + 0.05);
    // no stop at any angle: the axis may step by its speed there, from +v/2 to −v/2
    let step = 60.0;
    let passing = time(&moves, "speed-step", |s| {
        s.control.stop_angle_deg = Some(180.0);
        s.control.settings.insert(Setting::StepTurn, 60.0 * step);
    });
    // derived: with the top speed w, from rest to w and down to u = step/2: w² = a d + u²/2
    let (u, d) = (0.5 * step, 10.0);
    let top = (ACCEL * d + 0.5 * u * u).sqrt();
    close(passing, 2.0 * (2.0 * top - u) / ACCEL);
}

#[test]
fn a_turn_and_a_path_meet_at_rest() {
    let turn = [to(0.0, 10.0, Feed::Rapid)];
    let both = [turn[0], to(30.0, 10.0, Feed::Rapid)];
    let none = |s: &mut MachineSpec| s.control.stop_angle_deg = Some(180.0);
    let alone = time(&both, "speed-step", none) - time(&turn, "speed-step", none);
    // 30 mm of X, Y by an axis of 6 m/s² each, C off by 10 degrees
    close(alone, 2.0 * (30.0 * 10f64.to_radians().cos() / 6000.0).sqrt());
}

#[test]
fn turning_under_tip_control_counts_as_a_bend_where_no_linear_axis_follows() {
    let bends = |s: &mut MachineSpec| {
        s.control.settings.insert(Setting::ArcAccel, 0.6);
    };
    let tip = to(0.0, 10.0, Feed::Rapid);
    close(time(&[tip], "speed-step", bends), stroke_s(10.0, 0.6 * ACCEL));
    let axes = Move { frame: Frame::Axes, ..tip };
    close(time(&[axes], "speed-step", bends), stroke_s(10.0, ACCEL));
}

/// To and fro with C while the tip goes straight on, 60 mm off the centre of C: Y follows.
fn waving() -> (Place, Vec<Move>) {
    let c = |i: u32| if i.is_multiple_of(2) { 0.0 } else { 3.0 };
    let moves = (1..=12).map(|i| to(60.0 + 5.0 * f64::from(i), c(i), Feed::Speed(10.0)));
    (Place { linear: Vec3::X * 60.0, ..Place::default() }, moves.collect())
}

#[test]
fn a_share_of_the_feed_goes_by_the_corners_of_the_program() {
    let (start, moves) = waving();
    let first = Move { to: start, ..to(60.0, 0.0, Feed::Rapid) };
    let all: Vec<Move> = std::iter::once(first).chain(moves).collect();
    let share = |s: &mut MachineSpec| {
        s.control.rapid_stops = Some(true);
        for share in [Setting::Share30, Setting::Share90, Setting::Share180] {
            s.control.settings.insert(share, 0.1);
        }
    };
    let more = time(&all, "feed-share", share) - time(&all[..1], "feed-share", share);
    // straight on in the program: 60 mm at 10 mm/s, though Y turns back at every joint
    close(more, 6.0);
    let turned = [to(0.0, 5.0, Feed::Speed(50.0)), to(0.0, 10.0, Feed::Speed(50.0))];
    let back = [turned[0], to(0.0, 0.0, Feed::Speed(50.0))];
    let none = |s: &mut MachineSpec| {
        share(s);
        s.control.stop_angle_deg = Some(180.0);
        s.control.settings.insert(Setting::Zone, 0.1);
    };
    // 50 deg/s, of which a tenth on 0.1 mm, that is 0.1 degrees, before and behind the turn
    let on = time(&turned, "feed-share", none);
    close(on, 0.2);
    close(time(&back, "feed-share", none) - on, 2.0 * 0.1 / 50.0 * 9.0);
}

#[test]
fn a_share_of_the_feed_knows_one_speed_for_a_move() {
    // C by 90 degrees while the tip stays 200 mm off its centre, X at the start and Y at the end:
    // the linear axes reach 40 m/min, and each goes 200 mm for a rad at most
    let start = Place { linear: Vec3::X * 200.0, ..Place::default() };
    let there = Move { to: start, ..to(0.0, 0.0, Feed::Rapid) };
    let turned = Place { rotary: [90f64.to_radians(), 0.0], ..start };
    let turn = Move { to: turned, ..to(0.0, 0.0, Feed::Rapid) };
    let alone = time(&[there], "feed-share", |_| ());
    let both = time(&[there, turn], "feed-share", |_| ());
    // derived: 3.333 rad/s instead of 5.236, then the time in which C reaches its speed
    let omega = 40_000.0 / 60.0 / 200.0;
    close(both - alone, 90f64.to_radians() / omega + SPEED / ACCEL);
}
