//! A part: its faces, its mesh, what is wrong with it, and what can be said about it.
//!
//! [`read`] takes the bytes of a file and gives a [`Part`] in mm. From a mesh file the faces are
//! regions between sharp edges and curvature is estimated; from an exact file each face keeps its
//! surface and curvature is exact. Everything downstream asks the part, not the file.

pub mod build;
pub mod error;
pub mod fact;
pub mod format;
pub mod health;
pub mod model;
pub mod read;
pub mod step;
pub mod trim;
pub mod unit;

mod curvature;
mod obj;
mod ply;
mod polygon;
mod recognise;
mod site;
mod stl;
mod threemf;

pub use curvature::Estimates;
pub use error::ReadError;
pub use format::Format;
pub use health::{Defect, DefectKind};
pub use model::{Face, FaceKind, Part, Solid};
pub use read::{ReadOptions, read};
pub use trim::Trim;
pub use unit::LengthUnit;
