//! `cargo xtask tidy`: what the house promises, checked on the text of the repository.

mod absences;
mod ranks;
mod shape;
mod source;
mod words;

use source::Source;

/// Runs every rule and lists all that is broken.
pub(crate) fn run() -> Result<(), String> {
    let sources = source::rust_files()?;
    let mut faults = ranks::check()?;
    faults.extend(sources.iter().flat_map(absences::check));
    faults.extend(sources.iter().flat_map(shape::check));
    faults.extend(words::check()?);
    if faults.is_empty() {
        eprintln!("tidy: {} files, no fault", sources.len());
        return Ok(());
    }
    Err(format!("{}\ntidy: {} faults", faults.join("\n"), faults.len()))
}
