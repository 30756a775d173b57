//! Machines for tests: a trunnion and its kin with round figures.
#![allow(dead_code, reason = "every test file uses a part of it")]

pub(crate) mod paths;

use geom::Vec3;
use machine::track::{Feed, Frame, Move, Place, Shape};
use machine::{AxisSpec, Machine, MachineSpec};

/// A straight move of the linear axes with the first tool.
pub(crate) fn line(x: f64, y: f64, z: f64, feed: Feed) -> Move {
    Move {
        to: Place { linear: Vec3::new(x, y, z), rotary: [0.0; 2] },
        shape: Shape::Line,
        feed,
        frame: Frame::Axes,
        stop: false,
        block: 0,
        tool: 1,
    }
}

pub(crate) fn linear(travel: [f64; 2]) -> AxisSpec {
    AxisSpec {
        travel_mm: Some(travel),
        max_feed_mm_min: Some(40_000.0),
        accel_m_s2: Some(6.0),
        jerk_m_s3: Some(60.0),
        ..AxisSpec::default()
    }
}

pub(crate) fn rotary(travel_deg: Option<[f64; 2]>) -> AxisSpec {
    AxisSpec {
        travel_deg,
        max_feed_deg_min: Some(18_000.0),
        accel_deg_s2: Some(900.0),
        jerk_deg_s3: Some(9000.0),
        ..AxisSpec::default()
    }
}

/// A machine file of that layout with everything known.
pub(crate) fn spec(layout: &str) -> MachineSpec {
    let mut spec = MachineSpec {
        id: "test".into(),
        layout: layout.into(),
        block_time_ms: Some(0.5),
        path_tolerance_mm: Some(0.01),
        tool_change_s: Some(4.5),
        ..MachineSpec::default()
    };
    spec.axes.insert("X".into(), linear([-300.0, 300.0]));
    spec.axes.insert("Y".into(), linear([-300.0, 300.0]));
    spec.axes.insert("Z".into(), linear([-500.0, 0.0]));
    for letter in layout.chars().skip(3).filter(|c| c.is_ascii_alphabetic()) {
        let travel = (letter != 'C').then_some([-110.0, 110.0]);
        spec.axes.insert(letter.to_string(), rotary(travel));
    }
    if layout.split_once('+').is_some_and(|(_, head)| head != "C") {
        spec.pivot_length_mm = Some(180.0);
    }
    spec
}

pub(crate) fn machine(layout: &str) -> Machine {
    Machine::new(&spec(layout)).expect("the test machine is sound")
}
