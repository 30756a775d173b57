//! What `inspect` gives back.

use crate::document::Document;
use part::fact::{FaceFacts, Pocket};
use part::{Face, Part};
use serde::Serialize;

/// A part, looked at.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Inspection {
    /// The file as it was given.
    pub file: String,
    /// Name of the part in the file.
    pub name: String,
    /// Unit of the file's numbers.
    pub unit: &'static str,
    /// Size of the box round the part along x, y and z, mm.
    pub size_mm: Option<[f64; 3]>,
    /// Lowest corner of that box, mm.
    pub lowest_mm: Option<[f64; 3]>,
    /// Volume, mm³; `None` where the surface is open.
    pub volume_mm3: Option<f64>,
    /// How far the mesh that all is reckoned on lies off the part's surface, mm.
    pub mesh_deviation_mm: f64,
    /// Solids.
    pub solids: Vec<SolidEntry>,
    /// Faces.
    pub faces: Vec<FaceEntry>,
    /// Recesses with a flat floor.
    pub pockets: Vec<PocketEntry>,
    /// Round holes with a flat floor.
    pub bores: Vec<PocketEntry>,
    /// What is wrong with the part.
    pub defects: Vec<String>,
    /// What was assumed, repaired or left out on reading.
    pub notes: Vec<String>,
}

/// One solid.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SolidEntry {
    /// How to name it.
    pub name: String,
    /// Number of its entity in the file.
    pub step_id: Option<u64>,
    /// Volume, mm³; `None` where its surface is open.
    pub volume_mm3: Option<f64>,
    /// Area, mm².
    pub area_mm2: f64,
}

/// Ends of a range.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Range {
    /// Smallest.
    pub min: f64,
    /// Largest.
    pub max: f64,
}

/// One face.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FaceEntry {
    /// Its number.
    pub index: usize,
    /// Number of its entity in the file.
    pub step_id: Option<u64>,
    /// Its name in the file; may be empty.
    pub name: String,
    /// The solid that it bounds.
    pub solid: usize,
    /// Kind of surface.
    pub kind: &'static str,
    /// Whether its curvature is exact, not estimated from a mesh.
    pub exact: bool,
    /// Area, mm².
    pub area_mm2: f64,
    /// Principal curvatures, 1/mm, positive where concave.
    pub curvature_per_mm: Option<Range>,
    /// Largest error of the curvature, 1/mm.
    pub curvature_error_per_mm: f64,
    /// Radius of its sharpest hollow, mm; `None`: nowhere concave.
    pub concave_radius_min_mm: Option<f64>,
    /// Largest radius of an arc that may lie on it in any direction, mm; `None`: every radius.
    pub arc_radius_max_mm: Option<f64>,
}

/// One pocket or bore.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PocketEntry {
    /// Number of its floor's face; `None`: it goes through.
    pub floor: Option<usize>,
    /// Numbers of all its faces.
    pub faces: Vec<usize>,
    /// Whether it goes through.
    pub through: bool,
    /// Height of its walls over the floor, mm.
    pub depth_mm: f64,
    /// Smallest radius of its upright corners in plan, mm; `None`: sharp.
    pub corner_radius_min_mm: Option<f64>,
    /// Depth over the diameter that its smallest corner asks for; `None`: sharp.
    pub depth_over_corner_diameter: Option<f64>,
    /// Smallest radius between floor and walls, mm; `None`: sharp.
    pub floor_radius_min_mm: Option<f64>,
    /// Largest angle between a wall and the axis, degrees.
    pub draft_deg: f64,
    /// Direction in which it opens.
    pub axis: [f64; 3],
    /// Area of its floor, mm²; 0 where it goes through.
    pub floor_area_mm2: f64,
    /// Area in plan out to the walls, mm².
    pub plan_area_mm2: f64,
    /// Walls that close round something inside it.
    pub islands: usize,
    /// Length of border over which a cutter may leave it, mm.
    pub open_border_mm: f64,
}

pub(super) fn face(part: &Part, face: &Face, facts: &FaceFacts) -> FaceEntry {
    FaceEntry {
        index: face.index,
        step_id: face.step_id,
        name: face.name.clone(),
        solid: face.solid,
        kind: face.kind.name(),
        exact: part.faces[face.index].surface.is_some(),
        area_mm2: face.area_mm2,
        curvature_per_mm: facts.curvature_per_mm.map(|r| Range { min: r.low, max: r.high }),
        curvature_error_per_mm: facts.error_per_mm,
        concave_radius_min_mm: facts.concave_radius_min_mm,
        arc_radius_max_mm: facts.arc_radius_max_mm,
    }
}

pub(super) fn pocket(part: &Part, pocket: &Pocket) -> PocketEntry {
    let plan = part::fact::plan(part, pocket);
    PocketEntry {
        floor: pocket.floor,
        faces: pocket.faces.clone(),
        through: pocket.floor.is_none(),
        depth_mm: pocket.depth_mm,
        corner_radius_min_mm: pocket.corner_radius_min_mm,
        depth_over_corner_diameter: pocket.corner_radius_min_mm.map(|r| 0.5 * pocket.depth_mm / r),
        floor_radius_min_mm: pocket.floor_radius_min_mm,
        draft_deg: pocket.draft_rad.to_degrees(),
        axis: pocket.axis.to_array(),
        floor_area_mm2: pocket.floor_area_mm2,
        plan_area_mm2: plan.outline.region.area_mm2(),
        islands: plan.islands(),
        open_border_mm: plan.open_mm(),
    }
}

impl Document for Inspection {
    fn text(&self) -> String {
        super::text::render(self)
    }
}
