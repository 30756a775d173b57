//! Single moves and corners against closed forms, which no part of the emulator uses.
#![allow(clippy::unwrap_used, reason = "a test stops where its own scene does not hold")]

use emulator::zoo::{Chassis, Kind};
use emulator::{
    Family, Filtered, Hidden, Lagging, Rounded, Stopping, Timing, run, run_sampled, zoo,
};
use geom::Vec3;
use machine::Event;
use machine::track::{Feed, Frame, Move, Place, Shape, Track, Wait};

/// A machine with 4 m/s² and 60 m/s³ on all axes, that reads at once and settles at once.
fn plain(family: Family) -> Hidden {
    let mut hidden = zoo(Kind::Filtered, Chassis::Three, 1).unwrap().hidden;
    for axis in &mut hidden.axes {
        axis.speed = 1000.0;
        axis.accel = 4000.0;
        axis.rapid_accel = 4000.0;
        axis.jerk = 60_000.0;
    }
    hidden.family = family;
    hidden.block_time_s = 0.0;
    hidden.queue_blocks = 500;
    hidden.in_position_s = 0.0;
    hidden.window_mm = 1e-9;
    hidden.clock_factor = 1.0;
    hidden
}

fn lines(points: &[[f64; 2]], feed: f64) -> Track {
    let place = |p: &[f64; 2]| Place { linear: Vec3::new(p[0], p[1], 0.0), rotary: [0.0; 2] };
    let moves = points[1..].iter().map(|p| Move {
        to: place(p),
        shape: Shape::Line,
        feed: Feed::Speed(feed),
        frame: Frame::Tip,
        stop: false,
        block: 0,
        tool: 0,
    });
    Track { start: place(&points[0]), moves: moves.collect(), waits: Vec::new() }
}

fn filtered(first_s: f64, second_s: f64, step: f64) -> Family {
    Family::Filtered(Filtered { first_s, second_s, step: [step; 5] })
}

fn close(ours: f64, expected: f64, within: f64) {
    assert!((ours - expected).abs() <= within, "{ours} is not {expected}");
}

#[test]
fn a_rounded_move_takes_the_time_of_seven_segments() {
    // derived: rest to rest with 100 mm/s, 4 m/s², 60 m/s³ in the three regimes
    let rounded = |filter_s| Rounded {
        tolerance_mm: 0.01,
        tolerance_rad: 1e-4,
        stop_angle_rad: 3.0,
        filter_s,
    };
    let hidden = plain(Family::Rounded(rounded(0.0)));
    for (distance, ms) in [(0.2, 47.42524), (3.0, 116.9607), (25.0, 331.6497), (80.0, 881.6497)] {
        let timing = run(&hidden, &lines(&[[0.0, 0.0], [distance, 0.0]], 100.0)).unwrap();
        close(timing.total_s * 1e3, ms, 0.1);
    }
}

#[test]
fn a_filtered_move_is_a_trapezoid_and_both_averages() {
    // derived: d/F + F/a + T₁ + T₂
    let hidden = plain(filtered(0.02, 0.012, 5.0));
    let timing = run(&hidden, &lines(&[[0.0, 0.0], [50.0, 0.0]], 100.0)).unwrap();
    close(timing.total_s, 0.5 + 0.025 + 0.032, 1e-4);
}

/// Least distance of the axes to a point.
fn nearest(timing: &Timing, point: Vec3) -> f64 {
    let off = |j: &[f64; 5]| Vec3::new(j[0], j[1], j[2]).distance(point);
    timing.samples.iter().map(|s| off(&s.joints)).fold(f64::INFINITY, f64::min)
}

#[test]
fn two_averages_leave_a_corner_by_their_lengths() {
    // derived: F sin(φ/2)(T₁/4 + T₂²/(12 T₁)), with a corner that is passed at full feed
    let mut hidden = plain(filtered(0.02, 0.012, 1e9));
    hidden.sample_s = 0.00025;
    for (deg, um) in [(90.0_f64, 395.9798), (30.0, 144.9387)] {
        let (sin, cos) = deg.to_radians().sin_cos();
        let track = lines(&[[0.0, 0.0], [20.0, 0.0], [20.0 + 20.0 * cos, 20.0 * sin]], 100.0);
        let timing = run_sampled(&hidden, &track).unwrap();
        // half a sample's way along the curve is the most that is missed
        close(nearest(&timing, Vec3::new(20.0, 0.0, 0.0)) * 1e3, um, 0.5);
    }
}

#[test]
fn a_lag_is_waited_for_by_its_logarithm() {
    // derived: τ ln(w₀/w) with τ 8 ms from 0.2 mm to 3 µm; 0.2 mm is what the lag is behind at
    // 25 mm/s, which is reached at once and left at once
    let family = Lagging {
        feed_tau_s: [0.008; 5],
        rapid_tau_s: [0.008; 5],
        bell: false,
        corner_share: vec![[0.0, 1.0]],
        zone: 0.1,
        arc_accel: 1000.0,
    };
    let mut hidden = plain(Family::Lagging(family));
    hidden.window_mm = 0.003;
    let timing = run(&hidden, &lines(&[[0.0, 0.0], [10.0, 0.0]], 25.0)).unwrap();
    close(timing.total_s, 0.4 + 0.03360, 1e-5);
}

#[test]
fn short_blocks_run_as_fast_as_they_are_read() {
    // derived: 0.05 mm in 1.5 ms is 2000 mm/min
    let points: Vec<[f64; 2]> = (0..=2000).map(|k| [0.05 * f64::from(k), 0.0]).collect();
    let track = lines(&points, 200.0);
    for kind in Kind::ALL {
        let mut hidden = plain(zoo(kind, Chassis::Three, 2).unwrap().hidden.family);
        hidden.block_time_s = 0.0015;
        hidden.queue_blocks = 40;
        let timing = run(&hidden, &track).unwrap();
        let middle: f64 = timing.moves_s[500..1500].iter().sum();
        assert!((middle - 1.5).abs() < 0.01, "{kind:?}: {middle}");
    }
}

#[test]
fn an_older_control_stops_at_every_corner() {
    let family = Stopping { stop_angle_rad: 0.3, step: [10.0; 5], lag_s: [0.02; 5] };
    let mut hidden = plain(Family::Stopping(family));
    hidden.window_mm = 0.01;
    let straight = run(&hidden, &lines(&[[0.0, 0.0], [5.0, 0.0], [10.0, 0.0]], 50.0)).unwrap();
    let corner = run(&hidden, &lines(&[[0.0, 0.0], [5.0, 0.0], [5.0, 5.0]], 50.0)).unwrap();
    let once = run(&hidden, &lines(&[[0.0, 0.0], [5.0, 0.0]], 50.0)).unwrap();
    close(corner.total_s, 2.0 * once.total_s, 1e-9);
    assert!(corner.total_s > straight.total_s + 0.05);
}

#[test]
fn waits_take_their_time_and_keep_the_axes_still() {
    let mut hidden = plain(filtered(0.02, 0.01, 10.0));
    hidden.clock_factor = 1.004;
    hidden.dwell_extra_s = 0.01;
    let mut track = lines(&[[0.0, 0.0], [5.0, 0.0], [10.0, 0.0]], 40.0);
    let without = run(&hidden, &track).unwrap();
    let wait = |after, event| Wait { after, event, block: 0, tool: 0 };
    track.waits = vec![
        wait(0, Event::ToolChange),
        wait(1, Event::Dwell(2.0)),
        wait(2, Event::Spindle { from_rpm: 0.0, to_rpm: 0.5 * hidden.spindle_rpm }),
    ];
    let with = run(&hidden, &track).unwrap();
    let expected = [hidden.tool_change_s, 2.01, 0.5 * hidden.spindle_ramp_s];
    for (ours, seconds) in with.waits_s.iter().zip(expected) {
        close(*ours, 1.004 * seconds, 1e-12);
    }
    // the stop in the middle costs braking, starting and both averages
    let moves: f64 = with.moves_s.iter().sum();
    close(moves - without.total_s, 1.004 * (40.0 / 4000.0 + 0.03), 1e-4);
    close(with.total_s, moves + with.waits_s.iter().sum::<f64>(), 1e-12);
}

#[test]
fn what_cannot_be_run_is_refused() {
    let hidden = plain(filtered(0.02, 0.01, 10.0));
    let good = lines(&[[0.0, 0.0], [5.0, 0.0]], 50.0);
    for spoil in [
        (|t: &mut Track| t.moves[0].feed = Feed::Speed(0.0)) as fn(&mut Track),
        |t| t.moves[0].to.linear.x = f64::NAN,
        |t| {
            let (centre, axis) = (Vec3::ZERO, Vec3::ZERO);
            t.moves[0].shape = Shape::Arc { centre, axis, sweep_rad: 1.0 };
        },
    ] {
        let mut track = good.clone();
        spoil(&mut track);
        assert_eq!(run(&hidden, &track).unwrap_err().index, 0);
    }
    assert_eq!(run(&hidden, &Track::default()).unwrap().total_s, 0.0);
}
