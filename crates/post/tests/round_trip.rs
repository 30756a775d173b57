//! What is written reads back: the same path within a micrometre, the same time within a thousandth.

use geom::Vec3;
use machine::track::{Feed, Frame, Move, Shape};
use machine::{
    AxisPosition, AxisSpec, Kinematics, Machine, MachineSpec, Mounting, RotaryTurn, RouteOptions,
    Track, TrackOptions, TrackTimer,
};
use nc::{Dialect, ReadOptions};
use post::{Coolant, Job, Piece, Tool, Written, Zone, program};
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

fn job(machine: &Machine, track: Track) -> Job<'_> {
    let tips = track.moves.iter().map(|m| m.to.linear).chain([track.start.linear]);
    Job {
        title: "Crown".into(),
        machine,
        zone: Zone::around(tips).expect("there are moves"),
        clear_mm: 10.0,
        tools: vec![Tool {
            number: 7,
            words: "ball 12".into(),
            length_mm: LENGTH_MM,
            radius_mm: 20.0,
        }],
        pieces: vec![Piece {
            name: "Finish".into(),
            tool: 0,
            rpm: 12_000.0,
            coolant: Some(Coolant::Flood),
            predicted_s: 1.0,
            track,
            restarts: Vec::new(),
            arc_mm: 0.0,
            chord_mm: 0.002,
        }],
    }
}

const LENGTH_MM: f64 = 60.0;

fn route() -> RouteOptions {
    let mounting = Mounting { tool_length_mm: LENGTH_MM, ..Mounting::default() };
    RouteOptions { mounting, ..RouteOptions::default() }
}

fn time_s(track: &Track, machine: &Machine) -> f64 {
    let options = TrackOptions { route: route(), ..TrackOptions::default() };
    let timer = TrackTimer::new(track, machine, &options).expect("drivable");
    timer.times(&machine::Scenario::default()).expect("drivable").total_s
}

fn read(text: &str, dialect: &Dialect, machine: &Machine) -> nc::Program {
    nc::read(text.as_bytes(), dialect, machine, &ReadOptions::default())
        .unwrap_or_else(|faults| panic!("{}\n{text}", faults[0]))
}

/// The read moves of the lines that were asked for.
fn same_lines(read: &nc::Program, written: &Written) -> Vec<Move> {
    let lines: Vec<u32> = written.asked.iter().map(|a| a.line).collect();
    let moves = read.track.moves.iter().filter(|m| lines.contains(&m.block));
    moves.copied().collect()
}

#[test]
fn path_and_time_come_back() {
    for (layout, dialect, direction) in [
        ("XYZ", "a", 1.0),
        ("XYZ", "b", 1.0),
        ("XYZ-AC", "a", 1.0),
        ("XYZ-AC", "a", -1.0),
        ("XYZ-AC", "b", -1.0),
        ("XYZ-BC", "a", 1.0),
        ("XYZ-BC", "b", 1.0),
        ("XYZ+AC", "a", 1.0),
        ("XYZ-C+B", "a", 1.0),
    ] {
        let machine = machine(layout, dialect, direction);
        let toolpath = passes(layout == "XYZ");
        let track = Track::of_toolpath(&toolpath, &machine, &route()).expect("within reach");
        let own = Dialect::named(dialect).expect("packaged");
        let written = program(&job(&machine, track.clone()), &own).expect("it can be written");
        let read = read(&written.text, &own, &machine);
        let moves = same_lines(&read, &written);
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

/// The tool is on its way in or out along its own axis, or high over everything, wherever it is not
/// on the path.
#[test]
fn tools_come_and_go_along_their_axis() {
    for (layout, turn, dialect) in [
        ("XYZ-AC", RotaryTurn::Standing, "a"),
        ("XYZ-AC", RotaryTurn::Standing, "b"),
        ("XYZ-AC", RotaryTurn::TipControl, "a"),
        ("XYZ+AC", RotaryTurn::Standing, "a"),
        ("XYZ-BC", RotaryTurn::TipControl, "a"),
    ] {
        let mut machine = machine(layout, dialect, 1.0);
        machine.rotary_turn = turn;
        let track = Track::of_toolpath(&passes(false), &machine, &route()).expect("within reach");
        let own = Dialect::named(dialect).expect("packaged");
        let job = job(&machine, track.clone());
        let written = program(&job, &own).expect("it can be written");
        let read = read(&written.text, &own, &machine);
        let moves = &read.track.moves;
        let mounting = Mounting::default();
        let kinematics = Kinematics::new(&machine, &mounting);
        let reaches = |place: Vec3| move |m: &Move| m.to.linear.distance(place) < 1e-3;
        let last = track.moves.last().expect("moves").to;
        let start = moves.iter().position(reaches(track.start.linear)).expect("the start");
        let end = moves.iter().rposition(reaches(last.linear)).expect("the end");
        for (at, other) in [(start, start - 1), (end, end + 1)] {
            let (place, outer) = (moves[at].to, moves[other].to);
            let axis = kinematics.axis_at(place.rotary);
            let way = outer.linear - place.linear;
            assert!(way.normalize().distance(axis) < 1e-4, "{layout} {turn:?}");
            let clear = job.clear_mm + job.tools[0].radius_mm - 1e-3;
            let beyond = (0..3).map(|k| {
                (outer.linear[k] - job.zone.high[k]).max(job.zone.low[k] - outer.linear[k])
            });
            assert!(beyond.fold(f64::MIN, f64::max) >= clear, "{layout}: it is out of the zone");
        }
        // where it is not within the operation the rotary axes turn with Z at its reference, or
        // high over the zone
        for i in (1..start).chain(end + 2..moves.len()) {
            let before = read.track.before(i, &kinematics);
            if moves[i].to.rotary == before.rotary {
                continue;
            }
            match turn {
                RotaryTurn::Standing => {
                    assert_eq!(moves[i].frame, Frame::Axes);
                    assert!(moves[i].to.linear.distance(before.linear) < 1e-9, "linear axes stand");
                    assert!((before.linear.z - machine.reference_mm.z).abs() < 1e-9);
                }
                RotaryTurn::TipControl => {
                    assert!(before.linear.z >= job.zone.high.z + 30.0 - 1e-3);
                    assert!(moves[i].to.linear.distance(before.linear) < 1e-3);
                }
            }
        }
    }
}

#[test]
fn axis_positions_and_inverse_time_give_the_same_path() {
    for layout in ["XYZ-AC", "XYZ-BC", "XYZ+AC"] {
        let mut machine = machine(layout, "a", -1.0);
        machine.tip_control = false;
        let track = Track::of_toolpath(&passes(false), &machine, &route()).expect("within reach");
        let written = program(&job(&machine, track.clone()), &Dialect::a()).expect("written");
        assert!(written.text.lines().take(3).any(|l| l == "(WORDS=AXES)"));
        assert!(written.text.contains("G93"));
        let read = read(&written.text, &Dialect::a(), &machine);
        let kinematics = Kinematics::new(&machine, &route().mounting);
        // every tip of the program lies on the polyline that was asked for, and the feeds take as
        // long as path over feed
        let tips: Vec<Vec3> = std::iter::once(track.start)
            .chain(track.moves.iter().map(|m| m.to))
            .map(|p| p.linear)
            .collect();
        let mut asked_s = 0.0;
        let mut got_s = 0.0;
        for (w, m) in tips.windows(2).zip(&track.moves) {
            if let Feed::Speed(speed) = m.feed {
                asked_s += w[0].distance(w[1]) / speed;
            }
        }
        let mut from = read.track.start;
        for step in &read.track.moves {
            assert_eq!(step.frame, Frame::Axes);
            match step.feed {
                Feed::Rapid => {}
                Feed::Time(seconds) => {
                    got_s += seconds;
                    for t in [0.5, 1.0] {
                        let turn =
                            |k: usize| from.rotary[k] + t * (step.to.rotary[k] - from.rotary[k]);
                        let axes = from.linear.lerp(step.to.linear, t);
                        let tip = kinematics.tip_at(axes, [turn(0), turn(1)]);
                        let off = tips.windows(2).map(|w| off_segment(tip, w[0], w[1]));
                        let off = off.fold(f64::INFINITY, f64::min);
                        assert!(off < 0.002 + 2e-4, "{layout}: {off}");
                    }
                }
                Feed::Speed(speed) => got_s += from.linear.distance(step.to.linear) / speed,
            }
            from = step.to;
        }
        assert!((got_s / asked_s - 1.0).abs() < 1e-3, "{layout}: {got_s} {asked_s}");
    }
}

fn off_segment(p: Vec3, a: Vec3, b: Vec3) -> f64 {
    let along = b - a;
    let t = ((p - a).dot(along) / along.length_squared().max(1e-12)).clamp(0.0, 1.0);
    p.distance(a + along * t)
}

#[test]
fn travel_is_checked_with_the_ways_and_the_other_solution_is_the_same_motion() {
    let mut machine = machine("XYZ-AC", "a", 1.0);
    let track = Track::of_toolpath(&passes(false), &machine, &route()).expect("within reach");
    let other = track.other_solution(&machine).expect("a table has two");
    let kinematics = Kinematics::new(&machine, &Mounting::default());
    for (a, b) in track.moves.iter().zip(&other.moves) {
        assert!(a.to.rotary[1] * b.to.rotary[1] < 0.0, "A on the other side");
        let (p, q) = (kinematics.axis_at(a.to.rotary), kinematics.axis_at(b.to.rotary));
        assert!(p.distance(q) < 1e-9 && a.to.linear == b.to.linear);
    }
    // A may only go to the side on which the track is not
    let side = track.moves[0].to.rotary[1].signum();
    machine.axes[4].travel = Some(if side > 0.0 { [-1.5, 0.0] } else { [0.0, 1.5] });
    let refused = program(&job(&machine, track), &Dialect::a()).expect_err("out of travel");
    assert!(refused.why.contains("axis A") && refused.why.contains("deg beyond"), "{refused}");
    program(&job(&machine, other.clone()), &Dialect::a()).expect("the other side is free");
    // a Z that ends below the height that the way needs is said on the way in
    machine.axes[2].travel = Some([-500.0, 0.0]);
    machine.axes[1].travel = Some([-5.0, 5.0]);
    let refused = program(&job(&machine, other), &Dialect::a()).expect_err("out of travel");
    assert!(refused.why.contains("axis Y") && refused.why.contains("mm beyond"), "{refused}");
}

#[test]
fn a_dialect_of_a_file_writes_and_reads_the_same_words() {
    let text = include_bytes!("../../../examples/dialects/shop-mill.toml");
    let dialect =
        study::read::dialect_file(text, "shop-mill.toml").unwrap_or_else(|e| panic!("{e}"));
    let machine = machine("XYZ-AC", "a", -1.0);
    let track = Track::of_toolpath(&passes(false), &machine, &route()).expect("within reach");
    let mut job = job(&machine, track);
    job.pieces[0].coolant = Some(Coolant::Air);
    let written = program(&job, &dialect).expect("it can be written");
    for words in ["%\nO4711\n", "N5 G71 G90", "G43.4 H7", "\nN", " M50\n", " G49\n"] {
        assert!(written.text.contains(words), "{words}: {}", &written.text[..900]);
    }
    let back = read(&written.text, &dialect, &machine);
    assert_eq!(back.unread, []);
    same(&back, &written);
    // an axis that stands: words in the plane of the tool, arcs in it
    let flat = |p: &Pose| Pose { tip: p.tip, axis: Vec3::new(0.0, -0.6, 0.8) };
    let mut toolpath = passes(true);
    for run in &mut toolpath.runs {
        run.poses = run.poses.iter().map(flat).collect();
    }
    let track = Track::of_toolpath(&toolpath, &machine, &route()).expect("within reach");
    job.pieces[0].track = track;
    let written = program(&job, &dialect).expect("it can be written");
    assert!(written.text.contains("G68.2 X0. Y0. Z0. I36.8698976 J0. K0."), "{}", written.text);
    assert!(written.text.contains(" G69\n"));
    let back = read(&written.text, &dialect, &machine);
    same(&back, &written);
    let plain = crate::machine("XYZ", "a", 1.0);
    let program = nc::read(
        b"O1\nT1 M6\nS100 M3\nG0 X0. Y0. Z9.\nM70\nM72\nG4 P1500\nM30",
        &dialect,
        &plain,
        &ReadOptions::default(),
    )
    .expect("sound");
    assert_eq!(program.unread.len(), 1, "M70 has a meaning, M72 has none");
}

/// What was read is what was asked for.
fn same(read: &nc::Program, written: &Written) {
    let moves = same_lines(read, written);
    assert_eq!(moves.len(), written.asked.len());
    for (m, asked) in moves.iter().zip(&written.asked) {
        assert_eq!(m.block, asked.line);
        let off = m.to.linear.distance(asked.step.to.linear);
        assert!(off < 1e-3, "line {}: {off}", asked.line);
    }
}

#[test]
fn a_program_can_be_entered_at_its_restarts() {
    let machine = machine("XYZ-AC", "a", 1.0);
    let track = Track::of_toolpath(&passes(false), &machine, &route()).expect("within reach");
    let mut job = job(&machine, track.clone());
    let middle = track.moves.iter().position(|m| m.block == 8).expect("a later pass");
    job.pieces[0].restarts = vec![middle];
    let written = program(&job, &Dialect::a()).expect("it can be written");
    assert_eq!(written.sections.len(), 2);
    let at = written.text.find("N1010 ").expect("the restart has its number");
    let safe = written.text.lines().find(|l| l.starts_with("N1000")).expect("the operation");
    let head = &written.text[..written.text.find("(OPERATION 1: FINISH)").expect("a title")];
    // entered there, it does what the whole program does from there on
    let entered = format!("{head}T7 M6\n{}", &written.text[at..]);
    assert!(entered.contains(&safe[6..]), "everything modal is said again");
    let whole = read(&written.text, &Dialect::a(), &machine);
    let part = read(&entered, &Dialect::a(), &machine);
    let tail = |p: &nc::Program| {
        let count = written.sections[1].asked.len() - 1;
        let moves = &p.track.moves;
        let last = moves.len() - 2;
        moves[last - count..last].iter().map(|m| (m.to, m.feed)).collect::<Vec<_>>()
    };
    assert_eq!(tail(&whole), tail(&part));
}

#[test]
fn arcs_stay_within_what_chords_may_leave_and_keep_their_feed() {
    // passes along y over a cylinder and steps of a circle in the plane: 5 um chords
    let machine = machine("XYZ", "a", 1.0);
    let radius = 40.0f64;
    let step = 2.0 * (1.0f64 - 0.005 / radius).acos();
    let mut runs = Vec::new();
    for (i, y) in [-3.0, 0.0, 3.0].into_iter().enumerate() {
        let pose = |k: i32| {
            let angle = 0.4 - step * f64::from(k);
            let tip = Vec3::new(radius * angle.sin(), y, radius * angle.cos());
            Pose { tip, axis: Vec3::Z }
        };
        let poses: Vec<Pose> = (0..40).map(pose).collect();
        let tip_feed_mm_s = vec![50.0; 39];
        runs.push(Run { kind: RunKind::Cut, pass: i, poses, contacts: Vec::new(), tip_feed_mm_s });
    }
    let track = Track::of_toolpath(&Toolpath { runs }, &machine, &route()).expect("straight");
    let mut job = job(&machine, track.clone());
    job.pieces[0].arc_mm = 0.001;
    job.pieces[0].chord_mm = 0.0051;
    for dialect in
        [Dialect::a(), Dialect::b(), Dialect { arcs: dialect::ArcWords::Radius, ..Dialect::a() }]
    {
        let written = program(&job, &dialect).expect("it can be written");
        assert_eq!(written.text.matches("G18").count(), 1, "{}", written.text);
        let read = read(&written.text, &dialect, &machine);
        let arcs: Vec<&Move> =
            read.track.moves.iter().filter(|m| matches!(m.shape, Shape::Arc { .. })).collect();
        assert_eq!(arcs.len(), 3);
        for arc in arcs {
            let Shape::Arc { centre, sweep_rad, .. } = arc.shape else { panic!("an arc") };
            assert_eq!(arc.feed, Feed::Speed(50.0));
            // derived: the circle that was divided
            assert!(centre.x.hypot(centre.z) < 2e-3, "{centre}");
            assert!((sweep_rad - 39.0 * step).abs() < 1e-4);
        }
    }
    let straight = Dialect { arcs: dialect::ArcWords::Straight, ..Dialect::a() };
    let written = program(&job, &straight).expect("it can be written");
    assert!(!written.text.contains("G18") && written.asked.len() > 117);
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
    let text = program(&job, &Dialect::a()).expect("it can be written").text;
    assert_eq!(text.matches("G21 G90 G17 G94 G40 G54 G64").count(), 2);
    assert_eq!(text.matches("S12000 M3").count(), 2);
    assert_eq!(text.matches("T7 M6").count(), 1);
    for words in ["NOT MEASURED", "DOOR CLOSED", "QUALIFIED PERSON", "SIGN OF EVERY ROTARY", "M30"]
    {
        assert!(text.contains(words), "{words}");
    }
    assert!(text.lines().all(|l| l.len() < 100 && l.is_ascii()));
}
