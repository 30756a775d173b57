//! What can be wrong with a part, and which faces it touches.

mod examine;

pub use examine::{Examined, examine};

use geom::Vec3;
use std::fmt;

/// A kind of defect.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum DefectKind {
    /// Edges that bound only one triangle.
    Open,
    /// Edges in which more than two triangles meet.
    NonManifold,
    /// Neighbouring triangles that disagree about which side is out.
    MixedOrientation,
    /// Triangles that run through others.
    SelfIntersection,
    /// Triangles that are there twice.
    Duplicate,
    /// A face that could not be meshed or evaluated.
    Unmeshed,
    /// A fault that the exact reader reports about its own model.
    Invalid,
}

impl fmt::Display for DefectKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Open => "open edges",
            Self::NonManifold => "non-manifold edges",
            Self::MixedOrientation => "mixed orientation",
            Self::SelfIntersection => "self-intersection",
            Self::Duplicate => "duplicate triangles",
            Self::Unmeshed => "face without mesh",
            Self::Invalid => "invalid face",
        })
    }
}

/// Something wrong with a part: one entry for each kind and each set of faces that it touches.
#[derive(Debug, Clone, PartialEq)]
pub struct Defect {
    /// What it is.
    pub kind: DefectKind,
    /// Faces touched, ascending.
    pub faces: Vec<usize>,
    /// How many edges, triangles or pairs.
    pub count: usize,
    /// Where the first of them is, mm.
    pub place: Option<Vec3>,
    /// More, where there is more to say; may be empty.
    pub detail: String,
}

impl fmt::Display for Defect {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ({})", self.kind, self.count)?;
        if let Some(p) = self.place {
            write!(f, " at ({:.3}, {:.3}, {:.3}) mm", p.x, p.y, p.z)?;
        }
        if !self.faces.is_empty() {
            let list: Vec<String> = self.faces.iter().map(usize::to_string).collect();
            write!(f, ", face {}", list.join(", "))?;
        }
        if !self.detail.is_empty() {
            write!(f, ": {}", self.detail)?;
        }
        Ok(())
    }
}

impl crate::Part {
    /// The defects that touch one of `faces`.
    pub fn defects_touching(&self, faces: &[usize]) -> Vec<&Defect> {
        self.defects.iter().filter(|d| d.faces.iter().any(|f| faces.contains(f))).collect()
    }
}
