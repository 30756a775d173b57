//! `demo [DIR]`: the demo study, run and reported.

use crate::compare::Comparison;
use crate::document::Document;
use crate::failure::Failure;
use crate::{Progress, compare, files, input, program, report};
use serde::Serialize;
use std::path::{Path, PathBuf};

const STUDY: &str = "study.toml";
/// The pockets of the same part, in their own set-up.
const POCKETS: &str = "pockets.toml";
/// The document on them.
const POCKETS_REPORT: &str = "pockets.html";
/// The process that is tried.
const TRIAL: &str = "large-arc-drawing";

/// The demo's files as they stand in the repository.
const FILES: [(&str, &[u8]); 5] = [
    (STUDY, include_bytes!("../../../examples/mast-coupling/study.toml")),
    (POCKETS, include_bytes!("../../../examples/mast-coupling/pockets.toml")),
    ("machine.toml", include_bytes!("../../../examples/mast-coupling/machine.toml")),
    ("cutters.toml", include_bytes!("../../../examples/mast-coupling/cutters.toml")),
    ("coupling.step", include_bytes!("../../../examples/mast-coupling/coupling.step")),
];

/// Where the demo goes.
#[derive(Debug, Clone, PartialEq)]
pub struct Request {
    /// The folder.
    pub folder: PathBuf,
    /// Threads to work with; `None`: as many as the machine has.
    pub threads: Option<usize>,
}

/// What the demo wrote and found.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Demo {
    /// The study file.
    pub study: PathBuf,
    /// The document for the client.
    pub report: PathBuf,
    /// The NC program of the proposal, for the trial.
    pub program: PathBuf,
    /// The setup sheet of that program.
    pub sheet: PathBuf,
    /// What was compared.
    pub comparison: Comparison,
    /// The study file of the pockets.
    pub pockets_study: PathBuf,
    /// The document on the pockets.
    pub pockets_report: PathBuf,
    /// What was compared in the pockets.
    pub pockets: Comparison,
}

impl Document for Demo {
    fn text(&self) -> String {
        format!(
            "{}\nThe pockets underneath, predicted: {}.\n\nThe study:   {}\nThe report:  {}  (open it in a \
             browser)\nThe program: {}  (for the trial)\nThe sheet:   {}  (to set it up; open it in a \
             browser)\nThe pockets: {}, {}  (open it in a browser)\n",
            self.comparison.text(),
            self.pockets.times(),
            self.study.display(),
            self.report.display(),
            self.program.display(),
            self.sheet.display(),
            self.pockets_study.display(),
            self.pockets_report.display()
        )
    }

    fn limits_broken(&self) -> bool {
        self.comparison.limits_broken()
    }
}

/// Runs the demo study and writes it with its report and the program of its proposal.
///
/// # Errors
/// Other files stand where the demo's should go, or they cannot be written.
pub fn run(request: &Request, progress: Progress<'_>) -> Result<Demo, Failure> {
    refuse_to_overwrite(&request.folder)?;
    let input = input::read(FILES[0].1, STUDY, &embedded)?;
    let outcome = compare::outcome(&input, request.threads, progress)?;
    let html = report::html(&outcome, &input);
    let pockets_input = input::read(FILES[1].1, POCKETS, &embedded)?;
    let pockets = compare::outcome(&pockets_input, request.threads, progress)?;
    let pockets_html = report::html(&pockets, &pockets_input);
    for (name, bytes) in FILES {
        files::write(&request.folder.join(name), bytes)?;
    }
    let document = request.folder.join(report::DEFAULT_NAME);
    files::write(&document, html.as_bytes())?;
    let pockets_report = request.folder.join(POCKETS_REPORT);
    files::write(&pockets_report, pockets_html.as_bytes())?;
    let written = program::run(
        &program::Request {
            study: request.folder.join(STUDY),
            process: TRIAL.to_owned(),
            out: None,
            ..program::Request::default()
        },
        &|_| (),
    )?;
    Ok(Demo {
        study: request.folder.join(STUDY),
        program: written.program,
        sheet: written.sheet,
        report: document,
        comparison: Comparison::new(outcome),
        pockets_study: request.folder.join(POCKETS),
        pockets_report,
        pockets: Comparison::new(pockets),
    })
}

fn embedded(name: &str) -> Option<Vec<u8>> {
    FILES.iter().find(|(known, _)| *known == name).map(|(_, bytes)| bytes.to_vec())
}

/// A file of the same name that is not the demo's belongs to somebody.
fn refuse_to_overwrite(folder: &Path) -> Result<(), Failure> {
    for (name, bytes) in FILES {
        let path = folder.join(name);
        if path.exists() && files::read(&path)? != bytes {
            return Err(Failure::call(
                format!("{} is there already and is not the demo's", path.display()),
                "an empty or new folder, or that of an earlier demo",
                "name another folder: trialcut demo DIR",
            ));
        }
    }
    Ok(())
}
