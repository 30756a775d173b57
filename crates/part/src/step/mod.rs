//! STEP parts (ISO 10303-21 with AP203, AP214 or AP242): exact faces with a mesh that is measured.
//!
//! | file | holds |
//! | --- | --- |
//! | `scan` | the syntax of the file: header, line of every entity, what a reader would trip over |
//! | `model` | the seam: plain data that a reader fills |
//! | `kernel` | the default reader, over the geometry kernel |
//! | `exchange` | the second reader, in Rust alone |
//! | `choice` | one solid of several, by name or number |
//! | `refine` | deviation of the mesh from the exact faces, measured, and split until it holds |
//! | `assemble` | from all that to a [`Part`] |
//!
//! A file passes `scan` first: only well-formed text reaches a reader.

mod assemble;
mod choice;
#[cfg(feature = "step-io")]
mod exchange;
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

/// A reader of STEP files.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reader {
    /// Over the CAD kernel: checks, heals and meshes whatever the kernel can.
    Kernel,
    /// In Rust alone.
    Exchange,
}

impl Reader {
    /// The readers that this build has, the default one first.
    pub fn available() -> Vec<Self> {
        let mut out = Vec::new();
        #[cfg(feature = "occt")]
        if occt::available() {
            out.push(Self::Kernel);
        }
        if cfg!(feature = "step-io") {
            out.push(Self::Exchange);
        }
        out
    }
}

/// The model as one reader gives it.
///
/// # Errors
/// As [`read`]; [`ReadError::Unsupported`] where this build has not got the reader.
pub fn model_by(
    reader: Reader,
    bytes: &[u8],
    display_name: &str,
    options: &ReadOptions,
) -> Result<StepModel, ReadError> {
    let outline = scan::scan(bytes, display_name)?;
    by(reader, bytes, display_name, options, &outline)
}

/// Reads a STEP part with one reader.
///
/// # Errors
/// As [`model_by`].
pub fn read_by(
    reader: Reader,
    bytes: &[u8],
    display_name: &str,
    options: &ReadOptions,
) -> Result<Part, ReadError> {
    let outline = scan::scan(bytes, display_name)?;
    let model = by(reader, bytes, display_name, options, &outline)?;
    assemble::part(model, &outline, display_name, options)
}

fn default_reader(
    bytes: &[u8],
    display_name: &str,
    options: &ReadOptions,
    outline: &Outline,
) -> Result<StepModel, ReadError> {
    let reader = Reader::available().first().copied().unwrap_or(Reader::Kernel);
    by(reader, bytes, display_name, options, outline)
}

#[cfg_attr(
    not(any(feature = "occt", feature = "step-io")),
    allow(unused_variables, reason = "without a reader nothing is read")
)]
fn by(
    reader: Reader,
    bytes: &[u8],
    display_name: &str,
    options: &ReadOptions,
    outline: &Outline,
) -> Result<StepModel, ReadError> {
    match reader {
        #[cfg(feature = "occt")]
        Reader::Kernel => kernel::Kernel.read(bytes, display_name, options, outline),
        #[cfg(feature = "step-io")]
        Reader::Exchange => exchange::Exchange.read(bytes, display_name, options, outline),
        #[cfg(not(all(feature = "occt", feature = "step-io")))]
        _ => Err(ReadError::Unsupported {
            file: display_name.to_owned(),
            format: crate::Format::Step,
            why: "it was built without a reader for it".to_owned(),
            remedy: "build it with the feature occt or step-io, or export the part as STL"
                .to_owned(),
        }),
    }
}
