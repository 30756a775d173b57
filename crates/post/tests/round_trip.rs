//! What is written reads back: the same path within a micrometre, the same time within a thousandth.

use geom::Vec3;
use machine::track::{Feed, Move, Shape};
use machine::{
    AxisPosition, AxisSpec, Kinematics, Machine, MachineSpec, Mounting, RouteOptions, Track,
    TrackOptions, TrackTimer,
};
use nc::{Dialect, ReadOptions};
use post::program::program;
use post::{Job, Piece, Tool, Words};
use toolpath::{Pose, Run, RunKind, Toolpath};

fn machine(layout: &str, dialect: &str, direction: f64) -> Machine {
    let mut spec = MachineSpec {
        id: "test".into(),
        layout: layout.into(),
        dialect: Some(dialect.into()),
        block_time_ms: Some(0.5),
        path_tolerance_mm: Some(0.01),
        ..MachineSpec::default()
    };
    for letter in ["X", "Y", "Z"] {
        let axis = AxisSpec {
            max_feed_mm_min: Some(40_000.0),
            accel_m_s2: Some(6.0),
            jerk_m_s3: Some(60.0),
            ..AxisSpec::default()
        };
        spec.axes.insert(letter.into(), axis);
    }
    for letter in layout.chars().skip(3).filter(char::is_ascii_alphabetic) {
        let axis = AxisSpec {
            max_feed_deg_min: Some(18_000.0),
            accel_deg_s2: Some(900.0),
            jerk_deg_s3: Some(9000.0),
            direction: Some(direction),
            ..AxisSpec::default()
        };
        spec.axes.insert(letter.to_string(), axis);
    }
    if layout.contains('+') {
        spec.pivot_length_mm = Some(180.0);
    }
    Machine::new(&spec).expect("sound")
}

/// Passes both ways over a crown, the axis leaned and swaying unless it is fixed.
fn passes(fixed: bool) -> Toolpath {
    let pose = |x: f64, y: f64, lift: f64| {
        let n = Vec3::new(x, y, (150.0f64 * 150.0 - x * x - y * y).sqrt()) / 150.0;
        let lean = 0.25 + 0.05 * (0.3 * x).sin();
        let axis = (n * lean.cos() + n.cross(Vec3::X).normalize() * lean.sin()).normalize();
        let axis = if fixed { Vec3::Z } else { axis };
        Pose { tip: n * 156.0 - axis * 6.0 - Vec3::Z * 100.0 + axis * lift, axis }
    };
    let mut runs = Vec::new();
    let mut run = |kind, poses: Vec<Pose>, feed: f64| {
        let tip_feed_mm_s = vec![feed; poses.len() - 1];
        runs.push(Run { kind, pass: 0, poses, contacts: Vec::new(), tip_feed_mm_s });
    };
    let at = |i: usize, pass: usize| {
        let x = -20.0 + 0.8 * i as f64;
        (if pass.is_multiple_of(2) { x } else { -x }, 1.7 * pass as f64 - 8.0)
    };
    for pass in 0..6 {
        let (x, y) = at(0, pass);
        run(RunKind::Approach, vec![pose(x, y, 5.0), pose(x, y, 0.0)], 20.0);
        let cut = (0..=50).map(|i| at(i, pass)).map(|(x, y)| pose(x, y, 0.0));
        run(RunKind::Cut, cut.collect(), 61.234);
        let (x, y) = at(50, pass);
        run(RunKind::Retract, vec![pose(x, y, 0.0), pose(x, y, 5.0)], f64::INFINITY);
        if pass < 5 {
            let (u, v) = at(0, pass + 1);
            run(RunKind::Rapid, vec![pose(x, y, 5.0), pose(u, v, 5.0)], f64::INFINITY);
        }
    }
    Toolpath { runs }
}

fn job(machine: &Machine, track: Track) -> Job {
    let letters = machine.axes.iter().skip(3);
    let rotary = letters.map(|a| (a.name.letter(), a.direction));
    Job {
        title: "Crown".into(),
        machine: "test".into(),
        rotary: rotary.collect(),
        safe_z_mm: 120.0,
        tools: vec![Tool { number: 7, words: "ball 12".into(), length_mm: 60.0 }],
        pieces: vec![Piece {
            name: "Finish".into(),
            tool: 0,
            rpm: 12_000.0,
            coolant: Some(8),
            predicted_s: 1.0,
            track,
        }],
    }
}

fn time_s(track: &Track, machine: &Machine) -> f64 {
    let timer = TrackTimer::new(track, machine, &TrackOptions::default()).expect("drivable");
    timer.times(&machine::Scenario::default()).expect("drivable").total_s
}

#[test]
fn path_and_time_come_back() {
    for (layout, dialect, direction) in [
        ("XYZ", "a", 1.0),
        ("XYZ", "b", 1.0),
        ("XYZ-AC", "a", 1.0),
        ("XYZ-AC", "a", -1.0),
        ("XYZ-BC", "a", 1.0),
        ("XYZ+AC", "a", 1.0),
    ] {
        let machine = machine(layout, dialect, direction);
        let toolpath = passes(layout == "XYZ");
        let route = RouteOptions::default();
        let track = Track::of_toolpath(&toolpath, &machine, &route).expect("within reach");
        let (words, own) = match dialect {
            "b" => (Words::b(), Dialect::b()),
            _ => (Words::a(), Dialect::a()),
        };
        let text = program(&job(&machine, track.clone()), &words).expect("it can be written");
        let read = nc::read(text.as_bytes(), &own, &machine, &ReadOptions::default())
            .unwrap_or_else(|faults| panic!("{layout} {dialect}: {}\n{text}", faults[0]));
        let moves = &read.track.moves;
        // the operation stands between the way there and the way back to safety
        let first = (0..moves.len())
            .find(|&i| moves[i].to.linear.distance(track.start.linear) < 1e-3)
            .expect("the start is reached");
        let same = &moves[first + 1..first + 1 + track.moves.len()];
        for (i, (read, written)) in same.iter().zip(&track.moves).enumerate() {
            let off = read.to.linear.distance(written.to.linear);
            assert!(off < 1e-3, "{layout} {dialect} move {i}: {off}");
            for k in 0..2 {
                assert!((read.to.rotary[k] - written.to.rotary[k]).abs() < 1e-6, "{layout} {i}");
            }
            assert_eq!(read.feed == Feed::Rapid, written.feed == Feed::Rapid);
            assert_eq!(read.shape, Shape::Line);
        }
        let own: Vec<Move> = same.iter().map(|m| Move { stop: false, ..*m }).collect();
        let back = Track { start: moves[first].to, moves: own, waits: Vec::new() };
        let (a, b) = (time_s(&track, &machine), time_s(&back, &machine));
        assert!((a / b - 1.0).abs() < 1e-3, "{layout} {dialect}: {a} {b}");
    }
}

#[test]
fn tips_from_axis_positions_come_back_to_the_pass() {
    for layout in ["XYZ-AC", "XYZ-BC", "XYZ+AC"] {
        let machine = machine(layout, "a", -1.0);
        let toolpath = passes(false);
        let track = Track::of_toolpath(&toolpath, &machine, &RouteOptions::default()).expect("ok");
        let kinematics = Kinematics::new(&machine, &Mounting::default());
        let poses: Vec<&Pose> = toolpath.runs.iter().flat_map(|r| &r.poses).collect();
        let mut found = 0;
        for step in &track.moves {
            let rotary = step.to.rotary.map(|a| -a);
            let at = |linear| kinematics.forward(&AxisPosition { linear, rotary });
            // the linear axes that hold the tip: forward is linear in them
            let offset = at(Vec3::ZERO);
            let turned = [Vec3::X, Vec3::Y, Vec3::Z].map(|e| at(e).tip - offset.tip);
            let frame = geom::Mat3::from_cols(turned[0], turned[1], turned[2]);
            let axes = frame.inverse() * (step.to.linear - offset.tip);
            let pose = at(axes);
            assert!(pose.tip.distance(step.to.linear) < 1e-9);
            found += usize::from(
                poses
                    .iter()
                    .any(|p| p.tip.distance(pose.tip) < 1e-6 && p.axis.distance(pose.axis) < 1e-6),
            );
        }
        // the others divide moves
        assert!(found >= poses.len() / 2, "{layout}: {found} of {}", poses.len());
    }
}

#[test]
fn every_operation_states_everything_again_and_the_head_warns() {
    let machine = machine("XYZ-AC", "a", 1.0);
    let toolpath = passes(false);
    let track = Track::of_toolpath(&toolpath, &machine, &RouteOptions::default()).expect("ok");
    let mut job = job(&machine, track);
    job.pieces.push(job.pieces[0].clone());
    let text = program(&job, &Words::a()).expect("it can be written");
    assert_eq!(text.matches("G21 G90 G17 G94 G40 G54 G64").count(), 2);
    assert_eq!(text.matches("S12000 M3").count(), 2);
    assert_eq!(text.matches("T7 M6").count(), 1);
    for words in ["NOT MEASURED", "DOOR CLOSED", "QUALIFIED PERSON", "SIGN OF EVERY ROTARY", "M30"]
    {
        assert!(text.contains(words), "{words}");
    }
    assert!(text.lines().all(|l| l.len() < 100 && l.is_ascii()));
}
