//! The part itself: solids, faces, mesh.

use crate::curvature::Estimates;
use crate::health::Defect;
use crate::trim::Trim;
use crate::unit::LengthUnit;
use geom::surface::Surface;
use geom::{Bvh, TriMesh, Vec2};
use std::fmt;

/// A part in its own frame, in mm.
#[derive(Debug, Clone)]
pub struct Part {
    /// Name: of the product in the file, else of the file.
    pub name: String,
    /// Unit that the file's numbers were in before they became mm.
    pub unit: LengthUnit,
    /// The solids, placed; a mesh file without names has one for each connected piece.
    pub solids: Vec<Solid>,
    /// The faces; `faces[i].index == i`.
    pub faces: Vec<Face>,
    /// Mesh of the whole part; its `face_of` holds face indices.
    pub mesh: TriMesh,
    /// Surface parameters at the three corners of each triangle; empty for mesh files.
    pub corner_uv: Vec<[Vec2; 3]>,
    /// Normal and curvature estimated from the mesh; `None` where every face is exact.
    pub estimates: Option<Estimates>,
    /// Box tree over `mesh`.
    pub bvh: Bvh,
    /// Largest distance of the mesh from the surface it stands for, mm: measured where the surface
    /// is exact, estimated where the part is a mesh.
    pub deviation_mm: f64,
    /// What is wrong with the part; harmless where it touches no face that is used.
    pub defects: Vec<Defect>,
    /// What was assumed, repaired or left out on reading.
    pub notes: Vec<String>,
}

/// One solid of a part.
#[derive(Debug, Clone, PartialEq)]
pub struct Solid {
    /// Number of its entity in an exact file.
    pub step_id: Option<u64>,
    /// Its name, unique within the part where the file's names are.
    pub name: String,
    /// Volume, mm³; `None` where its surface is open.
    pub volume_mm3: Option<f64>,
    /// Area of all its faces, mm².
    pub area_mm2: f64,
}

/// One face of a part.
#[derive(Debug, Clone, PartialEq)]
pub struct Face {
    /// Its number: place in [`Part::faces`].
    pub index: usize,
    /// Number of its entity in an exact file.
    pub step_id: Option<u64>,
    /// Its name in the file, or the group it came from; may be empty.
    pub name: String,
    /// The solid it bounds: place in [`Part::solids`].
    pub solid: usize,
    /// What kind of surface it lies on.
    pub kind: FaceKind,
    /// Exact surface, in the part's frame; `None` from a mesh file.
    pub surface: Option<Surface>,
    /// Where on its surface it lies; `None` from a mesh file.
    pub trim: Option<Trim>,
    /// How far the vertices of a mesh miss the surface that they were recognised as, at worst, mm;
    /// `None` where nothing was recognised, and where the surface is exact.
    pub fit_residual_mm: Option<f64>,
    /// Whether the outward normal is opposite to the surface's ∂u × ∂v.
    pub flip: bool,
    /// Area, mm².
    pub area_mm2: f64,
}

/// What kind of surface a face lies on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum FaceKind {
    /// Flat.
    Plane,
    /// Right circular cylinder.
    Cylinder,
    /// Right circular cone.
    Cone,
    /// Sphere.
    Sphere,
    /// Torus.
    Torus,
    /// Polynomial or rational spline surface.
    Spline,
    /// A curve moved along a line.
    Extrusion,
    /// A curve turned about an axis.
    Revolution,
    /// At a constant distance from another surface.
    Offset,
    /// A region of a mesh that fits none of the simple surfaces.
    Freeform,
}

impl FaceKind {
    /// The word for it in tables and files.
    pub fn name(self) -> &'static str {
        match self {
            Self::Plane => "plane",
            Self::Cylinder => "cylinder",
            Self::Cone => "cone",
            Self::Sphere => "sphere",
            Self::Torus => "torus",
            Self::Spline => "spline",
            Self::Extrusion => "extrusion",
            Self::Revolution => "revolution",
            Self::Offset => "offset",
            Self::Freeform => "freeform",
        }
    }
}

impl fmt::Display for FaceKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}
