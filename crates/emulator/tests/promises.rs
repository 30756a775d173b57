//! What every family promises on every program: lower bounds, limits, tolerance, the end, and times
//! that do not hang on the clock.
#![allow(clippy::unwrap_used, reason = "a test stops where its own scene does not hold")]

use emulator::programs::Program;
use emulator::zoo::{Chassis, Kind};
use emulator::{Family, Hidden, Sample, run, run_sampled, zoo};
use geom::Vec3;
use machine::track::{Feed, Frame, Move, Place, Shape, Track};
use proptest::prelude::*;

const SECONDS: f64 = 6.0;

/// Every family with every program that its axes can run.
fn cases(seeds: std::ops::Range<u64>) -> impl Iterator<Item = (Kind, Program, u64, Hidden, Track)> {
    let programs = |kind| Program::ALL.into_iter().map(move |program| (kind, program));
    let pairs = Kind::ALL.into_iter().flat_map(programs);
    pairs.flat_map(move |(kind, program)| {
        seeds.clone().map(move |seed| {
            let chassis = match (program, seed % 3) {
                (Program::TiltedRaster, k) if k < 2 => Chassis::Table,
                (Program::TiltedRaster, _) | (_, 2) => Chassis::Head,
                (_, 1) => Chassis::Table,
                _ => Chassis::Three,
            };
            let hidden = zoo(kind, chassis, seed).unwrap().hidden;
            (kind, program, seed, hidden, program.track(seed, SECONDS))
        })
    })
}

fn length(from: &Place, step: &Move) -> f64 {
    match step.shape {
        Shape::Line => from.linear.distance(step.to.linear),
        Shape::Arc { centre, axis, sweep_rad } => {
            let d = from.linear - centre;
            let radius = (d - axis * d.dot(axis)).length();
            let climb = (step.to.linear - from.linear).dot(axis);
            (radius * sweep_rad).hypot(climb)
        }
    }
}

/// What a move takes without any limit but its feed and, where it is a rapid, its axes' speeds.
fn bound(hidden: &Hidden, from: &Place, step: &Move) -> f64 {
    let still = from.rotary == step.to.rotary && step.to.rotary == [0.0; 2];
    match step.feed {
        Feed::Speed(feed) => length(from, step) / feed,
        Feed::Time(seconds) => seconds,
        Feed::Rapid => {
            let d = (step.to.linear - from.linear).abs().to_array();
            let linear = (0..3).map(|i| if still { d[i] / hidden.axes[i].speed } else { 0.0 });
            let turn = (3..hidden.axes.len())
                .map(|i| (step.to.rotary[i - 3] - from.rotary[i - 3]).abs() / hidden.axes[i].speed);
            linear.chain(turn).fold(0.0, f64::max)
        }
    }
}

#[test]
fn nothing_is_faster_than_its_feed_or_its_axes() {
    for (kind, program, seed, hidden, track) in cases(0..3) {
        let timing = run(&hidden, &track).unwrap();
        let mut from = track.start;
        let mut least = 0.0;
        for (index, (step, &seconds)) in track.moves.iter().zip(&timing.moves_s).enumerate() {
            let bound = bound(&hidden, &from, step) * hidden.clock_factor;
            least += bound;
            // a rounded corner is shorter than the corner, and belongs half to either move
            let part = if kind == Kind::Rounded { 0.6 } else { 1.0 };
            assert!(
                seconds >= part * bound - 1e-9,
                "{kind:?} {program:?} {seed}, move {index}: {seconds} s, at least {bound}"
            );
            from = step.to;
        }
        let moves: f64 = timing.moves_s.iter().sum();
        assert!(moves >= least * if kind == Kind::Rounded { 0.99 } else { 1.0 } - 1e-9);
        assert!(moves < 40.0 * SECONDS, "{kind:?} {program:?} {seed}: {moves} s");
    }
}

/// Largest speed and acceleration of every axis over ticks of the clock.
fn extremes(samples: &[Sample], tick_s: f64) -> [[f64; 5]; 2] {
    let mut most = [[0.0; 5]; 2];
    for three in samples.windows(3) {
        let steps = [three[1].time_s - three[0].time_s, three[2].time_s - three[1].time_s];
        if steps.iter().any(|s| (s - tick_s).abs() > 1e-9) {
            continue;
        }
        for i in 0..5 {
            let [a, b, c] = [0, 1, 2].map(|k: usize| three[k].joints[i]);
            most[0][i] = f64::max(most[0][i], (c - b).abs() / tick_s);
            most[1][i] = f64::max(most[1][i], (c - 2.0 * b + a).abs() / (tick_s * tick_s));
        }
    }
    most
}

/// What the family lets an axis accelerate with, where it promises anything.
fn promised_accel(hidden: &Hidden, axis: usize) -> f64 {
    let limits = &hidden.axes[axis];
    let most = limits.accel.max(limits.rapid_accel);
    match &hidden.family {
        Family::Filtered(family) => most + family.step[axis] / family.first_s,
        Family::Rounded(_) => 1.5 * most,
        Family::Band(_) => most,
        Family::Lagging(_) | Family::Stopping(_) => f64::INFINITY,
    }
}

#[test]
fn axes_keep_their_limits() {
    for (kind, program, seed, hidden, track) in cases(0..3) {
        let timing = run_sampled(&hidden, &track).unwrap();
        let [speeds, accels] = extremes(&timing.samples, hidden.sample_s);
        for (i, axis) in hidden.axes.iter().enumerate() {
            let name = format!("{kind:?} {program:?} {seed}, axis {i}");
            assert!(speeds[i] <= axis.speed * 1.01, "{name}: {} > {}", speeds[i], axis.speed);
            // along the path and across it complement each other on a circle, not on one axis
            let both = if program == Program::TiltedRaster { 1.4 } else { 1.0 };
            let most = both * promised_accel(&hidden, i);
            assert!(accels[i] <= most * 1.05, "{name}: {} > {most}", accels[i]);
        }
    }
}

/// Distance from a point to a line from `a` to `b`.
fn off(p: Vec3, a: Vec3, b: Vec3) -> f64 {
    let d = b - a;
    let u = if d.length_squared() > 0.0 { (p - a).dot(d) / d.length_squared() } else { 0.0 };
    p.distance(a + d * u.clamp(0.0, 1.0))
}

const CHORDS: u32 = 100;

/// Adds a move: a line, or an arc in so many chords that they leave it by less than 0.5 µm.
fn chords(points: &mut Vec<Vec3>, step: &Move) {
    if let (Shape::Arc { centre, axis, sweep_rad }, Some(&from)) = (step.shape, points.last()) {
        let d = from - centre;
        for k in 1..CHORDS {
            let (sin, cos) = (sweep_rad * f64::from(k) / f64::from(CHORDS)).sin_cos();
            points.push(centre + d * cos + axis.cross(d) * sin);
        }
    }
    points.push(step.to.linear);
}

/// Largest distance of the axes from the lines of the track, followed along it.
fn contour_error(track: &Track, samples: &[Sample]) -> f64 {
    let mut points = vec![track.start.linear];
    for step in &track.moves {
        chords(&mut points, step);
    }
    let (mut here, mut worst) = (0, 0.0_f64);
    for sample in samples {
        let p = Vec3::new(sample.joints[0], sample.joints[1], sample.joints[2]);
        let last = (here + 3 * CHORDS as usize).min(points.len() - 2);
        let near = |k: usize| off(p, points[k], points[k + 1]);
        let first = here.saturating_sub(1);
        let (best, distance) =
            (first..=last).map(|k| (k, near(k))).fold((here, f64::INFINITY), |best, next| {
                if next.1 < best.1 - 1e-9 { next } else { best }
            });
        here = here.max(best);
        worst = worst.max(distance);
    }
    worst
}

#[test]
fn the_path_stays_within_its_tolerance() {
    for (kind, program, seed, hidden, track) in cases(0..3) {
        let tolerance_mm = match &hidden.family {
            // the average behind the rounding is not part of its promise: a T²/24 (derived)
            Family::Rounded(family) => {
                let accel = hidden.axes.iter().take(3).map(|a| a.accel).fold(0.0, f64::max);
                family.tolerance_mm + 1.5 * accel * family.filter_s * family.filter_s / 24.0
            }
            Family::Band(family) => family.tolerance_mm,
            _ => continue,
        };
        if program == Program::TiltedRaster {
            continue;
        }
        let timing = run_sampled(&hidden, &track).unwrap();
        let worst = contour_error(&track, &timing.samples);
        assert!(
            worst <= tolerance_mm * 1.02 + 0.0005,
            "{kind:?} {program:?} {seed}: {worst} mm of {tolerance_mm}"
        );
        assert!(worst > 0.0, "{kind:?} {program:?} {seed}: no corner was rounded");
    }
}

#[test]
fn every_run_ends_where_the_track_ends() {
    for (kind, program, seed, hidden, track) in cases(0..3) {
        let timing = run_sampled(&hidden, &track).unwrap();
        let end = track.moves.last().unwrap().to;
        let at = timing.samples.last().unwrap().joints;
        let p = Vec3::new(at[0], at[1], at[2]);
        assert!(p.distance(end.linear) < 1e-9, "{kind:?} {program:?} {seed}: {p}");
        let rising = timing.samples.windows(2).all(|s| s[0].time_s <= s[1].time_s + 1e-12);
        assert!(rising, "{kind:?} {program:?} {seed}: time runs back");
    }
}

#[test]
fn half_the_clock_gives_the_same_time() {
    for (kind, program, seed, hidden, track) in cases(0..3) {
        let whole = run(&hidden, &track).unwrap();
        let half = Hidden { sample_s: 0.5 * hidden.sample_s, ..hidden.clone() };
        let halved = run(&half, &track).unwrap();
        let moves = |t: &[f64]| t.iter().sum::<f64>();
        let change = moves(&halved.moves_s) / moves(&whole.moves_s) - 1.0;
        assert!(change.abs() < 0.002, "{kind:?} {program:?} {seed}: {change}");
        assert_eq!(whole, run(&hidden, &track).unwrap());
    }
}

#[test]
fn families_differ_by_more_than_a_fit_may_miss() {
    let track = Program::Pocket.track(1, 20.0);
    let mut moves: Vec<f64> = Kind::ALL
        .into_iter()
        .map(|kind| {
            let mut hidden = zoo(kind, Chassis::Three, 1).unwrap().hidden;
            // the same axes for all
            hidden.axes = zoo(Kind::Band, Chassis::Three, 1).unwrap().hidden.axes;
            run(&hidden, &track).unwrap().moves_s.iter().sum()
        })
        .collect();
    moves.sort_by(f64::total_cmp);
    assert!(moves[4] > 1.1 * moves[0], "{moves:?}");
}

fn any_track() -> impl Strategy<Value = Track> {
    let step = (
        prop::array::uniform3(-20.0..20.0),
        prop::array::uniform2(-1.0..1.0),
        0_usize..4,
        1.0..300.0,
        prop::bool::ANY,
        prop::bool::ANY,
    );
    prop::collection::vec(step, 1..12).prop_map(|steps| {
        let moves = steps.into_iter().map(|(linear, rotary, how, feed, tip, stop)| Move {
            to: Place { linear: Vec3::from_array(linear), rotary },
            shape: Shape::Line,
            feed: match how {
                0 => Feed::Rapid,
                1 => Feed::Time(feed / 100.0),
                _ => Feed::Speed(feed),
            },
            frame: if tip { Frame::Tip } else { Frame::Axes },
            stop,
            block: 0,
            tool: 0,
        });
        Track { start: Place::default(), moves: moves.collect(), waits: Vec::new() }
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn any_lines_are_run_to_their_end(track in any_track(), seed in 0_u64..1000) {
        for kind in Kind::ALL {
            let hidden = zoo(kind, Chassis::Table, seed).unwrap().hidden;
            let timing = run_sampled(&hidden, &track).unwrap();
            prop_assert!(timing.moves_s.iter().all(|s| s.is_finite() && *s >= 0.0));
            prop_assert!(timing.total_s < 600.0, "{:?}: {}", kind, timing.total_s);
            let [speeds, _] = extremes(&timing.samples, hidden.sample_s);
            for (i, axis) in hidden.axes.iter().enumerate() {
                prop_assert!(speeds[i] <= axis.speed * 1.02, "{:?} {}", kind, i);
            }
        }
    }
}
