//! `program STUDY --process NAME [--out DIR]`: the NC program of a process, and the same as neutral
//! cutter-location text. The text is read back before anything is written.

mod check;
mod job;
mod sheet;

pub use check::Checked;

use crate::document::Document;
use crate::failure::Failure;
use crate::page::Form;
use crate::text::{Align, Table, fixed};
use crate::{Progress, files, input};
use ::compare::motion;
use check::Check;
use geom::Vec3;
use machine::track::Place;
use machine::{Kinematics, Machine, Mounting};
use serde::Serialize;
use sheet::Basis;
use std::path::{Path, PathBuf};
use study::Study;

/// Which process, and where the files go.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Request {
    /// The study file.
    pub study: PathBuf,
    /// Name of the process.
    pub process: String,
    /// The folder; `None`: `program` beside the study.
    pub out: Option<PathBuf>,
    /// The setup sheet; `None`: beside the program, as HTML and as PDF.
    pub sheet: Option<PathBuf>,
    /// The rotary axes take their other solution.
    pub other_solution: bool,
    /// After so many passes the program can be entered again; `None`: at operations alone.
    pub restart_passes: Option<usize>,
}

/// What was written.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Written {
    /// Name of the study.
    pub study: String,
    /// Name of the process.
    pub process: String,
    /// The NC program.
    pub program: PathBuf,
    /// The cutter-location text.
    pub cutter_location: PathBuf,
    /// The setup sheet.
    pub sheet: PathBuf,
    /// The same as PDF, where the call named no file for it.
    pub sheet_on_paper: Option<PathBuf>,
    /// The operations.
    pub operations: Vec<Line>,
    /// What reading the program back found.
    pub checked: Checked,
    /// What to look at before it runs.
    pub warnings: Vec<String>,
}

/// One operation.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Line {
    /// Its name.
    pub name: String,
    /// Number of its tool.
    pub tool: u32,
    /// Id of its cutter.
    pub cutter: String,
    /// Blocks that move.
    pub moves: usize,
    /// Time by the machine's model, s.
    pub predicted_s: f64,
}

impl Document for Written {
    fn text(&self) -> String {
        let mut table = Table::new([
            ("operation", Align::Left),
            ("tool", Align::Right),
            ("cutter", Align::Left),
            ("moves", Align::Right),
            ("predicted s", Align::Right),
        ]);
        for line in &self.operations {
            table.row([
                line.name.clone(),
                format!("T{}", line.tool),
                line.cutter.clone(),
                line.moves.to_string(),
                fixed(line.predicted_s, 1),
            ]);
        }
        let on_paper = self.sheet_on_paper.as_ref();
        let on_paper = on_paper.map_or_else(String::new, |p| format!("{} (on A4)\n", p.display()));
        format!(
            "{}\n{}\n{} (the setup sheet)\n{on_paper}\n{}\n\
             Read back before it was written: {} moves, the path within {} µm, the time within {} %.\n\
             First run: door closed, single block, rapid low, hand on feed hold. Confirm tip control,\n\
             offsets and the sign of every rotary axis by a small move clear of the part. The manual of\n\
             the machine, local rules and a qualified person decide whether it may run.\n",
            self.program.display(),
            self.cutter_location.display(),
            self.sheet.display(),
            table.text(0),
            self.checked.moves,
            fixed(self.checked.path_off_um, 2),
            fixed(100.0 * self.checked.time_off_share, 3),
        )
    }

    fn warnings(&self) -> Vec<String> {
        self.warnings.clone()
    }
}

/// Writes the program.
///
/// # Errors
/// A fault of the study, a process that it does not have, an operation that cannot be done, travel
/// exceeded, or a folder that cannot be written to.
pub fn run(request: &Request, progress: Progress<'_>) -> Result<Written, Failure> {
    let input = input::load(&request.study)?;
    let study = &input.study;
    let form = request.sheet.as_deref().map(|path| Form::of("--sheet", path)).transpose()?;
    let process = study.processes.iter().find(|p| p.name == request.process);
    let process = process.ok_or_else(|| unknown(study, &request.process))?;
    let dialect = &study.dialect;
    let laid = motion::of_process(input.given()?, process, progress)?;
    let job = job::job(&input, &process.name, &laid, request)?;
    let written = post::program(&job, dialect).map_err(|refused| {
        let remedy = job::other_way(&job, &refused, request.other_solution);
        let message = format!("operation \"{}\": {}", refused.operation, refused.why);
        Failure::call(message, "a program inside the travel of the axes", remedy)
    })?;
    let check = Check {
        written: &written,
        dialect,
        machine: &study.machine,
        route: &|section| laid[section.piece].route,
    };
    let (read, checked) = check.run()?;
    let location = post::cutter_location::cutter_location(&job, &axis_at(&study.machine));
    let folder = request.out.clone().unwrap_or_else(|| beside(&request.study));
    let stem = stem(&process.name);
    let program = folder.join(format!("{stem}.nc"));
    let cutter_location = folder.join(format!("{stem}.cl"));
    let sheet = request.sheet.clone().unwrap_or_else(|| folder.join(format!("{stem}.html")));
    let (input, process, laid, job) = (&input, process.name.as_str(), &laid[..], &job);
    let basis = Basis { input, process, laid, job, written: &written, program: &read };
    let page = basis.sheet(&format!("{stem}.nc"))?;
    let html = ::report::sheet::sheet_html(&page, &crate::report::provenance(input));
    // both where none is named
    let on_paper = form.is_none().then(|| folder.join(format!("{stem}.pdf")));
    let sheet_bytes = form.unwrap_or(Form::Html).bytes(&html)?;
    let paper_bytes = on_paper.is_some().then(|| Form::Pdf.bytes(&html)).transpose()?;
    files::write(&sheet, &sheet_bytes)?;
    if let Some((path, bytes)) = on_paper.as_ref().zip(paper_bytes) {
        files::write(path, &bytes)?;
    }
    files::write(&program, written.text.as_bytes())?;
    files::write(&cutter_location, location.as_bytes())?;
    let operations = job.pieces.iter().zip(laid).map(|(piece, laid)| Line {
        name: piece.name.clone(),
        tool: job.tools[piece.tool].number,
        cutter: laid.cutter.id.clone(),
        moves: piece.track.moves.len(),
        predicted_s: piece.predicted_s,
    });
    let mut warnings: Vec<String> = laid.iter().flat_map(|l| l.warnings.clone()).collect();
    warnings.extend(written.notes.iter().cloned());
    if input.fixtures.is_empty() {
        warnings.push("no fixture is given: clamps are not checked".to_owned());
    }
    Ok(Written {
        study: study.name.clone(),
        process: process.to_owned(),
        sheet,
        sheet_on_paper: on_paper,
        operations: operations.collect(),
        program,
        cutter_location,
        checked,
        warnings,
    })
}

fn beside(study: &Path) -> PathBuf {
    study.parent().map_or_else(|| PathBuf::from("program"), |folder| folder.join("program"))
}

/// A name for files: letters, digits and hyphens.
fn stem(name: &str) -> String {
    let keep = |c: char| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '-' };
    let stem: String = name.chars().map(keep).collect();
    let stem = stem.trim_matches('-');
    if stem.is_empty() { "process".to_owned() } else { stem.to_owned() }
}

fn unknown(study: &Study, name: &str) -> Failure {
    let names: Vec<&str> = study.processes.iter().map(|p| p.name.as_str()).collect();
    let remedy = match study::nearest(name, names.iter().copied()) {
        Some(near) => format!("did you mean \"{near}\"?"),
        None => "take one of them".to_owned(),
    };
    let expected = format!("one of the study's: {}", study::listed(names.iter().copied()));
    Failure::call(format!("--process: there is no process \"{name}\""), expected, remedy)
}

/// The tool axis at the angles of a place, in program coordinates.
fn axis_at(machine: &Machine) -> impl Fn(&Place) -> Vec3 {
    let kinematics = Kinematics::new(machine, &Mounting::default());
    move |place| kinematics.axis_at(place.rotary)
}
