//! The seam between a reader of STEP files and the rest: plain data that any reader can fill.

use super::Outline;
use crate::error::ReadError;
use crate::read::ReadOptions;
use crate::unit::LengthUnit;
use geom::surface::Surface;
use geom::{TriMesh, Vec2};

/// Something that makes a [`StepModel`] of a STEP file.
pub trait StepReader {
    /// Reads a file whose syntax was found to be sound.
    ///
    /// # Errors
    /// [`ReadError`] where nothing usable came out.
    fn read(
        &self,
        bytes: &[u8],
        display_name: &str,
        options: &ReadOptions,
        outline: &Outline,
    ) -> Result<StepModel, ReadError>;
}

/// What a STEP file holds, placed, in mm.
#[derive(Debug, Clone, PartialEq)]
pub struct StepModel {
    /// Length unit that the file names; `None` where it names none or one that is not known.
    pub unit: Option<LengthUnit>,
    /// Placed bodies.
    pub bodies: Vec<Body>,
    /// Placed faces, by body, then by entity number.
    pub faces: Vec<StepFace>,
    /// Welded mesh of all faces, by a reader that can mesh.
    pub tessellation: Option<Tessellation>,
    /// What the reader had to say.
    pub remarks: Vec<Remark>,
}

/// A placed body: a solid, or faces that bound none.
#[derive(Debug, Clone, PartialEq)]
pub struct Body {
    /// Entity number.
    pub step_id: Option<u64>,
    /// Name of its entity or product; may be empty.
    pub name: String,
    /// Products and occurrences above it, joined by `/`: with the entity number its identity.
    pub path: String,
    /// Whether it is a solid.
    pub solid: bool,
    /// Volume, mm³, by a reader that can tell.
    pub volume_mm3: Option<f64>,
    /// What the reader finds wrong with it, empty if nothing.
    pub verdict: String,
}

/// A placed face.
#[derive(Debug, Clone, PartialEq)]
pub struct StepFace {
    /// Entity number.
    pub step_id: Option<u64>,
    /// Name of its entity; may be empty.
    pub name: String,
    /// Its body: place in [`StepModel::bodies`].
    pub body: usize,
    /// Exact surface, placed; `None` where it could not be had.
    pub surface: Option<Surface>,
    /// Whether the definition approximates a surface of a kind that is not known here.
    pub approximated: bool,
    /// Whether the outward normal is opposite to `du × dv`.
    pub flip: bool,
    /// Area, mm², by a reader that can tell.
    pub area_mm2: Option<f64>,
    /// Corners of its box in the parameters, by a reader that can tell.
    pub uv_box: Option<[Vec2; 2]>,
    /// Borders in the parameters, by a reader that can tell.
    pub loops: Vec<TrimLoop>,
    /// Whether it is in the tessellation.
    pub meshed: bool,
    /// What the reader finds wrong with it, empty if nothing.
    pub verdict: String,
}

/// One closed border of a face in its parameters.
#[derive(Debug, Clone, PartialEq)]
pub struct TrimLoop {
    /// Whether it is the outer one.
    pub outer: bool,
    /// Points; the last joins the first. The face lies to the left seen along `du × dv`.
    pub points: Vec<Vec2>,
}

/// A mesh with the parameters of its corners.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Tessellation {
    /// Mesh; `face_of` holds places in [`StepModel::faces`].
    pub mesh: TriMesh,
    /// Parameters of the corners of each triangle.
    pub corner_uv: Vec<[Vec2; 3]>,
}

/// A remark of the reader on an entity.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Remark {
    /// Entity number, `None` for the file as a whole.
    pub step_id: Option<u64>,
    /// Type of the entity, where known.
    pub entity: String,
    /// What is said.
    pub text: String,
    /// Whether something was lost.
    pub lost: bool,
}
