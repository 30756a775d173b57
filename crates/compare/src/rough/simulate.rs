//! The cut of a layer-wise operation in a simulated stock: volume removed, what is left on the
//! feature, and whether neck, shank or holder meet stock.
//!
//! Columns stand along the axis of the set-up, over the plan of the feature; each feature keeps its
//! own from operation to operation of a process.

use super::blank::Blank;
use super::lay::Laid;
use super::levels::Layer;
use crate::job::{self, Prepared};
use crate::scene::Scene;
use cutter::Assembly;
use geom::{TriMesh, Vec3};
use pattern::Frame;
use std::collections::BTreeMap;
use stock::{Columns, Direction, Grid, Rest, RestSample, StockError};
use study::outcome::StockLeft;

/// Columns along the longer side of the feature.
const CELLS: f64 = 240.0;
/// Least width of a cell, mm.
const LEAST_MM: f64 = 0.1;
/// Spacing of the samples on the feature, mm.
const SAMPLE_MM: f64 = 2.0;
/// Pieces of the sides of a triangle at most.
const PIECES: usize = 24;
/// How far stock is looked for along the normal, mm.
const REACH_MM: f64 = 6.0;
/// Moves at which neck, shank and holder are looked at.
const LOOKS: usize = 160;

/// The stock of every feature that was cut so far.
#[derive(Debug, Default)]
pub(crate) struct Stocks {
    of_feature: BTreeMap<usize, Columns>,
}

/// What the simulation found.
pub(crate) struct Simulated {
    pub(crate) left: Option<StockLeft>,
    /// Bodies that meet stock, in words.
    pub(crate) met: Vec<String>,
}

/// Cuts an operation in the stock of its feature.
///
/// # Errors
/// A feature too large or without extent.
pub(crate) fn simulate(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    laid: &Laid,
    blank: &Blank,
    stocks: &mut Stocks,
) -> Result<Simulated, StockError> {
    let frame = job::frame(scene.study);
    let feature = prepared.operation.feature;
    let mut columns = match stocks.of_feature.remove(&feature) {
        Some(columns) => columns,
        None => fresh(scene, laid, blank, frame)?,
    };
    let before = columns.volume_mm3();
    let profile = prepared.assembly.cutter.profile();
    for run in laid.toolpath.runs.iter().filter(|r| r.tip_feed_mm_s.iter().all(|f| f.is_finite())) {
        let tips: Vec<Vec3> = run.poses.iter().map(|p| upright(frame, p.tip)).collect();
        columns.cut_upright(profile, &tips)?;
    }
    let met = meetings(&columns, &prepared.assembly, laid, frame);
    let samples = samples(&scene.part.mesh, &laid.shape.faces, frame);
    let left = stock::rest::left(&columns, &samples, REACH_MM);
    let rest = Rest::over(&samples, &left);
    let removed_cm3 = 1e-3 * (before - columns.volume_mm3());
    let cell_mm = columns.grid().spacing_mm;
    stocks.of_feature.insert(feature, columns);
    let left = rest.map(|r| StockLeft {
        least_mm: r.least_mm,
        mean_mm: r.mean_mm,
        most_mm: r.most_mm,
        cell_mm,
        removed_cm3,
    });
    Ok(Simulated { left, met })
}

/// A point in the set-up: z along its axis.
pub(super) fn upright(frame: Frame, p: Vec3) -> Vec3 {
    Vec3::new(p.dot(frame.x), p.dot(frame.y), p.dot(frame.up))
}

/// A mesh in the set-up.
fn turned(mesh: &TriMesh, frame: Frame) -> TriMesh {
    let vertices = mesh.vertices.iter().map(|p| upright(frame, *p)).collect();
    TriMesh { vertices, ..mesh.clone() }
}

/// The stock before the first operation on a feature: that of a mesh, else the part, and the blank
/// wherever it may be cut.
fn fresh(
    scene: &Scene<'_>,
    laid: &Laid,
    blank: &Blank,
    frame: Frame,
) -> Result<Columns, StockError> {
    let shape = &laid.shape;
    let top = laid.layers.first().map_or(shape.rim_mm, |l| l.layer.top_mm);
    let whole = Layer { top_mm: top, bottom_mm: shape.floor_mm };
    let plan = blank.between(scene.part, frame, &whole, &shape.domain);
    let loops = plan.and(&shape.domain).loops();
    let ends = shape.domain.or(&plan.and(&shape.domain)).bounds_mm();
    let low = whole.bottom_mm - REACH_MM;
    let bounds = (
        Vec3::new(ends.0[0] - REACH_MM, ends.0[1] - REACH_MM, low),
        Vec3::new(
            ends.1[0] + REACH_MM,
            ends.1[1] + REACH_MM,
            blank.mesh().map_or(top, |m| m.highest_mm()),
        ),
    );
    let size = bounds.1 - bounds.0;
    let spacing = (size.x.max(size.y) / CELLS).max(LEAST_MM);
    let grid = Grid::over(bounds, spacing, Direction::Z)?;
    if let (Some(cast), true) = (blank.mesh(), laid.presumed.is_empty()) {
        return Ok(Columns::of_mesh(grid, &turned(cast.mesh(), frame)).0);
    }
    let (part, _) = Columns::of_mesh(grid, &turned(&scene.part.mesh, frame));
    let column = |u: f64, v: f64| {
        ((u - grid.lo.x) / spacing) as usize + ((v - grid.lo.y) / spacing) as usize * grid.nu
    };
    let presumed: Vec<_> =
        laid.presumed.iter().map(|s| (s.cleared.loops(), s.bottom_mm, s.top_mm)).collect();
    let solid: Vec<Vec<(f64, f64)>> = (0..grid.nv)
        .flat_map(|j| (0..grid.nu).map(move |i| (i, j)))
        .map(|(i, j)| part.intervals_mm(i, j))
        .collect();
    Ok(Columns::filled(grid, |u, v| {
        let mut all = solid[column(u, v)].clone();
        if planar::holds(&loops, [u, v]) {
            let gone = presumed.iter().filter(|(loops, ..)| planar::holds(loops, [u, v]));
            let low = gone.map(|(_, low, _)| *low).fold(top, f64::min);
            all.push((whole.bottom_mm, low));
        }
        joined(all)
    }))
}

fn joined(mut all: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut out: Vec<(f64, f64)> = Vec::new();
    for (lo, hi) in all {
        match out.last_mut() {
            Some(last) if lo <= last.1 + geom::tolerance::COINCIDENT_MM => last.1 = last.1.max(hi),
            _ => out.push((lo, hi)),
        }
    }
    out
}

/// Bodies behind the flutes that meet stock somewhere along the cuts.
fn meetings(columns: &Columns, tool: &Assembly, laid: &Laid, frame: Frame) -> Vec<String> {
    let cuts = laid.toolpath.runs.iter().filter(|r| r.kind.is_cut());
    let moves: Vec<(Vec3, Vec3)> = cuts
        .flat_map(|r| r.poses.windows(2))
        .map(|w| (upright(frame, w[0].tip), upright(frame, w[1].tip)))
        .collect();
    let stride = moves.len().div_ceil(LOOKS).max(1);
    let cell = columns.grid().spacing_mm;
    let mut worst: BTreeMap<&'static str, (f64, Vec3)> = BTreeMap::new();
    for ends in moves.iter().step_by(stride) {
        for found in stock::collision::collisions(columns, tool, *ends, Vec3::Z) {
            let entry = worst.entry(found.kind.name()).or_insert((0.0, found.met.at));
            if found.met.longest_mm > entry.0 {
                *entry = (found.met.longest_mm, found.met.at);
            }
        }
    }
    let deep = worst.into_iter().filter(|(_, (mm, _))| *mm > 2.0 * cell);
    deep.map(|(body, (mm, at))| {
        format!(
            "the {body} meets stock or part over {mm:.2} mm of height at ({:.1}, {:.1}, {:.1}) of the set-up",
            at.x, at.y, at.z
        )
    })
    .collect()
}

/// Places on the faces of a feature.
fn samples(mesh: &TriMesh, faces: &[usize], frame: Frame) -> Vec<RestSample> {
    let mut out = Vec::new();
    let ours = |t: &usize| faces.contains(&(mesh.face_of[*t] as usize));
    for t in (0..mesh.triangles.len()).filter(ours) {
        let [a, b, c] = mesh.corners(t).map(|p| upright(frame, p));
        let cross = (b - a).cross(c - a);
        let Some(normal) = cross.try_normalize() else { continue };
        let longest = a.distance(b).max(b.distance(c)).max(c.distance(a));
        let n = ((longest / SAMPLE_MM).ceil() as usize).clamp(1, PIECES);
        let area_mm2 = 0.5 * cross.length() / (n * n) as f64;
        let third = 1.0 / 3.0;
        for i in 0..n {
            for j in 0..n - i {
                let at = |u: f64, v: f64| a + (b - a) * (u / n as f64) + (c - a) * (v / n as f64);
                let (u, v) = (i as f64, j as f64);
                out.push(RestSample { point: at(u + third, v + third), normal, area_mm2 });
                if j + 1 < n - i {
                    let point = at(u + 2.0 * third, v + 2.0 * third);
                    out.push(RestSample { point, normal, area_mm2 });
                }
            }
        }
    }
    out
}
