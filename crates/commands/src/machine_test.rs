//! `machine-test MACHINE [--out FILE.nc]`: a program of air cuts to time with a stopwatch.

use crate::document::Document;
use crate::failure::Failure;
use crate::text::{Align, Table, fixed};
use crate::{files, machine};
use calibration::text;
use calibration::{Trial, TrialError};
use serde::Serialize;
use std::path::PathBuf;

/// What is asked for.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Request {
    /// A machine file, or the id of a machine that comes with the program.
    pub machine: String,
    /// The program's file; left out: `ID-test.nc`.
    pub out: Option<PathBuf>,
}

/// What was written.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Written {
    /// The machine's id.
    pub machine: String,
    /// The program.
    pub file: PathBuf,
    /// Time of all stretches that move, by the machine file, s.
    pub motion_s: f64,
    /// The stretches, in order.
    pub stretches: Vec<Line>,
    /// What to heed.
    pub cautions: Vec<String>,
}

/// One stretch.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Line {
    /// Name in the program's messages and in the readings.
    pub test: String,
    /// What it leans on.
    pub about: String,
    /// Time by the machine file, s; `None` where the file does not tell.
    pub expected_s: Option<f64>,
}

impl Document for Written {
    fn text(&self) -> String {
        let mut table = Table::new([
            ("test", Align::Left),
            ("expected s", Align::Right),
            ("leans on", Align::Left),
        ]);
        for line in &self.stretches {
            let expected = line.expected_s.map_or_else(|| "-".to_owned(), |s| fixed(s, 1));
            table.row([line.test.clone(), expected, line.about.clone()]);
        }
        let cautions: String = self.cautions.iter().map(|c| format!("- {c}\n")).collect();
        format!(
            "{}: {} min of motion in air\n\n{}\nThe times are predicted from the machine file, not measured.\n\n{cautions}\n\
             Run it, note one line `test,seconds` for each stretch, then:\n  trialcut machine-fit {} TIMES.csv\n",
            self.file.display(),
            fixed(self.motion_s / 60.0, 1),
            table.text(0),
            self.machine,
        )
    }
}

/// Writes the program.
///
/// # Errors
/// The machine is not known or not sound, an axis travels too little, or the file cannot be written.
pub fn run(request: &Request) -> Result<Written, Failure> {
    let named = machine::named(&request.machine)?;
    let trial = Trial::new(&named.spec).map_err(|error| refused(&request.machine, &error))?;
    let text = text::program(&trial, &named.machine, &named.dialect);
    let default = || PathBuf::from(format!("{}-test.nc", named.spec.id));
    let file = request.out.clone().unwrap_or_else(default);
    files::write(&file, text.as_bytes())?;
    let stretches = trial.stretches.iter().zip(&trial.expected_s).map(|(s, &time_s)| Line {
        test: s.name.clone(),
        about: s.about.clone(),
        expected_s: (time_s > 0.0).then_some(time_s),
    });
    Ok(Written {
        machine: request.machine.clone(),
        file,
        motion_s: trial.motion_s(),
        stretches: stretches.collect(),
        cautions: cautions(named.machine.turns()),
    })
}

/// A refusal of the trial as a failure of the call.
pub(crate) fn refused(machine: &str, error: &TrialError) -> Failure {
    let expected = "a machine with room for the test program";
    let remedy = "correct the machine file; the program needs 120 mm in X and Y and 80 mm in Z";
    Failure::call(format!("{machine}: {error}"), expected, remedy)
}

fn cautions(turns: bool) -> Vec<String> {
    let mut lines = vec![
        "Air cut: no part, no clamp, no cutter but two short tools for the last stretch; the spindle \
         stands still until the last stretch. The coolant is switched on and off in stretch m-codes."
            .to_owned(),
        "The program states the room that it needs; set program zero so that it is free.".to_owned(),
        "First a slow run, rapid low, single block, door closed; then override 100 % for the timing."
            .to_owned(),
        "The manual of the machine, local rules and a qualified person decide whether it may run."
            .to_owned(),
    ];
    if turns {
        lines.push(
            "Rotary axes turn: nothing may stand on the table, cables and hoses must follow."
                .to_owned(),
        );
    }
    lines
}
