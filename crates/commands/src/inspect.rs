//! `inspect PART`: faces, curvature, pockets, size, and what is wrong with the part.

mod document;
mod text;

pub use document::{FaceEntry, Inspection, PocketEntry, Range, SolidEntry};

use crate::failure::Failure;
use crate::{files, input};
use part::{LengthUnit, Part, ReadOptions, fact};
use std::path::PathBuf;

/// Which part, and how to read it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Request {
    /// The part's file.
    pub part: PathBuf,
    /// Unit of the file's numbers: `mm` or `inch`; `None`: as the file says.
    pub unit: Option<String>,
    /// Only this solid: its name, or `#` and its number.
    pub solid: Option<String>,
}

/// Reads the part and says what it is.
///
/// # Errors
/// The file cannot be read as a part.
pub fn run(request: &Request) -> Result<Inspection, Failure> {
    let bytes = files::read(&request.part)?;
    let name = request.part.display().to_string();
    let part = read(&bytes, &name, request)?;
    Ok(look(&name, &part))
}

/// A part from the bytes of a file that the call names.
pub(crate) fn read(bytes: &[u8], name: &str, request: &Request) -> Result<Part, Failure> {
    let unit = request.unit.as_deref().map(unit_of).transpose()?;
    let options = ReadOptions { unit, solid: request.solid.clone(), ..ReadOptions::default() };
    part::read(bytes, name, &options).map_err(|error| {
        let expected = "a part as STEP, STL, OBJ, PLY or 3MF";
        Failure::call(error.to_string(), expected, "see the reason above, or name another file")
    })
}

fn unit_of(word: &str) -> Result<LengthUnit, Failure> {
    word.parse().map_err(|_| {
        Failure::call(
            format!("--unit is \"{word}\""),
            "mm or inch",
            "write --unit mm or --unit inch",
        )
    })
}

/// Everything about a part.
pub(crate) fn look(name: &str, part: &Part) -> Inspection {
    let facts = fact::of_faces(part);
    let pockets = fact::pockets(part, &facts, &fact::Neighbours::new(part));
    let (bores, pockets) = pockets.iter().partition::<Vec<_>, _>(|p| p.is_bore);
    let size = part.mesh.bounds().map(|(low, high)| (high - low).to_array());
    let volumes: Option<f64> = part.solids.iter().map(|s| s.volume_mm3).sum();
    let faces = part.faces.iter().zip(&facts);
    Inspection {
        file: name.to_owned(),
        name: part.name.clone(),
        unit: part.unit.name(),
        size_mm: size,
        lowest_mm: part.mesh.bounds().map(|(low, _)| low.to_array()),
        volume_mm3: volumes,
        mesh_deviation_mm: part.deviation_mm,
        solids: part.solids.iter().map(solid).collect(),
        faces: faces.map(|(face, facts)| document::face(part, face, facts)).collect(),
        pockets: pockets.into_iter().map(|p| document::pocket(part, p)).collect(),
        bores: bores.into_iter().map(|p| document::pocket(part, p)).collect(),
        defects: part.defects.iter().map(ToString::to_string).collect(),
        notes: part.notes.clone(),
    }
}

fn solid(solid: &part::Solid) -> SolidEntry {
    SolidEntry {
        name: input::solid_choice(solid),
        step_id: solid.step_id,
        volume_mm3: solid.volume_mm3,
        area_mm2: solid.area_mm2,
    }
}
