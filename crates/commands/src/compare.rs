//! `compare STUDY`: every process of the study, operation by operation, and the claims.

mod document;
mod tables;
mod text;

pub use document::Comparison;

use crate::failure::Failure;
use crate::{Progress, files, input};
use std::path::PathBuf;
use study::outcome::Outcome;

/// Which study, and where tables go.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Request {
    /// The study file.
    pub study: PathBuf,
    /// Folder for tables as CSV; `None`: none are written.
    pub out: Option<PathBuf>,
    /// Threads to work with; `None`: as many as the machine has.
    pub threads: Option<usize>,
}

/// Runs the comparison.
///
/// # Errors
/// A fault of the study or its files, an operation that cannot be done, a folder that cannot be
/// written to.
pub fn run(request: &Request, progress: Progress<'_>) -> Result<Comparison, Failure> {
    let input = input::load(&request.study)?;
    let outcome = outcome(&input, request.threads, progress)?;
    let comparison = Comparison::new(outcome);
    if let Some(folder) = &request.out {
        for (name, table) in tables::all(comparison.outcome())? {
            files::write(&folder.join(name), &table)?;
        }
    }
    Ok(comparison)
}

/// Compares the processes of a study that was read.
pub(crate) fn outcome(
    input: &input::Input,
    threads: Option<usize>,
    progress: Progress<'_>,
) -> Result<Outcome, Failure> {
    let study = &input.study;
    if study.processes.is_empty() {
        let place = study.features.last().map_or(study.part.file.place, |f| f.place);
        let fault = study.fault(
            place,
            "the study has no process",
            "at least one [[process]]; claims need two",
            "add [[process]] with name = \"today\" and its [[process.operation]]",
        );
        return Err(fault.into());
    }
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads.unwrap_or(0)).build();
    let pool = pool.map_err(|error| {
        Failure::other(format!("the threads cannot be started: {error}"), "try fewer --threads")
    })?;
    let given = input.given()?;
    let compared = pool.install(|| ::compare::run(given, progress));
    compared.map_err(Failure::from)
}
