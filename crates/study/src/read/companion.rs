//! The files that a study names: its machine, its material and further cutters.

use super::cutter::Cutters;
use super::files::{Files, NoFiles};
use super::{dialect, machine, material, source_of};
use crate::model::cutter::StudyCutter;
use crate::text::{Diagnostic, Given, Rejected, Sink, Source, Table, listed, nearest, parse};
use crate::{material as library, supplied};
use ::dialect::Dialect;
use ::machine::{Machine, MachineSpec};
use ::material::Material;

/// Name of the companion that holds further cutters, beside the study file.
pub const CUTTERS_FILE: &str = "cutters.toml";

/// Reads a machine file.
///
/// # Errors
/// Every fault that could be found, each with its place.
pub fn machine_file(bytes: &[u8], display_name: &str) -> Result<Machine, Rejected> {
    machine::read(Sink::new(0, source_of(bytes, display_name)?)).0
}

/// Reads the values of a machine file, key for key, and the machine that they make.
///
/// # Errors
/// Every fault that could be found, each with its place.
pub fn machine_values(
    bytes: &[u8],
    display_name: &str,
) -> Result<(MachineSpec, Machine), Rejected> {
    let (read, _) = machine::read_all(Sink::new(0, source_of(bytes, display_name)?));
    read.map(|read| (read.spec, read.machine))
}

/// Reads the values of a machine file, the machine that they make and the dialect of its programs:
/// a packaged one, or that of a file beside it, which `files` reads.
///
/// # Errors
/// Every fault of the machine file, or else of its dialect file, each with its place.
pub fn machine_and_dialect(
    bytes: &[u8],
    display_name: &str,
    files: &dyn Files,
) -> Result<(MachineSpec, Machine, Dialect), Rejected> {
    let (read, source) = machine::read_all(Sink::new(0, source_of(bytes, display_name)?));
    let read = read?;
    let (dialect, _) = dialect::named(read.dialect.as_ref(), &source, "", files)
        .map_err(|diagnostics| Rejected { diagnostics })?;
    Ok((read.spec, read.machine, dialect))
}

/// Reads a file of cutters that stands alone: it names no further files.
///
/// # Errors
/// Every fault that could be found, each with its place.
pub fn cutters_file(bytes: &[u8], display_name: &str) -> Result<Vec<StudyCutter>, Rejected> {
    let sink = Sink::new(0, source_of(bytes, display_name)?);
    let mut cutters = Cutters { read: Some(Vec::new()), names: Some(Vec::new()) };
    add_from(&sink, &mut cutters, &NoFiles);
    let (_, diagnostics) = sink.into_parts();
    match cutters.read {
        Some(read) if diagnostics.is_empty() => Ok(read),
        _ => Err(Rejected { diagnostics }),
    }
}

/// Reads companions as they are named and keeps their sources and faults.
pub(super) struct Companions<'f> {
    files: &'f dyn Files,
    sources: Vec<Source>,
    faults: Vec<Diagnostic>,
}

impl<'f> Companions<'f> {
    pub(super) fn new(files: &'f dyn Files) -> Self {
        Self { files, sources: Vec::new(), faults: Vec::new() }
    }

    /// What the study file may name.
    pub(super) fn files(&self) -> &'f dyn Files {
        self.files
    }

    /// The sources after the study file itself, and every fault in them.
    pub(super) fn into_parts(self) -> (Vec<Source>, Vec<Diagnostic>) {
        (self.sources, self.faults)
    }

    /// The machine of that name: a file beside the study, else one that comes with the program.
    pub(super) fn machine(
        &mut self,
        table: &Table<'_>,
        named: &Given<String>,
    ) -> Option<(Machine, Dialect)> {
        let bytes = match self.files.bytes(&named.value) {
            Ok(Some(bytes)) => bytes,
            Ok(None) => self.supplied_machine(table, named)?,
            Err(error) => {
                let message = format!("\"{}\" cannot be read: {}", named.value, error.reason);
                let remedy = "name a file that can be read, or mend its permissions";
                table.report(named.span.clone(), message, "a machine file", remedy);
                return None;
            }
        };
        let sink = self.sink(&bytes, &named.value)?;
        let (read, source) = machine::read_all(sink);
        let read = read.map_err(|rejected| self.faults.extend(rejected.diagnostics)).ok();
        let folder = named.value.rfind('/').map_or("", |end| &named.value[..=end]);
        let dialect =
            read.as_ref().map(|r| dialect::named(r.dialect.as_ref(), &source, folder, self.files));
        self.sources.push(source);
        match (read, dialect?) {
            (Some(read), Ok((dialect, of_file))) => {
                self.sources.extend(of_file);
                Some((read.machine, dialect))
            }
            (_, Err(faults)) => {
                self.faults.extend(faults);
                None
            }
            (None, Ok(_)) => None,
        }
    }

    fn supplied_machine(&self, table: &Table<'_>, named: &Given<String>) -> Option<Vec<u8>> {
        if let Some(text) = supplied::machine(&named.value) {
            return Some(text.as_bytes().to_vec());
        }
        let ids = supplied::machine_ids();
        let remedy = match nearest(&named.value, ids.iter().copied()) {
            Some(near) => format!("did you mean \"{near}\"? Or put the file beside the study file"),
            None => "put the machine file beside the study file, or correct its name".to_owned(),
        };
        let message = format!("there is no machine file \"{}\"", named.value);
        let expected = format!("a file beside the study file, or {}", listed(ids));
        table.report(named.span.clone(), message, expected, remedy);
        None
    }

    /// The material of that name: a file beside the study where it ends in `.toml`, else one of the
    /// library.
    pub(super) fn material(
        &mut self,
        table: &Table<'_>,
        named: &Given<String>,
    ) -> Option<Material> {
        if !named.value.ends_with(".toml") {
            return library::find(&named.value)
                .cloned()
                .map_err(|near| unknown_material(table, named, near))
                .ok();
        }
        let bytes = match self.files.bytes(&named.value) {
            Ok(Some(bytes)) => bytes,
            found => {
                let message = match found {
                    Err(error) => format!("\"{}\" cannot be read: {}", named.value, error.reason),
                    _ => format!("there is no material file \"{}\"", named.value),
                };
                let remedy = "put the file beside the study file, or name a material by its id";
                table.report(named.span.clone(), message, "a material file", remedy);
                return None;
            }
        };
        let sink = self.sink(&bytes, &named.value)?;
        let (material, source) = material::read(sink);
        self.sources.push(source);
        material.map_err(|rejected| self.faults.extend(rejected.diagnostics)).ok()
    }

    /// Adds the cutters of the companion file, if there is one.
    pub(super) fn add_cutters(&mut self, cutters: &mut Cutters) {
        let bytes = match self.files.bytes(CUTTERS_FILE) {
            Ok(Some(bytes)) => bytes,
            Ok(None) => return,
            Err(error) => {
                let source = Source { name: CUTTERS_FILE.to_owned(), text: "".into() };
                let message = format!("the file cannot be read: {}", error.reason);
                let remedy = "put a file there, mend its permissions, or take it away";
                self.faults.push(Diagnostic::new(
                    &source,
                    0..0,
                    message,
                    "a readable file",
                    remedy,
                ));
                cutters.names = None;
                return;
            }
        };
        let Some(sink) = self.sink(&bytes, CUTTERS_FILE) else {
            cutters.names = None;
            return;
        };
        add_from(&sink, cutters, self.files);
        let (source, faults) = sink.into_parts();
        self.sources.push(source);
        self.faults.extend(faults);
    }

    fn sink(&mut self, bytes: &[u8], name: &str) -> Option<Sink> {
        let index = self.sources.len() + 1;
        match source_of(bytes, name) {
            Ok(source) => Some(Sink::new(index, source)),
            Err(rejected) => {
                self.faults.extend(rejected.diagnostics);
                None
            }
        }
    }
}

fn unknown_material(table: &Table<'_>, named: &Given<String>, near: Option<&str>) {
    let remedy = match near {
        Some(id) => format!("did you mean \"{id}\"?"),
        None => "take the one that is closest in group and hardness, or name a file".to_owned(),
    };
    let message = format!("the material \"{}\" is not known", named.value);
    table.report(named.span.clone(), message, listed(library::ids()), remedy);
}

fn add_from(sink: &Sink, cutters: &mut Cutters, files: &dyn Files) {
    let Some(document) = parse(sink) else {
        cutters.names = None;
        cutters.read = None;
        return;
    };
    let root = Table::root(&document, "the cutters' file", sink);
    cutters.add(&root, files);
    root.finish();
}
