//! How well times are predicted for emulated machines that are known by their sheet and one run of
//! the test program, on programs that the fit has not seen.

use calibration::{Fit, Reading, Trial, fit};
use emulator::programs::Program;
use emulator::zoo::{Chassis, Kind, Specimen};
use emulator::{run, zoo};
use machine::{Machine, MachineSpec, Scenario, Track, TrackOptions, TrackTimer};

/// Time of a program at its programmed feeds, s.
const PROGRAM_S: f64 = 120.0;
/// Programs whose true times differ by less are not compared, and savings above are those of one
/// program that has little to do with the other, as shares.
const SAVING: f64 = 0.6;

/// One program on one machine: true time, that of the fitted file, that of the sheet, s.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Times {
    pub(crate) program: Program,
    pub(crate) true_s: f64,
    pub(crate) fitted_s: f64,
    pub(crate) sheet_s: f64,
    /// Ends of the stated 90 % interval of the time by the fitted file.
    pub(crate) stated_s: [f64; 2],
    /// The same by the sheet alone: the stated error of a control's model.
    pub(crate) sheet_stated_s: [f64; 2],
}

impl Times {
    pub(crate) fn error(&self) -> f64 {
        self.fitted_s / self.true_s - 1.0
    }

    pub(crate) fn sheet_error(&self) -> f64 {
        self.sheet_s / self.true_s - 1.0
    }

    /// In one line.
    pub(crate) fn words(&self) -> String {
        let [error, sheet] = [self.error(), self.sheet_error()].map(|e| 100.0 * e);
        format!("{:?} {:.1} s: {error:.2} %, sheet {sheet:.1} %", self.program, self.true_s)
    }

    fn inside(&self, [low, high]: [f64; 2]) -> bool {
        low <= self.true_s && self.true_s <= high
    }
}

/// A stopwatch by hand: a tenth of a second off, one way or the other.
fn by_hand(seed: u64, i: usize) -> f64 {
    let mixed = (seed + 1).wrapping_mul(0x9e37_79b9_7f4a_7c15).wrapping_add(i as u64 * 0x5851_f42d);
    0.2 * ((mixed >> 20) % 1000) as f64 / 1000.0 - 0.1
}

/// What a stopwatch reads of the test program.
pub(crate) fn readings(specimen: &Specimen, seed: u64) -> Vec<Reading> {
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

/// A machine and its fit.
pub(crate) fn machine(kind: Kind, chassis: Chassis, seed: u64) -> (Specimen, Fit) {
    let specimen = zoo(kind, chassis, seed).expect("a machine");
    let fit = fit(&specimen.sheet, &readings(&specimen, seed)).expect("a fit");
    (specimen, fit)
}

/// `draws` programs of each kind on a fitted machine.
pub(crate) fn programs(specimen: &Specimen, fit: &Fit, (seed, draws): (u64, u64)) -> Vec<Times> {
    let turns = specimen.hidden.axes.len() > 3;
    let model = Machine::new(&specimen.sheet).expect("sound").model_error();
    let mut all = Vec::new();
    for program in Program::ALL {
        if program == Program::TiltedRaster && !turns {
            continue;
        }
        for draw in 0..draws {
            let track = program.track(100 + seed + 1000 * draw, PROGRAM_S);
            let true_s = run(&specimen.hidden, &track).expect("the machine drives it").total_s;
            let [fitted_s, sheet_s] =
                [&fit.spec, &specimen.sheet].map(|spec| predicted(spec, &track));
            let half = 1.645 * fit.error_share;
            let stated_s = [fitted_s * (-half).exp(), fitted_s * half.exp()];
            let sheet_stated_s =
                [model.common.low * model.own.low, model.common.high * model.own.high]
                    .map(|factor| factor * sheet_s);
            all.push(Times { program, true_s, fitted_s, sheet_s, stated_s, sheet_stated_s });
        }
    }
    all
}

/// What comes of all programs of a family.
#[derive(Debug, Clone, Default)]
pub(crate) struct Tally {
    fitted: Vec<f64>,
    sheet: Vec<f64>,
    inside: usize,
    sheet_inside: usize,
    savings: usize,
    savings_near: usize,
}

impl Tally {
    /// Adds the programs of one machine.
    pub(crate) fn add(&mut self, all: &[Times]) {
        for (i, a) in all.iter().enumerate() {
            self.fitted.push(a.error().abs());
            self.sheet.push(a.sheet_error().abs());
            self.inside += usize::from(a.inside(a.stated_s));
            self.sheet_inside += usize::from(a.inside(a.sheet_stated_s));
            for b in &all[..i] {
                let (slow, fast) = if a.true_s > b.true_s { (a, b) } else { (b, a) };
                let saving = 1.0 - fast.true_s / slow.true_s;
                if saving > SAVING {
                    continue;
                }
                let said = 1.0 - fast.fitted_s / slow.fitted_s;
                self.savings += 1;
                self.savings_near += usize::from((said - saving).abs() <= 0.03);
            }
        }
        self.fitted.sort_by(f64::total_cmp);
        self.sheet.sort_by(f64::total_cmp);
    }

    /// Number of programs.
    pub(crate) fn count(&self) -> usize {
        self.fitted.len()
    }

    fn at(v: &[f64], q: f64) -> f64 {
        if v.is_empty() { f64::NAN } else { v[((v.len() - 1) as f64 * q).round() as usize] }
    }

    /// Quantile of the errors of the fitted file, as a share.
    pub(crate) fn fitted(&self, q: f64) -> f64 {
        Self::at(&self.fitted, q)
    }

    /// Quantile of the errors of the sheet, as a share.
    pub(crate) fn sheet(&self, q: f64) -> f64 {
        Self::at(&self.sheet, q)
    }

    /// Share of the times inside their stated interval: of the fitted file, of the sheet.
    pub(crate) fn inside(&self) -> [f64; 2] {
        [self.inside, self.sheet_inside].map(|n| n as f64 / self.count().max(1) as f64)
    }

    /// Share of the savings between two programs that are predicted within 3 percentage points.
    pub(crate) fn savings_near(&self) -> f64 {
        self.savings_near as f64 / self.savings.max(1) as f64
    }

    /// In one line.
    pub(crate) fn words(&self) -> String {
        let [inside, sheet_inside] = self.inside().map(|s| 100.0 * s);
        let percent = |q: [f64; 2]| q.map(|q| format!("{:.2} %", 100.0 * q)).join(", 95th ");
        format!(
            "{} programs: median {}, savings {:.0} %, inside {inside:.0} %; by sheet {}, inside \
             {sheet_inside:.0} %",
            self.count(),
            percent([self.fitted(0.5), self.fitted(0.95)]),
            100.0 * self.savings_near(),
            percent([self.sheet(0.5), self.sheet(0.95)]),
        )
    }
}
