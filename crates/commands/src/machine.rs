//! A machine that a call names: a file, or one that comes with the program.

use crate::failure::Failure;
use crate::files;
use ::dialect::Dialect;
use ::machine::{Machine, MachineSpec};
use std::path::Path;
use study::supplied;

/// A machine with the values of its file.
pub(crate) struct Named {
    /// The values.
    pub(crate) spec: MachineSpec,
    /// The machine that they make.
    pub(crate) machine: Machine,
    /// The words of its programs.
    pub(crate) dialect: Dialect,
}

/// The machine of a file, or of an id that comes with the program.
///
/// # Errors
/// Neither file nor id, or a machine file that is not sound.
pub(crate) fn named(word: &str) -> Result<Named, Failure> {
    let path = Path::new(word);
    let text = match supplied::machine(word) {
        Some(text) if !path.exists() => text.as_bytes().to_vec(),
        _ if path.exists() => files::read(path)?,
        _ => return Err(unknown(word)),
    };
    let folder = files::Folder::of(path);
    let (spec, machine, dialect) = study::read::machine_and_dialect(&text, word, &folder)
        .map_err(|rejected| Failure::from(rejected).in_folder(word, &folder))?;
    Ok(Named { spec, machine, dialect })
}

fn unknown(word: &str) -> Failure {
    let ids = supplied::machine_ids();
    let remedy = match study::nearest(word, ids.iter().copied()) {
        Some(near) => format!("did you mean \"{near}\"? Or give the path of a machine file"),
        None => "give the path of a machine file, or one of those ids".to_owned(),
    };
    let expected = format!("a machine file, or one of {}", study::listed(ids.iter().copied()));
    Failure::call(format!("there is no machine \"{word}\""), expected, remedy)
}
