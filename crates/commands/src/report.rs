//! `report STUDY`: the document for the client, one file of HTML or PDF.

use crate::document::Document;
use crate::failure::Failure;
use crate::page::Form;
use crate::{Progress, clock, compare, files, input};
use ::report::{InputFile, Provenance};
use serde::Serialize;
use sha2::{Digest, Sha256};
use std::fmt::Write;
use std::path::PathBuf;
use study::outcome::Outcome;

/// Name of the document where none is given, beside the study.
pub(crate) const DEFAULT_NAME: &str = "report.html";

/// Which study, and where the document goes.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Request {
    /// The study file.
    pub study: PathBuf,
    /// The document; `None`: `report.html` beside the study.
    pub out: Option<PathBuf>,
    /// Threads to work with; `None`: as many as the machine has.
    pub threads: Option<usize>,
}

/// Where the document is.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Written {
    /// Name of the study.
    pub study: String,
    /// The document.
    pub report: PathBuf,
    /// Its size in bytes.
    pub bytes: usize,
    #[serde(skip)]
    form: Form,
}

impl Document for Written {
    fn text(&self) -> String {
        format!("{}\n{}\n", self.report.display(), self.form.remark())
    }
}

/// Runs the comparison and writes the document.
///
/// # Errors
/// A fault of the study or its files, an operation that cannot be done, a document that cannot be
/// written.
pub fn run(request: &Request, progress: Progress<'_>) -> Result<Written, Failure> {
    let beside = || request.study.with_file_name(DEFAULT_NAME);
    let path = request.out.clone().unwrap_or_else(beside);
    let form = Form::of("--out", &path)?;
    let input = input::load(&request.study)?;
    let outcome = compare::outcome(&input, request.threads, progress)?;
    let page = form.bytes(&html(&outcome, &input))?;
    files::write(&path, &page)?;
    Ok(Written { study: outcome.study, report: path, bytes: page.len(), form })
}

/// The document of an outcome.
pub(crate) fn html(outcome: &Outcome, input: &input::Input) -> String {
    ::report::html(outcome, &provenance(input))
}

/// Where a document comes from.
pub(crate) fn provenance(input: &input::Input) -> Provenance {
    let inputs = input.files.iter().map(|file| InputFile {
        role: file.role.to_owned(),
        name: file.name.clone(),
        bytes: file.bytes.len() as u64,
        sha256: hex(&Sha256::digest(&file.bytes)),
    });
    Provenance {
        version: env!("CARGO_PKG_VERSION").to_owned(),
        date: clock::today(),
        inputs: inputs.collect(),
    }
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut out, byte| {
        // writing to a text cannot fail
        let _ = write!(out, "{byte:02x}");
        out
    })
}
