//! Machines and readers for tests.
#![allow(dead_code, reason = "every test file uses a part of it")]

use machine::{AxisSpec, Machine, MachineSpec};
use nc::{Dialect, Fault, Program, ReadOptions};

fn linear(travel: [f64; 2]) -> AxisSpec {
    AxisSpec {
        travel_mm: Some(travel),
        max_feed_mm_min: Some(40_000.0),
        accel_m_s2: Some(6.0),
        jerk_m_s3: Some(60.0),
        ..AxisSpec::default()
    }
}

fn rotary() -> AxisSpec {
    AxisSpec {
        max_feed_deg_min: Some(18_000.0),
        accel_deg_s2: Some(900.0),
        jerk_deg_s3: Some(9000.0),
        ..AxisSpec::default()
    }
}

/// A machine of that layout, its reference at (0, 0, 400).
pub(crate) fn machine(layout: &str) -> Machine {
    let mut spec = MachineSpec {
        id: "test".into(),
        layout: layout.into(),
        block_time_ms: Some(0.5),
        path_tolerance_mm: Some(0.01),
        tool_change_s: Some(4.5),
        ..MachineSpec::default()
    };
    spec.spindle.max_rpm = Some(15_000.0);
    spec.axes.insert("X".into(), linear([-300.0, 300.0]));
    spec.axes.insert("Y".into(), linear([-300.0, 300.0]));
    spec.axes.insert("Z".into(), linear([-500.0, 0.0]));
    for letter in layout.chars().skip(3).filter(|c| c.is_ascii_alphabetic()) {
        spec.axes.insert(letter.to_string(), rotary());
    }
    Machine::new(&spec).expect("the test machine is sound")
}

pub(crate) fn read_as(dialect: &Dialect, layout: &str, text: &str) -> Result<Program, Vec<Fault>> {
    nc::read(text.as_bytes(), dialect, &machine(layout), &ReadOptions::default())
}

/// The program in dialect `a` on a three-axis machine.
pub(crate) fn read(text: &str) -> Program {
    match read_as(&Dialect::a(), "XYZ", text) {
        Ok(program) => program,
        Err(faults) => panic!("{}", faults[0]),
    }
}

/// The faults of the program in dialect `a` on a three-axis machine.
pub(crate) fn faults(text: &str) -> Vec<Fault> {
    read_as(&Dialect::a(), "XYZ", text).expect_err("a fault")
}

/// Ends of the moves.
pub(crate) fn ends(program: &Program) -> Vec<[f64; 3]> {
    program.track.moves.iter().map(|m| m.to.linear.to_array()).collect()
}
