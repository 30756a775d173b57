//! Thin walls beside a finished one: how far they give way, and what even layers on both sides bring.

use super::finish::Task;
use super::lay::Laid;
use super::shape::Shape;
use super::simulate::upright;
use crate::job::{self, Prepared};
use crate::scene::Scene;
use geom::Vec3;
use material::IsoGroup;
use mechanics::deflection::plate;
use study::outcome::{Load, LoadKind};

/// Height over thickness from which a wall is told of: common practice, no source.
const TOLD_FROM: f64 = plate::THIN_FROM;
/// Off the surface at which a ray into the wall begins, mm.
const OFF_MM: f64 = 1e-3;
/// How far a wall's normal may lean from upright (sine).
const UPRIGHT: f64 = 0.2;
/// Poisson's ratio of metals: from memory.
const POISSON: f64 = 0.3;

/// The thinnest wall beside the feature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct ThinWall {
    pub(super) thickness_mm: f64,
    pub(super) height_mm: f64,
    pub(super) place: Vec3,
}

/// The wall that is thinnest for its height, if any is thin. Looked for from the faces that the
/// operation makes, straight into the material.
pub(super) fn thinnest(scene: &Scene<'_>, shape: &Shape) -> Option<ThinWall> {
    let (part, up) = (scene.part, job::frame(scene.study).up);
    let height_mm = shape.rim_mm - shape.floor_mm;
    let faces = shape.finished(scene, Task::Walls);
    let mut best: Option<ThinWall> = None;
    for t in 0..part.mesh.triangles.len() {
        if !faces.contains(&(part.mesh.face_of[t] as usize)) {
            continue;
        }
        let [a, b, c] = part.mesh.corners(t);
        let Some(normal) = (b - a).cross(c - a).try_normalize() else { continue };
        if normal.dot(up).abs() > UPRIGHT {
            continue;
        }
        let place = (a + b + c) / 3.0;
        let into = -(normal - up * normal.dot(up)).normalize_or_zero();
        let reach = height_mm / TOLD_FROM;
        let hit = part.bvh.ray(&part.mesh, place + into * OFF_MM, into, reach);
        let Some(thickness_mm) = hit.map(|h| h.t + OFF_MM).filter(|t| *t > 2.0 * OFF_MM) else {
            continue;
        };
        if best.is_none_or(|b| thickness_mm < b.thickness_mm) {
            best = Some(ThinWall { thickness_mm, height_mm, place });
        }
    }
    best
}

/// What is told of a thin wall: how far its rim gives way at the largest force across it, where it
/// stands free, and where both sides go down in even layers.
pub(super) fn told(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    laid: &Laid,
    loads: &[Load],
) -> Option<String> {
    let wall = laid.shape.thin_wall(scene)?;
    let p = upright(job::frame(scene.study), wall.place);
    let stands = format!(
        "a wall {:.2} mm thick and {:.1} mm high stands at ({:.1}, {:.1}, {:.1}) of the set-up",
        wall.thickness_mm, wall.height_mm, p.x, p.y, p.z
    );
    let force = loads.iter().find(|l| l.kind == LoadKind::Force)?.peak?;
    let gives = |height: f64| gives_mm(scene, wall, height, force).map(units::convert::mm_to_um);
    let depth = laid.measures.depth_mm.min(wall.height_mm);
    let (Some(whole), Some(layer), Some(modulus)) =
        (gives(wall.height_mm), gives(depth), modulus_n_mm2(scene))
    else {
        return Some(format!(
            "{stands}: how far it gives way is not computed, since the stiffness of {} is not known",
            scene.study.part.material.name
        ));
    };
    let limit = scene.study.feature_of(prepared.operation).tolerance_mm;
    let allowed = limit.map_or_else(String::new, |mm| {
        format!(", tolerance {:.1} µm", units::convert::mm_to_um(mm))
    });
    Some(format!(
        "{stands}: free on both sides its rim gives way by up to {whole:.0} µm at {force:.0} N{allowed}; \
         where both sides go down in turn in even layers of {depth:.2} mm, only so much stands free, which \
         gives {layer:.1} µm (a plate clamped at its foot, {:.0} kN/mm², from memory)",
        1e-3 * modulus
    ))
}

/// How far the rim of a wall of which `height_mm` stands free gives way at a force across it, mm; `None`
/// where the material's stiffness is not known.
pub(super) fn gives_mm(
    scene: &Scene<'_>,
    wall: &ThinWall,
    height_mm: f64,
    force_n: f64,
) -> Option<f64> {
    let modulus = modulus_n_mm2(scene)?;
    Some(force_n * plate::rim_mm_n(height_mm, wall.thickness_mm, modulus, POISSON))
}

/// Young's modulus, N/mm²: textbook values of metals, by group and density, to about a tenth; from
/// memory. `None` for what is no metal of those.
fn modulus_n_mm2(scene: &Scene<'_>) -> Option<f64> {
    let material = &scene.study.part.material;
    match (material.iso_group, material.density_kg_m3.value) {
        (IsoGroup::P | IsoGroup::H, _) => Some(210_000.0),
        (IsoGroup::M, _) => Some(200_000.0),
        (IsoGroup::K, _) => Some(120_000.0),
        // magnesium, aluminium, copper and brass
        (IsoGroup::N, 1700.0..2000.0) => Some(45_000.0),
        (IsoGroup::N, 2500.0..3000.0) => Some(70_000.0),
        (IsoGroup::N, 8000.0..9100.0) => Some(110_000.0),
        (IsoGroup::N, _) => None,
        // titanium, nickel
        (IsoGroup::S, 4000.0..5500.0) => Some(114_000.0),
        (IsoGroup::S, 7500.0..9500.0) => Some(205_000.0),
        (IsoGroup::S, _) => None,
    }
}
