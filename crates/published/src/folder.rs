//! The files: records of a crate, the literature, and the rows handed on to the register.

use crate::fault::Fault;
use crate::literature::Literature;
use crate::read::records;
use crate::record::Check;
use crate::row::Row;
use std::path::{Path, PathBuf};

/// Name of the variable that holds the folder for rows.
pub(crate) const ROWS: &str = "PUBLISHED_ROWS";

/// Every check of every `*.toml` in a folder, by file name; an empty folder is a fault.
pub(crate) fn read(folder: &Path) -> (Vec<Check>, Vec<Fault>) {
    let shown = folder.display();
    let entries = match std::fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) => return (Vec::new(), vec![Fault::new(shown, format!("not read: {error}"))]),
    };
    let mut paths: Vec<PathBuf> = entries.filter_map(|e| Some(e.ok()?.path())).collect();
    paths.sort();
    let (mut checks, mut faults) = (Vec::new(), Vec::new());
    for path in paths {
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        if path.extension().is_none_or(|e| e != "toml") {
            faults.push(Fault::new(name, "is not a record: expected *.toml"));
            continue;
        }
        match std::fs::read_to_string(&path) {
            Ok(text) => match records(&name, &text) {
                Ok(read) => checks.extend(read),
                Err(found) => faults.extend(found),
            },
            Err(error) => faults.push(Fault::new(name, format!("not read: {error}"))),
        }
    }
    if checks.is_empty() {
        faults.push(Fault::new(folder.display(), "holds no record that can be read"));
    }
    (checks, faults)
}

/// `data/literature.toml` of the workspace that holds the crate.
pub(crate) fn literature(manifest_dir: &Path) -> Result<Literature, Fault> {
    let path = manifest_dir.join("..").join("..").join("data").join("literature.toml");
    let text = std::fs::read_to_string(&path)
        .map_err(|e| Fault::new(path.display(), format!("not read: {e}")))?;
    Literature::new("literature.toml", &text)
}

/// Writes the rows as `CRATE.rows` where the environment asks for them.
pub(crate) fn write_rows(krate: &str, rows: &[Row]) -> Result<(), Fault> {
    let Some(folder) = std::env::var_os(ROWS) else { return Ok(()) };
    let path = PathBuf::from(folder).join(format!("{krate}.rows"));
    let text: String = rows.iter().map(|r| r.line() + "\n").collect();
    std::fs::write(&path, text).map_err(|e| Fault::new(path.display(), format!("not written: {e}")))
}
