//! The fit finds again what readings were made from.

use calibration::{Reading, Trial, fit};
use machine::track::{Feed, Move};
use machine::{AxisSpec, ControlSpec, Corner, Machine, MachineSpec, Ramp};

fn sheet(layout: &str) -> MachineSpec {
    let mut spec = MachineSpec {
        id: "test".into(),
        layout: layout.into(),
        block_time_ms: Some(0.8),
        path_tolerance_mm: Some(0.01),
        tool_change_s: Some(5.0),
        ..MachineSpec::default()
    };
    for (letter, feed) in [("X", 30_000.0), ("Y", 30_000.0), ("Z", 24_000.0)] {
        let axis = AxisSpec {
            travel_mm: Some(if letter == "Z" { [-500.0, 0.0] } else { [-300.0, 300.0] }),
            max_feed_mm_min: Some(feed),
            accel_m_s2: Some(5.0),
            ..AxisSpec::default()
        };
        spec.axes.insert(letter.into(), axis);
    }
    for letter in layout.chars().skip(3).filter(char::is_ascii_alphabetic) {
        let axis = AxisSpec {
            travel_deg: (letter != 'C').then_some([-110.0, 110.0]),
            max_feed_deg_min: Some(18_000.0),
            ..AxisSpec::default()
        };
        spec.axes.insert(letter.to_string(), axis);
    }
    spec
}

/// Another machine than its sheet says.
fn truth(corner: Corner, ramp: Ramp) -> MachineSpec {
    let mut spec = sheet("XYZ");
    for (letter, accel, jerk) in [("X", 4.2, 70.0), ("Y", 4.6, 55.0), ("Z", 3.4, 40.0)] {
        let axis = spec.axes.get_mut(letter).expect("it is there");
        (axis.accel_m_s2, axis.jerk_m_s3) = (Some(accel), Some(jerk));
    }
    spec.block_time_ms = Some(1.3);
    spec.path_tolerance_mm = Some(0.022);
    spec.m_codes.insert("M8".into(), 0.7);
    spec.m_codes.insert("M9".into(), 0.2);
    spec.tool_change_s = Some(6.1);
    spec.spindle_ramp_s = Some(3.1);
    spec.control = ControlSpec {
        corner: Some(corner.word().into()),
        ramp: Some(ramp.word().into()),
        corner_step_mm_min: Some(250.0),
        filter_ms: Some(62.0),
        ..ControlSpec::default()
    };
    spec
}

fn readings(truth: &MachineSpec) -> Vec<Reading> {
    let trial = Trial::new(&sheet(&truth.layout)).expect("a test program");
    let machine = Machine::new(truth).expect("sound");
    let read = |(i, s): (usize, &calibration::stretch::Stretch)| {
        // a stopwatch by hand, a tenth off one way or the other
        let hand = if i % 2 == 0 { 0.1 } else { -0.1 };
        let seconds = s.time_s(&machine).expect("drivable") + hand;
        Reading { test: s.name.clone(), seconds }
    };
    trial.stretches.iter().enumerate().map(read).collect()
}

#[test]
fn the_program_keeps_to_its_length() {
    for (layout, most) in [("XYZ", 10.0), ("XYZ-AC", 15.0), ("XYZ-BC", 15.0)] {
        let trial = Trial::new(&sheet(layout)).expect("a test program");
        assert!(trial.motion_s() < most * 60.0, "{layout} {}", trial.motion_s());
        for (s, time) in trial.stretches.iter().zip(&trial.expected_s) {
            assert!(*time > 5.0 || ["m-codes", "spindle"].contains(&&*s.name), "{} {time}", s.name);
            println!("{layout} {} {time:.1} s, {} loops of {}", s.name, s.repeats, s.actions.len());
        }
    }
}

#[test]
fn shape_and_figures_are_found_again() {
    for (corner, ramp) in [(Corner::SpeedStep, Ramp::Filter), (Corner::Blend, Ramp::Jerk)] {
        let truth = truth(corner, ramp);
        let fit = fit(&sheet("XYZ"), &readings(&truth)).expect("a fit");
        for tried in &fit.tried {
            println!(
                "{:?} {:.4} {:.1} {:?}",
                tried.shape.words(),
                tried.residual_share,
                tried.score,
                tried.worst
            );
        }
        for f in &fit.figures {
            println!("{} {} -> {} [{} {}] {}", f.key, f.before, f.value, f.low, f.high, f.told);
        }
        assert_eq!(fit.shape.ramp, ramp);
        assert_eq!(fit.shape.corner, corner);
        if corner == Corner::SpeedStep {
            let x = fit.figures.iter().find(|f| f.key == "axis.X.accel_m_s2").expect("fitted");
            assert!(x.low < 4.2 && x.high > 4.2, "{x:?}");
            assert!((x.value / 4.2 - 1.0).abs() < 0.05, "{x:?}");
        }
        let change = fit.figures.iter().find(|f| f.key == "tool_change_s").expect("fitted");
        assert!((change.value / 6.1 - 1.0).abs() < 0.02, "{change:?}");
        for r in &fit.residuals {
            assert!((r.fitted_s / r.read_s - 1.0).abs() < 0.02, "{r:?}");
        }
        Machine::new(&fit.spec).expect("the fitted file is sound");
    }
}

#[test]
fn the_program_reads_back_as_the_stretches_that_it_was_written_from() {
    for (layout, dialect) in [("XYZ", "a"), ("XYZ-AC", "a"), ("XYZ-BC", "a"), ("XYZ", "b")] {
        let spec = MachineSpec { dialect: Some(dialect.into()), ..sheet(layout) };
        let trial = Trial::new(&spec).expect("a test program");
        let machine = Machine::new(&spec).expect("sound");
        let own = nc::Dialect::named(dialect).expect("it is packaged");
        let words = nc::Dialect::named(dialect).expect("it is packaged");
        let text = calibration::text::program(&trial, &machine, &words);
        let read = nc::read(text.as_bytes(), &own, &machine, &nc::ReadOptions::default())
            .unwrap_or_else(|faults| panic!("{layout} {dialect}: {}", faults[0]));
        let mut at = 0;
        for stretch in &trial.stretches {
            let written = stretch.track(stretch.repeats).moves;
            if written.is_empty() {
                continue;
            }
            let same = |read: &Move, written: &Move| {
                read.to.linear.distance(written.to.linear) < 1e-3
                    && (0..2).all(|k| (read.to.rotary[k] - written.to.rotary[k]).abs() < 1e-5)
                    && (read.feed == Feed::Rapid) == (written.feed == Feed::Rapid)
                    && read.stop == written.stop
            };
            // between stretches stand moves to the next start
            let found = (at..read.track.moves.len()).find(|&i| {
                let piece = read.track.moves[i..].iter().zip(&written);
                piece.len() == written.len() && piece.into_iter().all(|(r, w)| same(r, w))
            });
            let found = found.unwrap_or_else(|| panic!("{layout} {dialect} {}", stretch.name));
            assert!(found <= at + 3, "{} begins {} moves late", stretch.name, found - at);
            at = found + written.len();
        }
    }
}
