//! STEP parts (ISO 10303-21 with AP203, AP214 or AP242): exact faces with a mesh that is measured.
//!
//! | file | holds |
//! | --- | --- |
//! | `scan` | the syntax of the file: header, line of every entity, what a reader would trip over |
//! | `model` | the seam: plain data that a reader fills |
//! | `kernel` | the default reader, over the geometry kernel |
//! | `choice` | one solid of several, by name or number |
//! | `refine` | deviation of the mesh from the exact faces, measured, and split until it holds |
//! | `assemble` | from all that to a [`Part`] |
//!
//! A file passes `scan` first: only well-formed text reaches a reader.

mod assemble;
mod choice;
#[cfg(feature = "occt")]
mod kernel;
mod model;
mod refine;
mod scan;

pub use model::{Body, Remark, StepFace, StepModel, StepReader, Tessellation, TrimLoop};
pub use scan::{Outline, Schema};

use crate::error::ReadError;
use crate::model::Part;
use crate::read::ReadOptions;

/// Reads a STEP part with the default reader.
///
/// # Errors
/// [`ReadError`] where the text is no STEP file or damaged (with the line), the kernel is not
/// built in, the solid asked for is not there, or the file holds no surface.
pub fn read(bytes: &[u8], display_name: &str, options: &ReadOptions) -> Result<Part, ReadError> {
    let outline = scan::scan(bytes, display_name)?;
    let model = default_reader(bytes, display_name, options, &outline)?;
    assemble::part(model, &outline, display_name, options)
}

/// What the syntax of a STEP file says: schema, entities and their lines.
///
/// # Errors
/// [`ReadError`] with the line where the text is no STEP file or damaged.
pub fn outline(bytes: &[u8], display_name: &str) -> Result<Outline, ReadError> {
    scan::scan(bytes, display_name)
}

/// The model as the default reader gives it, its mesh not yet measured.
///
/// # Errors
/// As [`read`].
pub fn model(
    bytes: &[u8],
    display_name: &str,
    options: &ReadOptions,
) -> Result<StepModel, ReadError> {
    let outline = scan::scan(bytes, display_name)?;
    default_reader(bytes, display_name, options, &outline)
}

#[cfg(feature = "occt")]
fn default_reader(
    bytes: &[u8],
    display_name: &str,
    options: &ReadOptions,
    outline: &Outline,
) -> Result<StepModel, ReadError> {
    kernel::Kernel.read(bytes, display_name, options, outline)
}

#[cfg(not(feature = "occt"))]
fn default_reader(
    _bytes: &[u8],
    display_name: &str,
    _options: &ReadOptions,
    _outline: &Outline,
) -> Result<StepModel, ReadError> {
    Err(ReadError::Unsupported {
        file: display_name.to_owned(),
        format: crate::Format::Step,
        why: "it was built for meshes only".to_owned(),
        remedy: "build it with the feature occt, or export the part as STL".to_owned(),
    })
}
