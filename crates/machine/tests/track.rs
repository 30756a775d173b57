//! Programmed tracks: closed forms for moves, arcs and corners under every shape of control.

mod shop;

use geom::Vec3;
use machine::track::{Feed, Frame, Move, Place, Shape, Track, Wait};
use machine::{
    AccountOptions, ControlSpec, Event, Limit, Machine, MachineSpec, TrackOptions, TrackTimer,
    TrackTimes,
};
use motion::profile::MoveLimits;
use shop::line;
use std::f64::consts::{FRAC_PI_2, TAU};

fn track(moves: Vec<Move>) -> Track {
    Track { start: Place::default(), moves, waits: Vec::new() }
}

/// A control of that shape with no block time, 0.01 mm, a step of 10 mm/s and a filter of 40 ms.
fn control(corner: &str, ramp: &str) -> MachineSpec {
    MachineSpec {
        block_time_ms: Some(0.0),
        control: ControlSpec {
            corner: Some(corner.into()),
            ramp: Some(ramp.into()),
            corner_step_mm_min: Some(600.0),
            filter_ms: Some(40.0),
            ..ControlSpec::default()
        },
        ..shop::spec("XYZ")
    }
}

fn times(track: &Track, spec: &MachineSpec) -> TrackTimes {
    let machine = Machine::new(spec).expect("the machine is sound");
    let timer = TrackTimer::new(track, &machine, &TrackOptions::default()).expect("a sound track");
    timer.account().expect("a sound track").times
}

fn close(got: f64, expected: f64, relative: f64) {
    assert!((got / expected - 1.0).abs() < relative, "{got} against {expected}");
}

#[test]
fn a_track_takes_as_long_as_the_toolpath_of_the_same_poses() {
    let machine = shop::machine("XYZ");
    let tips: Vec<Vec3> =
        (0..400).map(|i| shop::paths::on_crown(0.1 * f64::from(i) - 20.0, 5.0, 0.0).tip).collect();
    let path = shop::paths::cut(&tips, 80.0);
    let account = machine::account(&path, &machine, &AccountOptions::default()).expect("drivable");
    let moves = tips[1..].iter().map(|t| line(t.x, t.y, t.z, Feed::Speed(80.0))).collect();
    let start = Place { linear: tips[0], rotary: [0.0; 2] };
    let track = Track { start, moves, waits: Vec::new() };
    let timer = TrackTimer::new(&track, &machine, &TrackOptions::default()).expect("drivable");
    let own = timer.account().expect("drivable");
    assert_eq!(own.times.total_s, account.times.total_s);
    assert_eq!(own.moves.len(), 399);
    close(own.moves.iter().map(|m| m.time_s).sum(), own.times.total_s, 1e-12);
}

#[test]
fn one_move_is_a_rest_to_rest_profile_and_a_filter_comes_on_top() {
    // s = 100 mm, v = 100 mm/s, a = 6000 mm/s2: s/v + v/a, and a/j more with jerk
    let track = track(vec![line(100.0, 0.0, 0.0, Feed::Speed(100.0))]);
    for corner in ["blend", "arc", "speed-step"] {
        let trapezoid = 1.0 + 100.0 / 6000.0;
        close(times(&track, &control(corner, "filter")).total_s, trapezoid + 0.04, 4e-4);
        let limits = MoveLimits { speed: 100.0, acceleration: 6000.0, jerk: 60_000.0 };
        let profile = motion::profile::Move::rest_to_rest(100.0, &limits).expect("a sound move");
        close(times(&track, &control(corner, "jerk")).total_s, profile.time_s(), 2e-3);
    }
}

#[test]
fn a_zigzag_slows_to_the_speed_that_each_shape_of_corner_allows() {
    let legs = 40;
    let (length, speed, accel) = (10.0, 50.0, 6000.0);
    let mut moves = Vec::new();
    for i in 0..legs {
        let along = (i / 2 + 1) as f64 * length;
        let (x, y) = (along, if i % 2 == 0 { along - length } else { along });
        moves.push(line(x, y, 0.0, Feed::Speed(speed)));
    }
    let track = track(moves);
    // both axes share the centripetal acceleration, so that √2 a acts towards the centre
    let arc = 0.01 * 0.5f64.sqrt() / (1.0 - 0.5f64.sqrt()) * 2f64.sqrt();
    for (corner, crossing) in [("speed-step", 10.0), ("arc", f64::sqrt(accel * arc))] {
        let dip = (speed - crossing).powi(2) / (accel * speed);
        let ends = speed / accel;
        let expected = f64::from(legs) * length / speed + f64::from(legs - 1) * dip + ends + 0.04;
        close(times(&track, &control(corner, "filter")).total_s, expected, 1e-6);
    }
}

#[test]
fn a_circle_runs_at_the_speed_that_centripetal_acceleration_allows() {
    let turns = 20;
    let circle = |_| Move {
        to: Place { linear: Vec3::ZERO, rotary: [0.0; 2] },
        shape: Shape::Arc { centre: Vec3::X * -2.0, axis: Vec3::Z, sweep_rad: TAU },
        ..line(0.0, 0.0, 0.0, Feed::Speed(500.0))
    };
    let track = track((0..turns).map(circle).collect());
    let speed = f64::sqrt(6000.0 * 2.0);
    let steady = f64::from(turns) * TAU * 2.0 / speed;
    // each axis has its 6 m/s2 to itself: faster where both share the work
    let mean: f64 = (0..1000)
        .map(|i| f64::from(i) * TAU / 1000.0)
        .map(|a| a.sin().abs().max(a.cos().abs()).sqrt() / 1000.0)
        .sum();
    for corner in ["blend", "arc", "speed-step"] {
        let mut spec = control(corner, "filter");
        let total = times(&track, &spec).total_s;
        let ends = speed / 6000.0 + 0.04;
        assert!((0.98 * steady * mean + ends..steady + ends).contains(&total), "{corner} {total}");
        spec.control.radial_accel_m_s2 = Some(3.0);
        let total = times(&track, &spec).total_s;
        let expected = steady * 2f64.sqrt() + speed / 6000.0 + 0.04;
        assert!((total / expected - 1.0).abs() < 0.01, "{corner} {total} {expected}");
    }
    let account = times(&track, &control("arc", "filter"));
    close(account.programmed_s, f64::from(turns) * TAU * 2.0 / 500.0, 1e-9);
}

#[test]
fn short_sight_holds_the_speed_down_and_says_so() {
    let moves = (1..=400).map(|i| line(0.1 * f64::from(i), 0.0, 0.0, Feed::Speed(200.0)));
    let track = track(moves.collect());
    let mut spec = control("speed-step", "filter");
    let far = times(&track, &spec).total_s;
    spec.control.look_ahead_blocks = Some(5);
    let machine = Machine::new(&spec).expect("sound");
    let timer = TrackTimer::new(&track, &machine, &TrackOptions::default()).expect("sound");
    let account = timer.account().expect("sound");
    // in the middle of the path four blocks are known where one begins, the fifth a block time later:
    // v²/(2 a) + v t = 0.4 mm
    let (accel, read_mm_s) = (6000.0, 6000.0 * 5e-4);
    let speed = f64::sqrt(read_mm_s * read_mm_s + 2.0 * accel * 0.4) - read_mm_s;
    assert!(account.times.total_s > 1.5 * far, "{} {far}", account.times.total_s);
    close(account.times.total_s, 40.0 / speed, 0.05);
    assert_eq!(account.limits[0].limit, Limit::LookAhead, "{:?}", account.limits);
    assert!(account.limits[0].worth_s.is_some_and(|worth| worth > 0.0));
}

#[test]
fn stops_waits_and_inverse_time_are_kept_and_the_parts_add_up() {
    let mut spec = control("blend", "jerk");
    spec.in_position_s = Some(0.05);
    spec.m_codes.insert("M8".into(), 0.8);
    let mut moves = vec![
        line(0.0, 0.0, -10.0, Feed::Rapid),
        line(50.0, 0.0, -10.0, Feed::Time(3.0)),
        line(50.0, 50.0, -10.0, Feed::Speed(20.0)),
        line(0.0, 50.0, -10.0, Feed::Speed(20.0)),
    ];
    let through = times(&track(moves.clone()), &spec).total_s;
    moves[2].stop = true;
    let mut stopping = track(moves);
    assert!(times(&stopping, &spec).total_s > through + 0.05);
    let wait = |after, event| Wait { after, event, block: 0, tool: 1 };
    stopping.waits = vec![
        wait(0, Event::ToolChange),
        wait(1, Event::Dwell(1.5)),
        wait(4, Event::Word("M8".into())),
    ];
    let t = times(&stopping, &spec);
    assert_eq!((t.tool_change_s, t.dwell_s, t.other_s), (4.5, 1.5, 0.8));
    close(t.total_s, t.cutting_s + t.rapid_s + t.tool_change_s + t.dwell_s + t.other_s, 1e-12);
    close(t.programmed_s, 3.0 + 2.5 + 2.5, 1e-9);
}

#[test]
fn a_turning_table_moves_the_linear_axes_only_under_tip_control() {
    let spec = MachineSpec { block_time_ms: Some(0.0), ..shop::spec("XYZ-AC") };
    let turn = |frame| {
        let start = Place { linear: Vec3::new(80.0, 0.0, 0.0), rotary: [0.0; 2] };
        let to = Place { rotary: [0.0, FRAC_PI_2], ..start };
        let turn = Move { to, frame, ..line(0.0, 0.0, 0.0, Feed::Rapid) };
        let track = Track { start, moves: vec![turn], waits: Vec::new() };
        times(&track, &spec).total_s
    };
    // C alone: 90° at 300°/s and 900°/s²; with the tip held, X and Y follow over 80 mm
    let alone = turn(Frame::Axes);
    assert!((0.6..0.75).contains(&alone), "{alone}");
    assert!(turn(Frame::Tip) > alone * 0.999);
}

#[test]
fn what_is_no_motion_is_refused_with_its_place() {
    let machine = shop::machine("XYZ");
    for (feed, place) in
        [(Feed::Speed(0.0), 1.0), (Feed::Time(f64::NAN), 1.0), (Feed::Rapid, f64::NAN)]
    {
        let track = track(vec![line(1.0, 0.0, 0.0, Feed::Rapid), line(place, 1.0, 0.0, feed)]);
        let error = TrackTimer::new(&track, &machine, &TrackOptions::default());
        let error = error.err().map(|e| e.to_string()).unwrap_or_default();
        assert!(error.starts_with("run 1"), "{error}");
    }
}
