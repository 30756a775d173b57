//! How well times are predicted for machines that are known by their sheet and one run of the test
//! program: emulated controls of several families, programs not seen before.
//!
//! `cargo run --release -p calibration --example blind -- SEEDS [three|table|head] [family] [FIRST]`;
//! with `FIGURES` in the environment the figures and the shapes that were tried as well.

#[path = "../tests/measure/mod.rs"]
mod measure;

use calibration::fit::Residual;
use emulator::zoo::{Chassis, Kind};
use measure::Tally;
use std::time::Instant;

/// Programs of each kind on every machine.
const DRAWS: u64 = 2;

fn main() {
    let args: Vec<String> = std::env::args().collect();
    let number = |i: usize| args.get(i).and_then(|s| s.parse::<u64>().ok());
    let (seeds, first) = (number(1).unwrap_or(2), number(4).unwrap_or(0));
    let chassis = match args.get(2).map(String::as_str) {
        Some("table") => Chassis::Table,
        Some("head") => Chassis::Head,
        _ => Chassis::Three,
    };
    for kind in Kind::ALL {
        let asked = args.get(3).is_none_or(|k| format!("{kind:?}").eq_ignore_ascii_case(k));
        if asked {
            family(kind, chassis, first..first + seeds);
        }
    }
}

fn family(kind: Kind, chassis: Chassis, seeds: std::ops::Range<u64>) {
    let mut tally = Tally::default();
    for seed in seeds {
        let started = Instant::now();
        let (specimen, fit) = measure::machine(kind, chassis, seed);
        println!(
            "{kind:?} {seed}: {} ({:.2} %, score {:.0}, says {:.2} %, {:.0} s, {} shapes)",
            fit.shape.words(),
            100.0 * fit.tried[0].residual_share,
            fit.tried[0].score,
            100.0 * fit.error_share,
            started.elapsed().as_secs_f64(),
            fit.tried.len(),
        );
        let all = std::env::var_os("FIGURES").is_some();
        let shown = |r: &&Residual| all || (r.fitted_s / r.read_s - 1.0).abs() > 0.015;
        for r in fit.residuals.iter().filter(shown) {
            let share = 100.0 * (r.fitted_s / r.read_s - 1.0);
            println!("    {} {:.1} {:.1} ({share:.1} %)", r.name, r.read_s, r.fitted_s);
        }
        if all {
            for t in fit.tried.iter().take(25) {
                println!(
                    "    {:.0} {:.2} {:?}",
                    t.score,
                    100.0 * t.residual_share,
                    t.shape.words()
                );
            }
            for f in &fit.figures {
                println!(
                    "    {} {:.4} -> {:.4} [{:.4} {:.4}]",
                    f.key, f.before, f.value, f.low, f.high
                );
            }
        }
        let all = measure::programs(&specimen, &fit, (seed, DRAWS));
        for t in &all {
            println!("  {}", t.words());
        }
        tally.add(&all);
    }
    println!("== {kind:?} {chassis:?}: {}", tally.words());
}
