//! Machine files that cannot be meant: the key is named, and what to write instead.

mod shop;

use machine::Event;
use machine::{AxisName, Machine, MachineSpec};

fn message(change: impl FnOnce(&mut MachineSpec)) -> (String, String) {
    let mut spec = shop::spec("XYZ-AC");
    change(&mut spec);
    let error = Machine::new(&spec).expect_err("the file is wrong");
    (error.key().to_owned(), error.to_string())
}

fn axis<'a>(spec: &'a mut MachineSpec, letter: &str) -> &'a mut machine::AxisSpec {
    spec.axes.get_mut(letter).expect("the axis is in the layout")
}

#[test]
fn every_refusal_names_its_key() {
    type Change = fn(&mut MachineSpec);
    let cases: [(&str, Change); 14] = [
        ("layout", |s| s.layout = "XYZ-AD".into()),
        ("axis.C", |s| s.axes.retain(|letter, _| letter != "C")),
        ("axis.B", |s| s.axes.extend([("B".into(), shop::rotary(None))])),
        ("axis.X.travel_mm", |s| axis(s, "X").travel_mm = Some([300.0, -300.0])),
        ("axis.X.max_feed_mm_min", |s| axis(s, "X").max_feed_mm_min = None),
        ("axis.X.max_feed_mm_min", |s| axis(s, "X").max_feed_mm_min = Some(-1.0)),
        ("axis.X.accel_m_s2", |s| axis(s, "X").accel_m_s2 = Some(6000.0)),
        ("axis.X.jerk_m_s3", |s| axis(s, "X").jerk_m_s3 = Some(f64::NAN)),
        ("axis.X.travel_deg", |s| axis(s, "X").travel_deg = Some([0.0, 1.0])),
        ("axis.A.max_feed_mm_min", |s| axis(s, "A").max_feed_mm_min = Some(1.0)),
        ("axis.A.direction", |s| axis(s, "A").direction = Some(0.5)),
        ("pivot_length_mm", |s| s.pivot_length_mm = Some(100.0)),
        ("path_tolerance_mm", |s| s.path_tolerance_mm = Some(10.0)),
        ("m_codes.coolant", |s| s.m_codes.extend([("coolant".into(), 1.0)])),
    ];
    for (key, change) in cases {
        let (found, text) = message(change);
        assert_eq!(found, key, "{text}");
        assert!(text.contains("expected") && text.contains(';'), "{text}");
    }
}

#[test]
fn a_head_needs_its_pivot_length() {
    let mut spec = shop::spec("XYZ+AC");
    spec.pivot_length_mm = None;
    assert_eq!(Machine::new(&spec).unwrap_err().key(), "pivot_length_mm");
}

#[test]
fn what_is_left_out_is_assumed_by_name_and_widens_the_interval() {
    let known = shop::machine("XYZ-AC");
    assert!(known.assumptions.is_empty());
    let mut spec = shop::spec("XYZ-AC");
    axis(&mut spec, "X").jerk_m_s3 = None;
    axis(&mut spec, "C").accel_deg_s2 = None;
    spec.tool_change_s = None;
    let machine = Machine::new(&spec).unwrap();
    let keys: Vec<_> = machine.assumptions.iter().map(|a| a.key.as_str()).collect();
    assert_eq!(keys, ["axis.X.jerk_m_s3", "axis.C.accel_deg_s2", "tool_change_s"]);
    let jerk = machine.axis(AxisName::X).unwrap().jerk;
    assert!(jerk.assumed && jerk.low < jerk.value && jerk.value < jerk.high);
    // derived: 300 deg/s in 0.2 s
    assert!((machine.assumptions[1].value - 1500.0).abs() < 1e-9);
    assert!(machine.uncertainty().jerk.width() > known.uncertainty().jerk.width());
}

#[test]
fn events_take_what_the_file_says() {
    let mut spec = shop::spec("XYZ");
    spec.spindle_ramp_s = Some(1.5);
    spec.spindle.max_rpm = Some(15_000.0);
    spec.m_codes.insert("m08".into(), 0.8);
    let machine = Machine::new(&spec).unwrap();
    let takes = |event: Event| machine.event_s(&event, &machine.dynamics());
    assert_eq!(takes(Event::ToolChange), 4.5);
    assert_eq!(takes(Event::Spindle { from_rpm: 0.0, to_rpm: 15_000.0 }), 1.5);
    assert_eq!(takes(Event::Spindle { from_rpm: 15_000.0, to_rpm: 10_000.0 }), 0.5);
    assert_eq!(takes(Event::Dwell(0.4)), 0.4);
    assert_eq!((takes(Event::Word("M8".into())), takes(Event::Word("M9".into()))), (0.8, 0.0));
}
