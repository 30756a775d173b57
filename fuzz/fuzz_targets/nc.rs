//! Any bytes as an NC program in both dialects, on three and on five axes: read, or refused with
//! places, never a panic.
#![no_main]

use machine::{AxisSpec, Machine, MachineSpec};
use nc::{Dialect, ReadOptions};

fn machine(layout: &str) -> Machine {
    let mut spec = MachineSpec { layout: layout.into(), ..MachineSpec::default() };
    for letter in layout.chars().filter(char::is_ascii_alphabetic) {
        let linear = matches!(letter, 'X' | 'Y' | 'Z');
        let axis = AxisSpec {
            max_feed_mm_min: linear.then_some(40_000.0),
            accel_m_s2: linear.then_some(6.0),
            max_feed_deg_min: (!linear).then_some(18_000.0),
            accel_deg_s2: (!linear).then_some(900.0),
            ..AxisSpec::default()
        };
        spec.axes.insert(letter.into(), axis);
    }
    Machine::new(&spec).expect("a sound machine")
}

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    let options = ReadOptions { most_blocks: 10_000, ..ReadOptions::default() };
    for (dialect, layout) in [(Dialect::a(), "XYZ-AC"), (Dialect::b(), "XYZ")] {
        match nc::read(bytes, &dialect, &machine(layout), &options) {
            Ok(program) => {
                for step in &program.track.moves {
                    assert!(step.to.linear.is_finite());
                }
            }
            Err(faults) => assert!(faults.iter().all(|f| f.line > 0 && f.column > 0)),
        }
    }
});
