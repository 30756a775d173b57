//! The part's file, its material and stock, and where it stands on the machine.

use crate::text::Place;
use ::material::Material;
use geom::Vec3;
use part::LengthUnit;

/// What a study says about its part.
#[derive(Debug, Clone, PartialEq)]
pub struct PartRef {
    /// File, relative to the study file.
    pub file: FileRef,
    /// Unit of a file that does not state one.
    pub unit: Option<LengthUnit>,
    /// Name or `#number` of the solid that is meant.
    pub solid: Option<Solid>,
    /// Material.
    pub material: Material,
    /// What the part is milled from.
    pub stock: Option<Stock>,
}

/// A file named in the study.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileRef {
    /// Path as written, relative to the study file.
    pub path: String,
    /// Where it is named.
    pub place: Place,
}

/// The solid that is meant where a file holds several.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Solid {
    /// Its name, or `#` and its number.
    pub name: String,
    /// Where it is named.
    pub place: Place,
}

/// What the part is milled from.
#[derive(Debug, Clone, PartialEq)]
pub enum Stock {
    /// A block around the part.
    Block {
        /// What stands over the part's box in x, y and z, mm.
        margin_mm: Vec3,
    },
    /// A round bar along z around the part.
    Cylinder {
        /// What stands over: in x and y the larger radially, in z at the ends, mm.
        margin_mm: Vec3,
    },
    /// The part grown by an even layer.
    NearNet {
        /// Thickness of the layer, mm.
        layer_mm: f64,
    },
    /// A file with the stock as a solid or mesh.
    File(FileRef),
}

/// Where the part stands: program point = turn(part point) + origin.
#[derive(Debug, Clone, PartialEq)]
pub struct Setup {
    /// Part zero in program coordinates, mm.
    pub origin_mm: Vec3,
    /// Turns about x, then y, then z of the program's frame, rad.
    pub rotation_rad: Vec3,
    /// Files of clamps and table.
    pub fixture: Vec<FileRef>,
}

impl Default for Setup {
    fn default() -> Self {
        Self { origin_mm: Vec3::ZERO, rotation_rad: Vec3::ZERO, fixture: Vec::new() }
    }
}
