//! A study and everything it names, read and ready to be worked on.

use crate::failure::Failure;
use ::compare::Given;
use geom::TriMesh;
use part::{Part, ReadError, ReadOptions};
use std::path::Path;
use study::{Diagnostic, FileRef, Files, Stock, Study};

/// A file that was read.
pub(crate) struct InputFile {
    /// What it is: `study`, `machine`, `dialect`, `cutters`, `part`, `fixture`, `stock`.
    pub(crate) role: &'static str,
    /// Its name as the study gives it.
    pub(crate) name: String,
    /// Its content.
    pub(crate) bytes: Vec<u8>,
}

/// A study with its part.
pub(crate) struct Input {
    /// The study.
    pub(crate) study: Study,
    /// The part, one solid.
    pub(crate) part: Part,
    /// Clamps and table.
    pub(crate) fixtures: Vec<TriMesh>,
    /// What the part is milled from, where the study names a file for it; what is wrong with that file
    /// matters only to those who ask for it.
    stock: Option<Result<Part, Diagnostic>>,
    /// Every file that the numbers rest on.
    pub(crate) files: Vec<InputFile>,
}

impl Input {
    /// The stock of the file that the study names, if it names one.
    ///
    /// # Errors
    /// A file that is not there, cannot be read, or is not closed.
    pub(crate) fn stock(&self) -> Result<Option<&Part>, Failure> {
        match &self.stock {
            None => Ok(None),
            Some(Ok(stock)) => Ok(Some(stock)),
            Some(Err(fault)) => Err(fault.clone().into()),
        }
    }

    /// All of it, for a comparison.
    ///
    /// # Errors
    /// As [`Input::stock`].
    pub(crate) fn given(&self) -> Result<Given<'_>, Failure> {
        let Self { study, part, fixtures, .. } = self;
        Ok(Given { study, part, fixtures, stock: self.stock()? })
    }
}

/// Reads the study file of that path and what it names.
pub(crate) fn load(path: &Path) -> Result<Input, Failure> {
    let bytes = crate::files::read(path)?;
    let name = path.display().to_string();
    let folder = crate::files::Folder::of(path);
    let mut input =
        read(&bytes, &name, &folder).map_err(|failure| failure.in_folder(&name, &folder))?;
    // what is found wrong later is told by the same paths
    for source in input.study.sources.iter_mut().filter(|s| s.name != name) {
        source.name = folder.typed(&source.name);
    }
    Ok(input)
}

/// Reads a study from bytes, and what it names through `files`.
pub(crate) fn read(bytes: &[u8], name: &str, files: &dyn Files) -> Result<Input, Failure> {
    let study = study::read::study(bytes, name, files)?;
    let mut read: Vec<InputFile> = Vec::new();
    for source in &study.sources {
        let role = match read.len() {
            0 => "study",
            _ if source.name == study::read::CUTTERS_FILE => "cutters",
            _ if source.name.ends_with(&study.machine.dialect) => "dialect",
            _ => "machine",
        };
        let bytes = source.text.as_bytes().to_vec();
        read.push(InputFile { role, name: source.name.clone(), bytes });
    }
    let bytes = bytes_of(&study, &study.part.file, A_FILE, files)?;
    let part = read_part(&study, &bytes)?;
    read.push(InputFile { role: "part", name: study.part.file.path.clone(), bytes });
    let mut fixtures = Vec::new();
    for file in &study.setup.fixture {
        let bytes = bytes_of(&study, file, A_FILE, files)?;
        let fixture = part::read(&bytes, &file.path, &ReadOptions::default())
            .map_err(|error| unreadable(&study, file, &error))?;
        fixtures.push(fixture.mesh);
        read.push(InputFile { role: "fixture", name: file.path.clone(), bytes });
    }
    let stock = match &study.part.stock {
        Some(Stock::File(file)) => Some(stock_of(&study, file, files).map(|(stock, bytes)| {
            read.push(InputFile { role: "stock", name: file.path.clone(), bytes });
            stock
        })),
        _ => None,
    };
    Ok(Input { study, part, fixtures, stock, files: read })
}

/// The stock of a file, closed.
fn stock_of(
    study: &Study,
    file: &FileRef,
    files: &dyn Files,
) -> Result<(Part, Vec<u8>), Diagnostic> {
    let bytes = bytes_of(study, file, CLOSED_FILE, files)?;
    let fault =
        |message: String, remedy: &str| study.fault(file.place, message, CLOSED_FILE, remedy);
    let options = ReadOptions { unit: study.part.unit, ..ReadOptions::default() };
    let stock = part::read(&bytes, &file.path, &options)
        .map_err(|e| fault(e.to_string(), "see the reason above, or name another file"))?;
    closed(&stock).map_err(|why| {
        let remedy = "mend the mesh, or give a block, a bar or near-net stock";
        fault(format!("\"{}\": {why}", file.path), remedy)
    })?;
    Ok((stock, bytes))
}

/// Whether the inside of a stock can be told, else why not.
pub(crate) fn closed(stock: &Part) -> Result<(), String> {
    if stock.mesh.triangles.is_empty() {
        return Err("it holds no surface".to_owned());
    }
    match stock.solids.iter().any(|s| s.volume_mm3.is_none()) {
        true => Err("its surface is open: no inside can be told".to_owned()),
        false => Ok(()),
    }
}

const A_FILE: &str = "a STEP, STL, OBJ, PLY or 3MF file, named relative to the study file";
const CLOSED_FILE: &str =
    "a closed STEP, STL, OBJ, PLY or 3MF file, named relative to the study file";

fn bytes_of(
    study: &Study,
    file: &FileRef,
    expected: &str,
    files: &dyn Files,
) -> Result<Vec<u8>, Diagnostic> {
    let (message, remedy) = match files.bytes(&file.path) {
        Ok(Some(bytes)) => return Ok(bytes),
        Ok(None) => (
            format!("there is no file \"{}\"", file.path),
            "put it beside the study file, or correct its name",
        ),
        Err(error) => (
            format!("\"{}\" cannot be read: {}", file.path, error.reason),
            "name a file, or mend its permissions",
        ),
    };
    Err(study.fault(file.place, message, expected, remedy))
}

fn unreadable(study: &Study, file: &FileRef, error: &ReadError) -> Failure {
    let expected = "a part file that can be read";
    let remedy = "see the reason above, or name another file";
    study.fault(file.place, error.to_string(), expected, remedy).into()
}

fn read_part(study: &Study, bytes: &[u8]) -> Result<Part, Failure> {
    let solid = study.part.solid.as_ref();
    let options = ReadOptions {
        unit: study.part.unit,
        solid: solid.map(|s| s.name.clone()),
        ..ReadOptions::default()
    };
    let part = part::read(bytes, &study.part.file.path, &options).map_err(|error| {
        match (&error, solid) {
            (ReadError::NoSuchSolid { .. }, Some(solid)) => {
                let expected = "one of the solids of the file";
                let remedy = "name one of them";
                study.fault(solid.place, error.to_string(), expected, remedy).into()
            }
            _ => unreadable(study, &study.part.file, &error),
        }
    })?;
    match part.solids.len() {
        0 | 1 => Ok(part),
        _ => Err(several(study, &part).into()),
    }
}

fn several(study: &Study, part: &Part) -> Diagnostic {
    let names: Vec<String> = part.solids.iter().map(solid_choice).collect();
    let message = format!("{} holds {} solids", study.part.file.path, names.len());
    let expected = format!("one of them: {}", study::listed(names.iter().map(String::as_str)));
    let first = names.first().map_or("", String::as_str);
    let remedy = format!("add `solid = \"{first}\"` or another of them to [part]");
    study.fault(study.part.file.place, message, expected, remedy)
}

/// How a solid can be named: its name, else its number.
pub(crate) fn solid_choice(solid: &part::Solid) -> String {
    match solid.step_id {
        Some(id) if solid.name.is_empty() => format!("#{id}"),
        _ => solid.name.clone(),
    }
}
