//! `machine-fit MACHINE TIMES.csv [--out FILE.toml]`: the machine file that explains the readings.

use crate::document::Document;
use crate::failure::Failure;
use crate::text::{Align, Table, fixed, significant};
use crate::{clock, files, machine, machine_test};
use calibration::figures::is_of_turns;
use calibration::{Fit, FitError, Trial, fit, readings};
use serde::Serialize;
use std::path::PathBuf;
use study::machine_text::machine_text;

/// What is asked for.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Request {
    /// A machine file, or the id of a machine that comes with the program.
    pub machine: String,
    /// The readings: `test,seconds`.
    pub times: PathBuf,
    /// The fitted machine file; left out: `ID-fitted.toml`.
    pub out: Option<PathBuf>,
}

/// What was found.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Fitted {
    /// The machine's id.
    pub machine: String,
    /// The fitted machine file.
    pub file: PathBuf,
    /// The shape of control that explains the readings best.
    pub shape: String,
    /// How far the time of another program may be off, as a share (standard deviation).
    pub error_share: f64,
    /// Every shape that was tried, best first.
    pub shapes: Vec<ShapeLine>,
    /// The figures.
    pub figures: Vec<FigureLine>,
    /// Readings beside the fitted machine's times.
    pub residuals: Vec<ResidualLine>,
    /// Stretches without a reading.
    pub unread: Vec<String>,
    /// Figures of which the readings say nothing.
    pub untold: Vec<String>,
}

/// One shape of control.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ShapeLine {
    /// What it does.
    pub shape: String,
    /// Root mean square of its relative residuals.
    pub residual_share: f64,
    /// The stretch that it misses most.
    pub worst_test: String,
    /// By how much, as a share of the reading.
    pub worst_share: f64,
    /// What the choice goes by: lower is better.
    pub score: f64,
}

/// One figure.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FigureLine {
    /// Key of the machine file, in whose unit the values are.
    pub key: String,
    /// Before the fit.
    pub before: f64,
    /// After it.
    pub value: f64,
    /// Ends of the 90 % interval.
    pub low: f64,
    /// The upper end.
    pub high: f64,
    /// Whether the readings say anything of it.
    pub told: bool,
}

/// One stretch.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ResidualLine {
    /// Which.
    pub test: String,
    /// What was read, s.
    pub read_s: f64,
    /// What the fitted machine takes, s.
    pub fitted_s: f64,
    /// What the machine took by its file before, s; `None` where the file did not tell.
    pub before_s: Option<f64>,
}

impl Document for Fitted {
    fn text(&self) -> String {
        let mut shapes = Table::new([
            ("shape of control", Align::Left),
            ("residual %", Align::Right),
            ("worst %", Align::Right),
            ("at", Align::Left),
        ]);
        for s in &self.shapes {
            shapes.row([
                s.shape.clone(),
                fixed(100.0 * s.residual_share, 2),
                fixed(100.0 * s.worst_share, 1),
                s.worst_test.clone(),
            ]);
        }
        let mut figures = Table::new([
            ("figure", Align::Left),
            ("before", Align::Right),
            ("found", Align::Right),
            ("90 % from", Align::Right),
            ("to", Align::Right),
            ("", Align::Left),
        ]);
        for f in &self.figures {
            let said = if f.told { "" } else { "not told by the readings" };
            let [before, value, low, high] =
                [f.before, f.value, f.low, f.high].map(|v| significant(v, 3));
            figures.row([f.key.clone(), before, value, low, high, said.to_owned()]);
        }
        let mut residuals = Table::new([
            ("test", Align::Left),
            ("read s", Align::Right),
            ("fitted s", Align::Right),
            ("off %", Align::Right),
            ("by the file before s", Align::Right),
        ]);
        for r in &self.residuals {
            let off = 100.0 * (r.fitted_s / r.read_s - 1.0);
            residuals.row([
                r.test.clone(),
                fixed(r.read_s, 1),
                fixed(r.fitted_s, 1),
                fixed(off, 1),
                r.before_s.map_or_else(|| "-".to_owned(), |s| fixed(s, 1)),
            ]);
        }
        format!(
            "{}: {}\nTimes of other programs: good to {} % (standard deviation), predicted, not measured.\n\n{}\n{}\n{}",
            self.file.display(),
            self.shape,
            fixed(100.0 * self.error_share, 1),
            shapes.text(0),
            figures.text(0),
            residuals.text(0),
        )
    }

    fn warnings(&self) -> Vec<String> {
        let mut lines = Vec::new();
        if !self.unread.is_empty() {
            lines.push(format!("no reading for {}", self.unread.join(", ")));
        }
        let (turns, others): (Vec<&str>, Vec<&str>) =
            self.untold.iter().map(String::as_str).partition(|key| is_of_turns(key));
        if !others.is_empty() {
            lines.push(format!(
                "the readings say nothing of {}: they stay as the file or common practice has them",
                others.join(", ")
            ));
        }
        if !turns.is_empty() {
            lines.push(format!(
                "of the rotary axes the readings do not tell {}: they stay as the file or common \
                 practice has them, and a program during which those axes turn at feed may be off by more \
                 than is stated here",
                turns.join(", ")
            ));
        }
        let off = self.shapes.first().map_or(0.0, |s| s.worst_share.abs());
        if off > 0.04 {
            let test = self.shapes.first().map_or("", |s| s.worst_test.as_str());
            lines.push(format!(
                "{test} is missed by {} %: read it once more; if it stays, this control does \
                 something that no shape here has",
                fixed(100.0 * off, 1)
            ));
        }
        lines
    }
}

/// Fits and writes the machine file.
///
/// # Errors
/// The machine or the readings are not sound, or do not fit together.
pub fn run(request: &Request) -> Result<Fitted, Failure> {
    let named = machine::named(&request.machine)?;
    let trial = Trial::new(&named.spec).map_err(|e| machine_test::refused(&request.machine, &e))?;
    let bytes = files::read(&request.times)?;
    let known: Vec<&str> = trial.stretches.iter().map(|s| s.name.as_str()).collect();
    let name = request.times.display().to_string();
    let read = readings::read(&bytes, &name, &known).map_err(|e| {
        let message = format!("{}:{}:{}: {}", e.name, e.line, e.column, e.message);
        Failure::call(message, e.expected, e.remedy)
    })?;
    let fit = fit(&named.spec, &read).map_err(|e| no_fit(&name, &e))?;
    let default = || PathBuf::from(format!("{}-fitted.toml", named.spec.id));
    let file = request.out.clone().unwrap_or_else(default);
    let remarks = [
        format!("Fitted on {} to {} readings of {name}.", clock::today(), read.len()),
        format!("The control: {}.", fit.shape.words()),
    ];
    files::write(&file, machine_text(&fit.spec, &remarks).as_bytes())?;
    Ok(document(request, file, fit))
}

fn no_fit(name: &str, error: &FitError) -> Failure {
    let expected = "the times of the test program of this machine, in seconds";
    let remedy = "time more stretches, or check machine and readings";
    Failure::call(format!("{name}: {error}"), expected, remedy)
}

fn document(request: &Request, file: PathBuf, fit: Fit) -> Fitted {
    let shapes = fit.tried.into_iter().map(|t| ShapeLine {
        shape: t.shape.words(),
        residual_share: t.residual_share,
        worst_test: t.worst.0,
        worst_share: t.worst.1,
        score: t.score,
    });
    let figures = fit.figures.iter().map(|f| FigureLine {
        key: f.key.clone(),
        before: f.before,
        value: f.value,
        low: f.low,
        high: f.high,
        told: f.told,
    });
    let residuals = fit.residuals.into_iter().map(|r| ResidualLine {
        test: r.name,
        read_s: r.read_s,
        fitted_s: r.fitted_s,
        before_s: (r.before_s > 0.0).then_some(r.before_s),
    });
    Fitted {
        machine: request.machine.clone(),
        file,
        shape: fit.shape.words(),
        error_share: fit.error_share,
        shapes: shapes.collect(),
        figures: figures.collect(),
        residuals: residuals.collect(),
        unread: fit.unread,
        untold: fit.figures.into_iter().filter(|f| !f.told).map(|f| f.key).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_told_of_rotary_axes_stands_by_itself() {
        let untold = ["m_codes.M9", "axis.A.jerk_deg_s3", "control.path_tolerance_deg"];
        let fitted = Fitted {
            machine: "five".into(),
            file: PathBuf::from("five-fitted.toml"),
            shape: String::new(),
            error_share: 0.01,
            shapes: Vec::new(),
            figures: Vec::new(),
            residuals: Vec::new(),
            unread: Vec::new(),
            untold: untold.map(String::from).to_vec(),
        };
        let [others, turns] = <[String; 2]>::try_from(fitted.warnings()).expect("two lines");
        assert!(others.contains("nothing of m_codes.M9:"), "{others}");
        assert!(turns.contains("axis.A.jerk_deg_s3, control.path_tolerance_deg:"), "{turns}");
        let three = Fitted { untold: vec!["m_codes.M9".into()], ..fitted };
        assert_eq!(three.warnings(), [others]);
    }
}
