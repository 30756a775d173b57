//! Programs and the motion that they ask for.

mod shop;

use machine::Event;
use machine::track::{Feed, Frame, Shape};
use nc::Dialect;
use shop::{ends, read, read_as};
use std::f64::consts::{FRAC_PI_2, TAU};

const HEAD: &str = "%\nO1000 (PART)\nG21 G17 G90 G94\nT1 M6\nS8000 M3\n";

fn body(text: &str) -> String {
    format!("{HEAD}{text}\nM30\n%\n")
}

#[test]
fn moves_stand_at_their_lines_with_feed_and_tool() {
    let program = read(&body("G0 X10. Y5. Z2.\nG1 Z-1. F600.\nX20. F1200.\n(stays)\nY-3.5"));
    let at = [[10.0, 5.0, 2.0], [10.0, 5.0, -1.0], [20.0, 5.0, -1.0], [20.0, -3.5, -1.0]];
    assert_eq!(ends(&program), at);
    let moves = &program.track.moves;
    assert_eq!(moves.iter().map(|m| m.block).collect::<Vec<_>>(), [6, 7, 8, 10]);
    let feeds: Vec<Feed> = moves.iter().map(|m| m.feed).collect();
    let expected = [Feed::Rapid, Feed::Speed(10.0), Feed::Speed(20.0), Feed::Speed(20.0)];
    assert_eq!(feeds, expected);
    assert!(moves.iter().all(|m| m.tool == 1 && m.frame == Frame::Axes));
    assert_eq!(program.tools, [1]);
    assert_eq!(program.unread, []);
    assert_eq!(program.blocks, 8, "blank lines, comments and numbers are none");
}

#[test]
fn arcs_helices_and_full_circles() {
    let text = "G0 X10. Y0. Z0.\nG2 X0. Y-10. I-10. J0. F600.\nG3 X10. Y0. R10.\nG3 I-10. Z-2.\n\
                G18 G2 X0. Z8. I-10. K0.\nG19 G3 Y10. Z-2. J0. K-10.";
    let program = read(&body(text));
    let sweeps: Vec<f64> = program
        .track
        .moves
        .iter()
        .filter_map(|m| match m.shape {
            Shape::Arc { sweep_rad, .. } => Some(sweep_rad),
            Shape::Line => None,
        })
        .collect();
    let expected = [FRAC_PI_2, FRAC_PI_2, TAU, FRAC_PI_2, FRAC_PI_2 * 3.0];
    assert_eq!(sweeps.len(), expected.len());
    for (got, wanted) in sweeps.iter().zip(expected) {
        assert!((got - wanted).abs() < 1e-9, "{got} {wanted}");
    }
    let Shape::Arc { centre, axis, .. } = program.track.moves[3].shape else { panic!("an arc") };
    assert_eq!(centre.to_array(), [0.0, 0.0, 0.0]);
    assert_eq!(axis.to_array(), [0.0, 0.0, 1.0]);
    let Shape::Arc { axis, .. } = program.track.moves[4].shape else { panic!("an arc") };
    assert_eq!(axis.to_array(), [0.0, -1.0, 0.0], "clockwise about +Y");
}

#[test]
fn increments_inches_and_feed_kinds() {
    let text = "G91 G0 X1.\nX1. Y1.\nG90 G20 G1 X1. F10.\nG93 X2. F30.\nG95 X3. F0.01";
    let program = read(&body(text));
    let first = ends(&program)[..2].to_vec();
    assert_eq!(first, [[1.0, 0.0, 400.0], [2.0, 1.0, 400.0]]);
    let feeds: Vec<Feed> = program.track.moves[2..].iter().map(|m| m.feed).collect();
    let inch_min = 254.0 / 60.0;
    assert_eq!(feeds[0], Feed::Speed(inch_min));
    assert_eq!(feeds[1], Feed::Time(2.0), "30 per minute");
    let Feed::Speed(speed) = feeds[2] else { panic!("a speed") };
    assert!((speed - 0.254 * 8000.0 / 60.0).abs() < 1e-9);
    assert!((ends(&program)[4][0] - 76.2).abs() < 1e-12);
    assert!(program.unread.iter().any(|u| u.text == "G20, G21"), "units are mixed");
}

#[test]
fn reference_machine_coordinates_and_shifts() {
    let text = "G0 X10. Y20. Z5.\nG91 G28 Z0.\nG90 G53 G0 X-50.\nG52 X100.\nG0 X0.\nG52 X0.\n\
                G92 X7.\nX8.\nG28";
    let program = read(&body(text));
    let expected = [
        [10.0, 20.0, 5.0],
        [10.0, 20.0, 400.0],
        [-50.0, 20.0, 400.0],
        [100.0, 20.0, 400.0],
        [101.0, 20.0, 400.0],
        [0.0, 0.0, 400.0],
    ];
    assert_eq!(ends(&program), expected);
}

#[test]
fn the_plane_turns_about_a_point() {
    let text =
        "G0 X10. Y0. Z0.\nG68 X0. Y0. R90.\nG1 X20. Y0. F100.\nG3 X0. Y20. I-20.\nG69\nG1 X1. Y1.";
    let program = read(&body(text));
    let at = ends(&program);
    let near = |a: [f64; 3], b: [f64; 3]| a.iter().zip(b).all(|(x, y)| (x - y).abs() < 1e-9);
    assert!(near(at[1], [0.0, 20.0, 0.0]), "{:?}", at[1]);
    assert!(near(at[2], [-20.0, 0.0, 0.0]), "{:?}", at[2]);
    assert!(near(at[3], [1.0, 1.0, 0.0]));
}

#[test]
fn waits_come_in_order_and_the_tool_in_the_spindle_stays() {
    let text = "G4 X1.5\nG4 P500\nG4 P0.5\nM8\nT1 M6\nS4000\nM5\nT2 M6\nM9";
    let program = read(&body(text));
    let events: Vec<&Event> = program.track.waits.iter().map(|w| &w.event).collect();
    let turn = |from_rpm, to_rpm| Event::Spindle { from_rpm, to_rpm };
    let expected = [
        &Event::ToolChange,
        &turn(0.0, 8000.0),
        &Event::Dwell(1.5),
        &Event::Dwell(0.5),
        &Event::Dwell(0.5),
        &Event::Word("M8".into()),
        &turn(8000.0, 4000.0),
        &turn(4000.0, 0.0),
        &Event::ToolChange,
        &Event::Word("M9".into()),
        &Event::Word("M30".into()),
    ];
    assert_eq!(events, expected);
    assert_eq!(program.tools, [1, 2]);
}

#[test]
fn exact_stops_hold_as_long_as_their_word() {
    let program = read(&body("G1 F100. X1.\nG9 X2.\nX3.\nG61 X4.\nX5.\nG64 X6."));
    let stops: Vec<bool> = program.track.moves.iter().map(|m| m.stop).collect();
    assert_eq!(stops, [false, true, false, true, true, false]);
}

#[test]
fn drilling_goes_down_and_up_at_every_place() {
    let text = "G0 X0. Y0. Z50.\nG99 G81 X10. Y0. Z-5. R2. F300.\nX20.\nG98 X30.\nG80\nG0 X0.";
    let at = ends(&read(&body(text)));
    let expected = [
        [0.0, 0.0, 50.0],
        [10.0, 0.0, 50.0],
        [10.0, 0.0, 2.0],
        [10.0, 0.0, -5.0],
        [10.0, 0.0, 2.0],
        [20.0, 0.0, 2.0],
        [20.0, 0.0, -5.0],
        [20.0, 0.0, 2.0],
        [30.0, 0.0, 2.0],
        [30.0, 0.0, -5.0],
        [30.0, 0.0, 50.0],
        [0.0, 0.0, 50.0],
    ];
    assert_eq!(at, expected);
}

#[test]
fn cycles_repeat_in_increments_and_tap_turns_the_spindle_round() {
    let text = "G0 X0. Y0. Z20.\nG91 G99 G84 X5. R-18. Z-12. L3 F800.\nG80";
    let program = read(&body(text));
    let places: Vec<f64> = program
        .track
        .moves
        .iter()
        .filter(|m| m.to.linear.z == -10.0)
        .map(|m| m.to.linear.x)
        .collect();
    assert_eq!(places, [5.0, 10.0, 15.0]);
    let turns = program.track.waits.iter().filter(|w| matches!(w.event, Event::Spindle { .. }));
    assert_eq!(turns.count(), 1 + 6);
}

#[test]
fn subprograms_are_run_as_often_as_asked() {
    let text = "G0 X0. Y0. Z0.\nM98 P200 L3\nM98 P20300\nM30\nO200\nG91 G1 X1. F100.\nG90 M99\n\
                O300\nG91 G1 Y1. F100.\nG90\nM99\n";
    let program = read(&format!("{HEAD}{text}%\n"));
    let at = ends(&program);
    assert_eq!(at.last(), Some(&[3.0, 2.0, 0.0]));
    assert_eq!(program.unread, []);
}

#[test]
fn five_axis_words_are_tips_unless_the_head_says_axes() {
    let text = "G1 X1. Y2. Z3. A-30. C90. F500.";
    let tip = read_as(&Dialect::a(), "XYZ-AC", &body(text)).expect("sound");
    let step = tip.track.moves[0];
    assert_eq!(step.frame, Frame::Tip);
    // C lies next to the part
    assert_eq!(step.to.rotary, [90f64.to_radians(), (-30f64).to_radians()]);
    let axes = read_as(&Dialect::a(), "XYZ-AC", &format!("(WORDS=AXES)\n{}", body(text)));
    assert_eq!(axes.expect("sound").track.moves[0].frame, Frame::Axes);
}

#[test]
fn the_reference_under_tip_control_is_where_the_axes_stand() {
    let text = "G1 X10. Y0. Z5. A-90. F500.\nG91 G28 Z0.\nG28 A0.\nG90 G0 Z7.";
    let program = read_as(&Dialect::a(), "XYZ-AC", &body(text)).expect("sound");
    let moves = &program.track.moves;
    // with A at -90 degrees the tip at (10, 0, 5) needs Y and Z turned by +90 degrees about X
    for (step, angle) in [(&moves[1], -90f64), (&moves[2], 0.0)] {
        assert_eq!(step.frame, Frame::Axes, "each axis goes by itself");
        assert!(step.to.linear.distance([10.0, -5.0, 400.0].into()) < 1e-9, "{}", step.to.linear);
        assert!((step.to.rotary[1] - angle.to_radians()).abs() < 1e-12);
    }
    assert_eq!(moves[3].frame, Frame::Tip);
    assert!(moves[3].to.linear.distance([10.0, -5.0, 7.0].into()) < 1e-9);
}

#[test]
fn tip_control_may_be_switched_while_a_rotary_axis_stands_off_zero() {
    let text = "T1 M6\nS1000 M3\nG0 X10. Y20. Z300.\nA-90.\nM80\nG1 Z5. F500.\nM81\nG1 X11.\nM30";
    let program = read_as(&Dialect::b(), "XYZ-AC", text).expect("sound");
    let moves = &program.track.moves;
    let frames: Vec<Frame> = moves.iter().map(|m| m.frame).collect();
    assert_eq!(frames, [Frame::Axes, Frame::Axes, Frame::Tip, Frame::Axes]);
    // A -90: the tip is Rx(A) of the axes, (x, z, -y); the words that are left out stay the tip's
    assert!(
        moves[2].to.linear.distance([10.0, 300.0, 5.0].into()) < 1e-9,
        "{}",
        moves[2].to.linear
    );
    assert!(
        moves[3].to.linear.distance([11.0, -5.0, 300.0].into()) < 1e-9,
        "{}",
        moves[3].to.linear
    );
}

#[test]
fn dialect_b_reads_its_own_structure() {
    let text = "%\n:1 ; part\nG71 G90 G17\nT=3\nS=5000 M3 ; go\nG0 X0 Y0 Z20\n\
                G83 R2 Z10 Q5 F=200\nG79 X10 Y0\nG1 X30 Y0 F300\nG3 X20 Y10 I20 J0\nG4 F2\nM30\n";
    let program = read_as(&Dialect::b(), "XYZ", text).expect("sound");
    let deepest = ends(&program).iter().map(|p| p[2]).fold(f64::MAX, f64::min);
    assert_eq!(deepest, -8.0, "10 below the start level");
    assert_eq!(program.tools, [3]);
    let last = program.track.moves.last().expect("moves");
    let Shape::Arc { centre, .. } = last.shape else { panic!("an arc") };
    assert_eq!([centre.x, centre.y], [20.0, 0.0], "centres count from program zero");
    assert!(program.track.waits.iter().any(|w| w.event == Event::Dwell(2.0)));
    assert_eq!(program.unread, []);
}

#[test]
fn line_ends_blanks_and_cases_do_not_matter() {
    let plain = body("G0 X1. Y2. Z3.\nG1 X-.5 F100.");
    let spaced = plain.replace('\n', "\r\n").replace('X', "x ").replace("G1", "g01");
    assert_eq!(read(&plain).track, read(&spaced).track);
}
