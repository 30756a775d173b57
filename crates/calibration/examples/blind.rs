//! How well times are predicted for machines that are known by their sheet and one run of the test
//! program: emulated controls of several families, programs not seen before.
//!
//! `cargo run --release -p calibration --example blind -- SEEDS [three|table|head] [family]`

use calibration::{Fit, Reading, Trial, fit};
use emulator::programs::Program;
use emulator::zoo::{Chassis, Kind, Specimen};
use emulator::{run, zoo};
use machine::{Machine, MachineSpec, Scenario, Track, TrackOptions, TrackTimer};
use std::time::Instant;

/// A stopwatch by hand: a tenth of a second off, one way or the other.
fn by_hand(seed: u64, i: usize) -> f64 {
    let mixed = (seed + 1).wrapping_mul(0x9e37_79b9_7f4a_7c15).wrapping_add(i as u64 * 0x5851_f42d);
    0.2 * ((mixed >> 20) % 1000) as f64 / 1000.0 - 0.1
}

fn readings(specimen: &Specimen, seed: u64) -> Vec<Reading> {
    let trial = Trial::new(&specimen.sheet).expect("a test program");
    let read = |(i, s): (usize, &calibration::stretch::Stretch)| {
        let timing = run(&specimen.hidden, &s.track(s.repeats)).expect("the machine drives it");
        Reading { test: s.name.clone(), seconds: timing.total_s + by_hand(seed, i) }
    };
    trial.stretches.iter().enumerate().map(read).collect()
}

fn predicted(spec: &MachineSpec, track: &Track) -> f64 {
    let machine = Machine::new(spec).expect("sound");
    let timer = TrackTimer::new(track, &machine, &TrackOptions::default()).expect("drivable");
    timer.times(&Scenario::default()).expect("drivable").total_s
}

fn main() {
    let args: Vec<String> = std::env::args().collect();
    let seeds: u64 = args.get(1).and_then(|s| s.parse().ok()).unwrap_or(2);
    let chassis = match args.get(2).map(String::as_str) {
        Some("table") => Chassis::Table,
        Some("head") => Chassis::Head,
        _ => Chassis::Three,
    };
    for kind in Kind::ALL {
        if args.get(3).is_some_and(|k| !format!("{kind:?}").eq_ignore_ascii_case(k)) {
            continue;
        }
        family(kind, chassis, seeds);
    }
}

fn family(kind: Kind, chassis: Chassis, seeds: u64) {
    let (mut fitted, mut sheet, mut inside) = (Vec::new(), Vec::new(), 0);
    for seed in 0..seeds {
        let specimen = zoo(kind, chassis, seed).expect("a machine");
        let started = Instant::now();
        let fit = fit(&specimen.sheet, &readings(&specimen, seed)).expect("a fit");
        println!(
            "{kind:?} {seed}: {} ({:.2} %, says {:.2} %, {:.0} s)",
            fit.shape.words(),
            100.0 * fit.tried[0].residual_share,
            100.0 * fit.error_share,
            started.elapsed().as_secs_f64()
        );
        for r in fit.residuals.iter().filter(|r| (r.fitted_s / r.read_s - 1.0).abs() > 0.02) {
            println!("    {} {:.1} {:.1}", r.name, r.read_s, r.fitted_s);
        }
        for program in Program::ALL {
            if program == Program::TiltedRaster && chassis == Chassis::Three {
                continue;
            }
            let track = program.track(100 + seed, 120.0);
            let true_s = run(&specimen.hidden, &track).expect("the machine drives it").total_s;
            let share = predicted(&fit.spec, &track) / true_s - 1.0;
            let before = predicted(&specimen.sheet, &track) / true_s - 1.0;
            inside += usize::from(within(&fit, share));
            println!(
                "  {program:?} {true_s:.1} s: {:.2} %, sheet {:.1} %",
                100.0 * share,
                100.0 * before
            );
            fitted.push(share.abs());
            sheet.push(before.abs());
        }
    }
    fitted.sort_by(f64::total_cmp);
    sheet.sort_by(f64::total_cmp);
    let at = |v: &[f64], q: f64| 100.0 * v[((v.len() - 1) as f64 * q).round() as usize];
    println!(
        "== {kind:?}: median {:.2} %, 95th {:.2} %, inside {inside} of {}; by sheet {:.1} %, {:.1} %",
        at(&fitted, 0.5),
        at(&fitted, 0.95),
        fitted.len(),
        at(&sheet, 0.5),
        at(&sheet, 0.95)
    );
}

fn within(fit: &Fit, share: f64) -> bool {
    share.abs() <= 1.645 * fit.error_share
}
