//! A study and a part as texts, compared.

#![allow(
    clippy::unwrap_used,
    unreachable_pub,
    dead_code,
    missing_docs,
    reason = "tests share what a test may do"
)]

use study::outcome::{OperationOutcome, Outcome};

/// Compares the processes of a study text on a part that is an OBJ text, `block.obj` in mm.
pub fn run(text: &str, part: &str) -> Result<Outcome, String> {
    run_from(text, part, None)
}

/// The same from a stock that is an OBJ text too, which the study names.
pub fn run_from(text: &str, part: &str, stock: Option<&str>) -> Result<Outcome, String> {
    let study = study::read::study(text.as_bytes(), "study.toml", &study::NoFiles)
        .map_err(|e| e.to_string())?;
    let options = part::ReadOptions { unit: Some(part::LengthUnit::Mm), ..Default::default() };
    let read = |text: &str| part::read(text.as_bytes(), "block.obj", &options).unwrap();
    let (part, stock) = (read(part), stock.map(read));
    let given = compare::Given { study: &study, part: &part, fixtures: &[], stock: stock.as_ref() };
    compare::run(given, &|_| {}).map_err(|e| e.to_string())
}

/// The operations of its first process.
pub fn operations(text: &str, part: &str) -> Vec<OperationOutcome> {
    run(text, part).unwrap_or_else(|e| panic!("{e}")).processes.remove(0).operations
}

/// The same beside clamps, from the stock that the study gives.
pub fn run_beside(text: &str, part: &str, fixtures: &[geom::TriMesh]) -> Result<Outcome, String> {
    let study = study::read::study(text.as_bytes(), "study.toml", &study::NoFiles)
        .map_err(|e| e.to_string())?;
    let options = part::ReadOptions { unit: Some(part::LengthUnit::Mm), ..Default::default() };
    let part = part::read(part.as_bytes(), "block.obj", &options).unwrap();
    let given = compare::Given { study: &study, part: &part, fixtures, stock: None };
    compare::run(given, &|_| {}).map_err(|e| e.to_string())
}
