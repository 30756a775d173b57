//! Walls and floors finished in layers: what stands on them, and which layers take it off.
//!
//! The side of the cutter and its bottom are never in the cut together for a whole layer: passes along
//! walls end on top of what stands on the floor, and passes over a floor keep off what stands on the
//! walls. Whichever is finished last finds the other clear.

use super::blank::Blank;
use super::lay::{self, Ground, Measures};
use super::levels::{self, Layer};
use super::section::section;
use super::shape::Shape;
use super::standing::{Slab, Standing};
use super::{fillet, step_down, teeth};
use crate::job::{self, Prepared};
use crate::scene::Scene;
use clearing::{Clearing, ClearingError, Job, Walls};
use geom::tolerance::COINCIDENT_MM;
use planar::Region;
use study::{Cut, Diagnostic, OperationKind, Spacing};

/// How far beyond the stock on a floor the flat of the bottom may go, over its radius.
const BEYOND: f64 = 1.5;
/// Largest step over what is flat of the bottom: below what leaves nothing in corners of 60° (derived:
/// half of it times 1 + sin 30°).
const MOST_STEP: f64 = 0.75;
/// Depth over the diameter up to which a layer along walls may be ramped into where no ground is clear
/// beside it: common practice, no source.
const RAMPED: f64 = 0.1;
/// Flat of the bottom that a floor needs, over the diameter.
const LEAST_FLAT: f64 = 0.1;
/// How far under a flat face the part is looked for, and over a layer its walls, mm.
const BESIDE_MM: f64 = 1e-3;
/// Stock on a wall that is thinner than twice this is none, mm.
const THIN_MM: f64 = 0.01;
/// Most of a region: a floor is covered where this share of it is.
const MOST: f64 = 0.5;
/// Step over a floor over the diameter, and over what is flat of the bottom, where none is given:
/// common practice, no source.
const FLOOR_STEP: (f64, f64) = (0.7, 0.7);

/// What an operation does in its layers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Task {
    /// Takes out all that stands.
    Clear,
    /// Goes along the walls.
    Walls,
    /// Goes over the flat faces.
    Floor,
}

impl Task {
    pub(crate) fn of(kind: OperationKind) -> Self {
        match kind {
            OperationKind::FinishWall => Self::Walls,
            OperationKind::FinishFloor => Self::Floor,
            _ => Self::Clear,
        }
    }
}

/// Where no operation before cut anything of the feature, and no stock is given that leaves it open: an
/// even layer on walls and floors, the rest cleared. Returns what was taken as cleared.
pub(crate) fn presume(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    (shape, blank): (&Shape, &Blank),
    standing: &mut Standing,
    warnings: &mut Vec<String>,
) -> Vec<Slab> {
    if standing.was_cut(&shape.domain) || is_formed(scene, shape, blank) {
        return Vec::new();
    }
    let layer_mm = prepared.operation.allowance_mm;
    warnings.push(format!(
        "near-net stock is assumed, because no operation before cuts this feature: {layer_mm} mm on its \
         walls and its floor"
    ));
    let on_floor = if has_floor(shape) { layer_mm } else { 0.0 };
    let shelves: Vec<f64> = shape.shelves.iter().map(|z| z + layer_mm).collect();
    let most = 0.5 * prepared.cutter.spec.diameter_mm;
    let mut above = Region::of_loops(&[]);
    let layers = levels::even(shape.rim_mm, shape.floor_mm + on_floor, &shelves, most);
    let slab = |(i, layer): (usize, Layer)| {
        let way = shape.in_the_way(scene, prepared, layer.bottom_mm, &mut above);
        Slab {
            top_mm: if i == 0 { f64::INFINITY } else { layer.top_mm },
            bottom_mm: layer.bottom_mm,
            cleared: shape.domain.less(&way.grown(layer_mm)),
        }
    };
    let slabs: Vec<Slab> = layers.into_iter().enumerate().map(slab).collect();
    standing.clear(slabs.iter().cloned());
    slabs
}

/// Whether the stock is a mesh that leaves most of the feature open half-way down.
fn is_formed(scene: &Scene<'_>, shape: &Shape, blank: &Blank) -> bool {
    let Some(cast) = blank.mesh() else { return false };
    let middle_mm = 0.5 * (shape.rim_mm + shape.floor_mm);
    let part = section(&scene.part.mesh, job::frame(scene.study), middle_mm);
    let open = shape.domain.less(&part);
    cast.at(middle_mm).and(&open).area_mm2() < MOST * open.area_mm2()
}

fn has_floor(shape: &Shape) -> bool {
    shape.shelves.iter().any(|z| (z - shape.floor_mm).abs() <= COINCIDENT_MM)
}

/// Layers along the walls, down to what stands on the floor.
///
/// # Errors
/// A floor that is covered up to the rim.
pub(crate) fn walls(
    ground: &Ground<'_>,
    warnings: &mut Vec<String>,
) -> Result<(Measures, Vec<Layer>), Diagnostic> {
    let (shape, asked) = (ground.shape, ground.prepared.operation.roughing);
    if ground.prepared.operation.spacing.is_some() || asked.width_mm.is_some() {
        warnings.push(
            "a step-over, cusp_um or width_mm is not used: the walls are cut in layers, depth_per_pass_mm deep, \
             and as wide as what stands on them"
                .to_owned(),
        );
    }
    let mut bottom = shape.floor_mm;
    if has_floor(shape) {
        bottom = covered_to(ground, shape.floor_mm);
        open(ground, bottom)?;
        if bottom > shape.floor_mm + COINCIDENT_MM {
            warnings.push(format!(
                "{:.2} mm stand on the floor: the passes along the walls end on top of it, so that side \
                 and bottom are not in the cut together; finish the floor before, or finish it after, up \
                 to the walls",
                bottom - shape.floor_mm
            ));
        }
    }
    let left_mm = asked.stock_left_mm.unwrap_or(0.0);
    let upright_mm = fillet::lowest_upright_mm(ground, over_the_rest(ground, bottom));
    let upright = Layer { top_mm: shape.rim_mm, bottom_mm: upright_mm.min(shape.rim_mm) };
    let (_, stock) = ground.of_layer(&upright, left_mm, &mut Region::of_loops(&[]));
    let width_mm = thickness(&stock);
    let depth_mm = match asked.depth_per_pass_mm {
        Some(depth_mm) => depth_mm,
        None => {
            let choice = step_down::choose(ground, upright.depth_mm(), width_mm);
            let depth_mm = upright.depth_mm() / choice.count as f64;
            warnings.push(choice.words(depth_mm));
            depth_mm
        }
    };
    let depth_mm = step_down::on_draft(ground, depth_mm, warnings);
    let mut layers = levels::even(upright.top_mm, upright.bottom_mm, &[], depth_mm);
    let depth_mm = layers.first().map_or(depth_mm, Layer::depth_mm);
    warnings.extend(teeth::told(ground, upright.depth_mm(), width_mm, layers.len()));
    layers.extend(fillet::layers(ground, upright_mm, warnings));
    let lowest = layers.last().map_or(upright_mm, |l| l.bottom_mm);
    if lowest > bottom + COINCIDENT_MM {
        layers.push(Layer { top_mm: lowest, bottom_mm: bottom });
    }
    Ok((Measures { depth_mm, width_mm, left_mm }, layers))
}

/// Height over which nothing but the layer on the walls stands: a floor that was finished before keeps a
/// rim beside them, which gets a layer of its own.
fn over_the_rest(ground: &Ground<'_>, bottom_mm: f64) -> f64 {
    let thin = RAMPED * ground.prepared.cutter.spec.diameter_mm;
    let ends = ground.standing.ends(bottom_mm, ground.shape.rim_mm);
    ends.into_iter().filter(|z| z - bottom_mm <= thin).fold(bottom_mm, f64::max)
}

/// One layer on every flat face that is covered, from the top.
///
/// # Errors
/// A floor that is covered up to the rim.
pub(crate) fn floors(
    ground: &Ground<'_>,
    warnings: &mut Vec<String>,
) -> Result<(Measures, Vec<Layer>), Diagnostic> {
    let prepared = ground.prepared;
    let asked = prepared.operation.roughing;
    let mut heights = ground.shape.shelves.clone();
    heights.sort_by(|a, b| b.total_cmp(a));
    heights.dedup_by(|a, b| (*a - *b).abs() <= COINCIDENT_MM);
    let mut layers = Vec::new();
    for bottom_mm in heights {
        let top_mm = covered_to(ground, bottom_mm);
        open(ground, top_mm)?;
        if top_mm > bottom_mm + COINCIDENT_MM {
            layers.push(Layer { top_mm, bottom_mm });
        }
    }
    let diameter = prepared.cutter.spec.diameter_mm;
    if asked.depth_per_pass_mm.is_some()
        || matches!(prepared.operation.spacing, Some(Spacing::Cusp { .. }))
    {
        warnings.push(
            "depth_per_pass_mm or cusp_um is not used: a floor is flat, and cut in one layer as deep as what \
             stands on it"
                .to_owned(),
        );
    }
    let flat = diameter - 2.0 * prepared.cutter.spec.corner_radius_mm.unwrap_or(0.0);
    if flat <= LEAST_FLAT * diameter {
        return Err(ground.scene.study.fault(
            prepared.operation.cutter_place,
            format!(
                "the bottom of cutter \"{}\" is flat over {flat:.2} mm only",
                prepared.cutter.id
            ),
            "a cutter for floors, with a corner well below half of its diameter",
            "take one with a smaller corner radius, or finish the floor as a face",
        ));
    }
    let step = match prepared.operation.spacing {
        Some(Spacing::Stepover { mm }) => Some(mm),
        _ => asked.width_mm,
    };
    let width_mm = step.unwrap_or((FLOOR_STEP.0 * diameter).min(FLOOR_STEP.1 * flat));
    if width_mm > MOST_STEP * flat {
        warnings.push(format!(
            "steps of {width_mm} mm are held to {:.2} mm: the bottom of the cutter is flat over {flat:.2} mm",
            MOST_STEP * flat
        ));
    }
    let width_mm = width_mm.min(MOST_STEP * flat);
    warnings.extend(teeth::told(ground, 0.0, 0.0, layers.len()));
    let depth_mm = layers.iter().map(Layer::depth_mm).fold(0.0, f64::max);
    Ok((Measures { depth_mm, width_mm, left_mm: asked.stock_left_mm.unwrap_or(0.0) }, layers))
}

/// Refuses a feature that is still full.
fn open(ground: &Ground<'_>, covered_to_mm: f64) -> Result<(), Diagnostic> {
    if covered_to_mm < ground.shape.rim_mm - COINCIDENT_MM {
        return Ok(());
    }
    let operation = ground.prepared.operation;
    Err(ground.scene.study.fault(
        operation.place,
        format!("operation \"{}\" finds its feature full of stock", operation.name),
        "a feature that operations before have roughed, or none that cuts any of it",
        "put rough-pocket or rough-outside before it",
    ))
}

/// Height up to which stock covers most of the flat face at a height.
fn covered_to(ground: &Ground<'_>, face_mm: f64) -> f64 {
    let frame = job::frame(ground.scene.study);
    let top_mm = ground.shape.rim_mm;
    let mut above = Region::of_loops(&[]);
    let way = ground.shape.in_the_way(ground.scene, ground.prepared, face_mm, &mut above);
    let below = section(&ground.scene.part.mesh, frame, face_mm - BESIDE_MM);
    let face = ground.shape.domain.less(&way).and(&below);
    let covers = |w: &&[f64]| {
        let base = ground.base(&Layer { top_mm: w[1], bottom_mm: w[0] }, &face);
        let stands = ground.standing.at(&base, 0.5 * (w[0] + w[1]));
        stands.area_mm2() > MOST * face.area_mm2()
    };
    let ends = ground.ends(face_mm, top_mm);
    ends.windows(2).take_while(covers).last().map_or(face_mm, |w| w[1])
}

/// A layer of a floor without what stands on the walls over their rounding, unless the study says what
/// to leave: off the part by the mean of it, and off all of it where corners hold more.
pub(crate) fn off_the_walls(ground: &Ground<'_>, layer: &Layer, inside: &Region) -> Region {
    if ground.prepared.operation.roughing.stock_left_mm.is_some() {
        return inside.clone();
    }
    let fillet = ground.shape.fillet_mm.unwrap_or(0.0);
    let bottom_mm = layer.top_mm.max(layer.bottom_mm + fillet);
    let over = Layer { top_mm: bottom_mm + 2.0 * BESIDE_MM, bottom_mm };
    let (_, stands) = ground.of_layer(&over, 0.0, &mut Region::of_loops(&[]));
    // what a finished wall keeps between chords is none
    let stands = stands.grown(-THIN_MM).grown(THIN_MM);
    inside.grown(-thickness(&stands)).less(&stands)
}

/// A level of a floor, laid for what is flat of the bottom, so that nothing is left under its rounding:
/// by a disc as wide as that, in what the whole cutter leaves to it, and once along the border where
/// turns of the path have left something. Arcs of contact are those of the whole cutter at the width cut.
pub(crate) fn flat(
    prepared: &Prepared<'_>,
    inside: &Region,
    stock: &Region,
    arc_rad: f64,
) -> Result<Clearing, ClearingError> {
    let rounding = prepared.cutter.spec.corner_radius_mm.unwrap_or(0.0);
    let whole = 0.5 * prepared.cutter.spec.diameter_mm;
    let radius = whole - rounding;
    let room = inside.grown(-rounding);
    let stock = stock.and(&room);
    // no farther from what stands than the cutter's edge has to come
    let room = room.and(&stock.grown(BEYOND * radius));
    let at = |arc: f64, from: f64, to: f64| (1.0 - from / to * (1.0 - arc.cos())).max(-1.0).acos();
    let job = Job {
        inside: &room,
        cutter_radius_mm: radius,
        arc_rad: at(arc_rad, whole, radius),
        ..lay::plane(prepared, &room, &stock, arc_rad)
    };
    let mut found = clearing::clear(&job)?;
    let left =
        Walls { cutter_radius_mm: radius, rounds: 1, ..plane(prepared, &room, &found.rest, 0.0) };
    if let Ok(border) = clearing::along_walls(&left) {
        found.reached = found.reached.or(&border.reached);
        found.rest = border.rest;
        found.runs.extend(border.runs);
    }
    for arc in found.runs.iter_mut().flat_map(|r| &mut r.arc_of_contact_rad) {
        *arc = at(*arc, radius, whole);
    }
    Ok(found)
}

/// Mean thickness of a layer on a wall: twice its area over its border.
fn thickness(ring: &Region) -> f64 {
    let border = ring.border_mm();
    if border > 0.0 { 2.0 * ring.area_mm2() / border } else { 0.0 }
}

/// A level of walls, `depth_mm` deep.
pub(crate) fn plane<'a>(
    prepared: &Prepared<'_>,
    inside: &'a Region,
    stock: &'a Region,
    depth_mm: f64,
) -> Walls<'a> {
    let operation = prepared.operation;
    Walls {
        inside,
        stock,
        cutter_radius_mm: 0.5 * prepared.cutter.spec.diameter_mm,
        climb: operation.cut == Cut::Down,
        lead_radius_mm: operation.lead_radius_mm,
        may_ramp: depth_mm <= RAMPED * prepared.cutter.spec.diameter_mm,
        rounds: 1 + operation.roughing.spring_passes as usize,
    }
}
