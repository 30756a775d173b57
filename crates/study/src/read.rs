//! From the bytes of a study file and its companions to a [`Study`], or to all their faults.

mod companion;
mod cutter;
mod dialect;
mod feature;
mod files;
mod header;
mod machine;
mod material;
mod operation;
mod part;
mod process;
mod range;
mod response;

pub use companion::{
    CUTTERS_FILE, cutters_file, machine_and_dialect, machine_file, machine_values,
};
pub use dialect::dialect_file;
pub use files::{FileError, Files, NoFiles};
pub use material::material_file;

use crate::model::whole::Study;
use crate::text::{Diagnostic, Rejected, Sink, Source, Table, parse};
use companion::Companions;
use std::sync::Arc;

/// Reads a study: `bytes` of the study file, its name for messages, and a way to its companions.
///
/// # Errors
/// Every fault of the study file, of its machine file and of its cutters that could be found, each
/// with its place.
pub fn study(bytes: &[u8], display_name: &str, files: &dyn Files) -> Result<Study, Rejected> {
    let sink = Sink::new(0, source_of(bytes, display_name)?);
    let mut companions = Companions::new(files);
    let study = parse(&sink).and_then(|document| {
        read_root(Table::root(&document, "the study file", &sink), &mut companions)
    });
    let (own, mut faults) = sink.into_parts();
    let (others, further) = companions.into_parts();
    faults.extend(further);
    match study {
        Some(mut study) if faults.is_empty() => {
            study.sources.push(own);
            study.sources.extend(others);
            Ok(study)
        }
        _ if faults.is_empty() => Err(Rejected::one(incomplete(&own))),
        _ => Err(Rejected { diagnostics: faults }),
    }
}

fn read_root(root: Table<'_>, companions: &mut Companions<'_>) -> Option<Study> {
    let header = header::read(&root, companions);
    let part = part::read(&root, companions);
    let setup = part::read_setup(&root);
    let (features, feature_names) = feature::read_all(&root);
    let mut cutters = cutter::read_all(&root, companions.files());
    companions.add_cutters(&mut cutters);
    let names = process::Names { features: feature_names, cutters: cutters.names };
    let processes = process::read_all(&root, &names);
    root.finish();
    let header = header?;
    Some(Study {
        name: header.name,
        parts_per_year: header.parts_per_year,
        lot_size: header.lot_size,
        setup_s: header.setup_s,
        confidence: header.confidence,
        machine: header.machine,
        dialect: header.dialect,
        part: part?,
        setup: setup?,
        features: features?,
        processes: processes?,
        cutters: cutters.read?,
        sources: Vec::new(),
    })
}

/// Last resort: a study that is incomplete although nothing wrong was noted.
fn incomplete(own: &Source) -> Diagnostic {
    Diagnostic::new(
        own,
        0..0,
        "the study is incomplete",
        "the tables [study] and [part]",
        "start from `trialcut new`",
    )
}

/// The text of a file, or the place where it stops being text.
fn source_of(bytes: &[u8], display_name: &str) -> Result<Source, Rejected> {
    let name = display_name.to_owned();
    match std::str::from_utf8(bytes) {
        Ok(text) => Ok(Source { name, text: Arc::from(text) }),
        Err(error) => {
            let good = String::from_utf8_lossy(&bytes[..error.valid_up_to()]).into_owned();
            let source = Source { name, text: Arc::from(good) };
            let end = source.text.len();
            Err(Rejected::one(Diagnostic::new(
                &source,
                end..end,
                "the file is not text from here on",
                "TOML as UTF-8 text",
                "save it again as UTF-8, or check that it is the right file",
            )))
        }
    }
}
