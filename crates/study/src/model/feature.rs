//! A named set of faces of the part, or a pocket, wall, floor or hole, with its limits.

use crate::text::Place;
use geom::Vec3;

/// A feature of the part.
#[derive(Debug, Clone, PartialEq)]
pub struct Feature {
    /// Name by which operations call it.
    pub name: String,
    /// What it is.
    pub kind: FeatureKind,
    /// How its faces are found in the part.
    pub select: Select,
    /// Where the selection stands in the file.
    pub select_place: Place,
    /// What the drawing asks of its surface.
    pub finish: Option<Finish>,
    /// Tolerance of its form, mm.
    pub tolerance_mm: Option<f64>,
    /// Where it stands in the file.
    pub place: Place,
}

/// What a feature is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FeatureKind {
    /// One face or a few that join smoothly.
    Face,
    /// A recess with a floor.
    Pocket,
    /// An upright face.
    Wall,
    /// A flat bottom.
    Floor,
    /// A bore.
    Hole,
    /// The part's outside.
    Outside,
}

/// How the faces of a feature are found.
#[derive(Debug, Clone, PartialEq)]
pub enum Select {
    /// The face nearest to a point of the part's frame.
    Near {
        /// The point, mm.
        point_mm: Vec3,
    },
    /// Faces by their numbers in the part.
    Faces(Vec<usize>),
    /// All that belongs to the kind of feature.
    All,
}

/// What the drawing asks of a surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Finish {
    /// Highest ridge between neighbouring passes.
    Cusp {
        /// Its height along the normal, mm.
        limit_mm: f64,
    },
    /// Highest arithmetic mean roughness Ra after ISO 21920.
    Ra {
        /// The roughness, mm.
        limit_mm: f64,
    },
}

impl FeatureKind {
    /// The word for it in files and tables.
    pub fn name(self) -> &'static str {
        crate::words::word(&crate::words::FEATURE_KINDS, self)
    }
}
