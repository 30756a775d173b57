//! Where an operation works: the plan of its feature, its heights, and the part around it.

use super::blank::Blank;
use super::finish::Task;
use super::levels::Layer;
use super::section::{filled, section};
use super::thin::{self, ThinWall};
use crate::cutter_set::pocket::reaches_floor;
use crate::feature;
use crate::job::{self, Prepared};
use crate::scene::Scene;
use geom::Vec3;
use part::{FaceKind, Part, fact};
use pattern::Frame;
use planar::Region;
use std::f64::consts::FRAC_PI_2;
use std::sync::OnceLock;
use study::{Diagnostic, FeatureKind, Operation};

/// How far the axis of a pocket may lean from that of the set-up (sine).
const LEAN: f64 = 1e-4;
/// Sections are taken this far over a height, so that a flat face at it counts as cut, mm.
const OVER_MM: f64 = 1e-3;
/// No more of the facets' error is left out of account than this, mm.
const MOST_SLACK_MM: f64 = 0.01;
/// How far outside the stock and over open sides the cutter may go, over its diameter.
const ROOM: f64 = 1.2;
/// Rings of the tip's rounding at which the part is looked at, by roughing and by finishing: between
/// rings `n` apart the corner may be `r (1 − cos 45°/n)` into a rounding of the part.
const RINGS: (usize, usize) = (6, 45);

/// Where an operation works.
pub(crate) struct Shape {
    /// Where it may work at all, in plan; the part is still in it.
    pub(crate) domain: Region,
    /// Faces of the feature.
    pub(crate) faces: Vec<usize>,
    /// Lowest height to be cut on the part, mm.
    pub(crate) floor_mm: f64,
    /// Height of the feature's rim, mm.
    pub(crate) rim_mm: f64,
    /// Flat faces of the feature between the two, mm.
    pub(crate) shelves: Vec<f64>,
    /// Smallest upright corner, mm: 0 where it is sharp; `None` where there is none.
    pub(crate) corner_mm: Option<f64>,
    /// Smallest radius between floor and walls, mm.
    pub(crate) fillet_mm: Option<f64>,
    /// Largest angle of a wall to the axis, rad.
    pub(crate) draft_rad: f64,
    /// Whether walls shut it in, so that chips leave only upwards.
    pub(crate) shut_in: bool,
    /// Whether only what can be reached from outside is cut.
    outside: bool,
    /// The thinnest wall beside it, once it was looked for.
    thin: OnceLock<Option<ThinWall>>,
}

impl Shape {
    /// The shape of the feature of an operation.
    pub(crate) fn of(
        scene: &Scene<'_>,
        operation: &Operation,
        blank: &Blank,
        diameter_mm: f64,
    ) -> Result<Self, Diagnostic> {
        let feature = scene.study.feature_of(operation);
        let faces = feature::faces(scene.study, scene.part, feature)?;
        if feature.kind == FeatureKind::Outside {
            return Self::outside(scene, operation, blank, faces, diameter_mm);
        }
        feature::sound(scene.study, scene.part, feature, &faces)?;
        let held = |p: &&fact::Pocket| faces.iter().any(|f| p.faces.contains(f));
        let Some(pocket) = scene.found.pockets(scene.part).iter().find(held) else {
            return Err(scene.study.fault(
                feature.select_place,
                format!("feature \"{}\" selects no face of a pocket", feature.name),
                "a face of a recess with a flat floor and walls round it",
                "`trialcut inspect` lists the pockets of the part with their faces",
            ));
        };
        let frame = job::frame(scene.study);
        if pocket.axis.cross(frame.up).length() > LEAN || pocket.axis.dot(frame.up) < 0.0 {
            let [x, y, z] = pocket.axis.to_array().map(|v| if v == 0.0 { 0.0 } else { v });
            return Err(scene.study.fault(
                operation.feature_place,
                format!(
                    "pocket \"{}\" opens along ({x:.3}, {y:.3}, {z:.3}), not along the axis of the set-up: \
                     the cutter has no way in",
                    feature.name
                ),
                "a pocket that opens along +Z of the set-up",
                "turn the part by [setup] rotation_deg, in a study of its own where the other side has one",
            ));
        }
        Ok(Self::pocket(scene.part, pocket, frame, diameter_mm))
    }

    fn pocket(part: &Part, pocket: &fact::Pocket, frame: Frame, diameter_mm: f64) -> Self {
        let plan = fact::plan_along(part, pocket, [frame.x, frame.y]);
        let open = Region::around(&plan.outline.open, ROOM * diameter_mm);
        let heights = heights(part, &pocket.faces, frame.up);
        let corner = pocket.corner_radius_min_mm;
        Self {
            domain: plan.outline.region.or(&open),
            faces: pocket.faces.clone(),
            floor_mm: heights.0,
            rim_mm: heights.0 + pocket.depth_mm,
            shelves: shelves(part, &pocket.faces, frame.up),
            corner_mm: if plan.has_sharp_corner { Some(0.0) } else { corner },
            fillet_mm: pocket.floor_radius_min_mm,
            draft_rad: pocket.draft_rad,
            shut_in: plan.outline.open.is_empty(),
            outside: false,
            thin: OnceLock::new(),
        }
    }

    fn outside(
        scene: &Scene<'_>,
        operation: &Operation,
        blank: &Blank,
        faces: Vec<usize>,
        diameter_mm: f64,
    ) -> Result<Self, Diagnostic> {
        if !blank.has_outside() {
            return Err(scene.study.fault(
                operation.place,
                format!(
                    "operation \"{}\" roughs the outside of a stock that is not given",
                    operation.name
                ),
                "[part] stock with what stands over the part",
                "add `stock = { shape = \"block\", margin_mm = [2.0, 2.0, 3.0] }` to [part]",
            ));
        }
        let frame = job::frame(scene.study);
        let (floor_mm, rim_mm) = heights(scene.part, &faces, frame.up);
        let stock = blank.plan(scene.part, frame, &Layer { top_mm: rim_mm, bottom_mm: floor_mm });
        Ok(Self {
            domain: stock.grown(ROOM * diameter_mm),
            shelves: shelves(scene.part, &faces, frame.up),
            faces,
            floor_mm,
            rim_mm,
            corner_mm: None,
            fillet_mm: None,
            draft_rad: 0.0,
            shut_in: false,
            outside: true,
            thin: OnceLock::new(),
        })
    }

    /// The thinnest wall beside the feature, if any is thin.
    pub(super) fn thin_wall(&self, scene: &Scene<'_>) -> Option<&ThinWall> {
        self.thin.get_or_init(|| thin::thinnest(scene, self)).as_ref()
    }

    /// Faces that a pass along the walls or over the floor makes: flat ones that look up, or those that
    /// stand upright, lean, or round the floor off.
    pub(crate) fn finished(&self, scene: &Scene<'_>, task: Task) -> Vec<usize> {
        let mesh = &scene.part.mesh;
        let up = job::frame(scene.study).up;
        let mut highest = vec![f64::NEG_INFINITY; scene.part.faces.len()];
        let mut lowest = vec![f64::INFINITY; scene.part.faces.len()];
        for t in 0..mesh.triangles.len() {
            let [a, b, c] = mesh.corners(t);
            let Some(normal) = (b - a).cross(c - a).try_normalize() else { continue };
            let face = mesh.face_of[t] as usize;
            highest[face] = highest[face].max(normal.dot(up));
            lowest[face] = lowest[face].min(normal.dot(up));
        }
        let flat = |f: usize| lowest[f] > 1.0 - LEAN;
        let upright = |f: usize| lowest[f] > -LEAN && (!self.outside || highest[f] < LEAN);
        let makes = |f: &usize| match task {
            Task::Floor => flat(*f),
            _ => !flat(*f) && upright(*f),
        };
        self.faces.iter().copied().filter(makes).collect()
    }

    /// Where the part stands in the way of a cutter whose tip is at a height, and of its shank.
    /// `above` gathers the part above from layer to layer, from the top.
    pub(crate) fn in_the_way(
        &self,
        scene: &Scene<'_>,
        prepared: &Prepared<'_>,
        height_mm: f64,
        above: &mut Region,
    ) -> Region {
        let frame = job::frame(scene.study);
        let rounding = prepared.assembly.cutter.spec().corner_radius_mm.unwrap_or(0.0);
        // facets stand into hollows by as much as they lie off: a corner as round as a rounding would be
        // held off by far more than that near its foot, where it is flat
        let slack = match Task::of(prepared.operation.kind) {
            Task::Clear => OVER_MM,
            _ => OVER_MM.max(scene.part.deviation_mm.min(MOST_SLACK_MM)),
        };
        // what lies farther off is in nobody's way
        let window = self.domain.grown(prepared.cutter.spec.diameter_mm);
        let at = |over: f64| {
            let found = section(&scene.part.mesh, frame, height_mm + over + slack);
            let found = if self.outside { filled(&found) } else { found };
            found.and(&window)
        };
        *above = above.or(&at(rounding));
        let mut out = above.clone();
        if rounding > 0.0 {
            let rings = match Task::of(prepared.operation.kind) {
                Task::Clear => RINGS.0,
                _ => RINGS.1,
            };
            for k in 0..rings {
                let (sin, cos) = (FRAC_PI_2 * k as f64 / rings as f64).sin_cos();
                let here = at(rounding * (1.0 - cos));
                // the cutter is narrower here than at its full radius
                if here.less(above).area_mm2() > geom::tolerance::COINCIDENT_MM {
                    out = out.or(&here.grown(-rounding * (1.0 - sin)));
                }
            }
        }
        out
    }

    /// Refuses a cutter that is too short or too thick above its flutes.
    pub(crate) fn reached(
        &self,
        scene: &Scene<'_>,
        prepared: &Prepared<'_>,
    ) -> Result<(), Diagnostic> {
        let depth = self.rim_mm - self.floor_mm;
        if self.outside || reaches_floor(prepared.cutter, depth) {
            return Ok(());
        }
        Err(scene.study.fault(
            prepared.operation.cutter_place,
            format!(
                "cutter \"{}\" does not reach the floor of \"{}\", {depth:.2} mm deep",
                prepared.cutter.id,
                scene.study.feature_of(prepared.operation).name
            ),
            "flutes, or a neck or shank no thicker than they, as long as the feature is deep",
            "take a longer cutter, or give neck_diameter_mm and usable_length_mm of a relieved one",
        ))
    }
}

/// Lowest and highest point of faces.
fn heights(part: &Part, faces: &[usize], up: Vec3) -> (f64, f64) {
    let mesh = &part.mesh;
    let ours = |t: &usize| faces.contains(&(mesh.face_of[*t] as usize));
    let all = (0..mesh.triangles.len()).filter(ours).flat_map(|t| mesh.corners(t));
    let found = units::Interval::hull(all.map(|p| p.dot(up)));
    found.map_or((0.0, 0.0), |i| (i.low, i.high))
}

/// Heights of flat faces that look up.
fn shelves(part: &Part, faces: &[usize], up: Vec3) -> Vec<f64> {
    let mesh = &part.mesh;
    let flat = |f: &&usize| part.faces[**f].kind == FaceKind::Plane;
    let mut out: Vec<f64> = Vec::new();
    for face in faces.iter().filter(flat) {
        let Some(t) = mesh.face_of.iter().position(|f| *f as usize == *face) else { continue };
        let [a, b, c] = mesh.corners(t);
        if (b - a).cross(c - a).normalize_or_zero().dot(up) > 1.0 - LEAN {
            out.push(a.dot(up));
        }
    }
    out
}
