//! The cut of a layer-wise operation in a simulated stock: volume removed, what is left on the
//! feature, and whether neck, shank or holder meet stock.
//!
//! Columns stand along the axis of the set-up, over the plan of the feature and as far round it as a
//! holder reaches; each feature keeps its own from operation to operation of a process, with the cuts of
//! all of them.

use super::blank::Blank;
use super::lay::Laid;
use super::levels::Layer;
use crate::job::{self, Prepared};
use crate::scene::Scene;
use cutter::{Assembly, Body, BodyKind, Profile};
use geom::{TriMesh, Vec2, Vec3};
use pattern::Frame;
use std::collections::BTreeMap;
use stock::{Beside, Columns, Direction, Grid, Near, Rest, RestSample, Standing, StockError};
use study::outcome::{Approach, StockLeft};

/// Columns along the longer side of the feature and what is next to it.
const CELLS: f64 = 240.0;
/// Least width of a cell, mm.
const LEAST_MM: f64 = 0.1;
/// Spacing of the samples on the feature, mm.
const SAMPLE_MM: f64 = 2.0;
/// Pieces of the sides of a triangle at most.
const PIECES: usize = 24;
/// How far stock is looked for along the normal, mm.
const REACH_MM: f64 = 6.0;

/// The stock of every feature that was cut so far, and all cuts.
#[derive(Debug, Default)]
pub(crate) struct Stocks {
    of_feature: BTreeMap<usize, Stock>,
    cuts: Vec<Cut>,
}

/// The stock of a feature and how many of the cuts are in it.
#[derive(Debug)]
struct Stock {
    columns: Columns,
    /// The part alone in the same lattice.
    part: Columns,
    /// Tops of clamps in the same columns, mm, where there are any.
    clamps_mm: Option<Vec<f64>>,
    cut: usize,
}

/// What an operation cut, in the set-up.
#[derive(Debug)]
struct Cut {
    profile: Profile,
    levels: Vec<Level>,
}

/// Ways at feed of one layer.
#[derive(Debug)]
struct Level {
    height_mm: f64,
    runs: Vec<Vec<Vec3>>,
}

/// What the simulation found.
pub(crate) struct Simulated {
    pub(crate) left: Option<StockLeft>,
    /// The nearest that each body behind the flutes comes to what stands of stock and part, and that these and
    /// the flutes come to clamps, in the set-up.
    near: [Vec<Near>; 2],
    cell_mm: f64,
}

/// What stands in the way, as [`Simulated::near`] has it.
const STANDS: [&str; 2] = ["stock or part", "a clamp"];

impl Simulated {
    /// The nearest of all, in the part's frame.
    pub(crate) fn closest(&self, frame: Frame) -> Option<Approach> {
        let nearest = |a: Near, b: Near| if b.distance_mm < a.distance_mm { b } else { a };
        let behind = self.near.iter().flatten().filter(|n| n.kind != BodyKind::Cutting);
        let near = behind.copied().reduce(nearest)?;
        let good_to_mm = 0.5 * self.cell_mm;
        // what lies within the error of a touch is told as one
        let touches = near.distance_mm.abs() <= good_to_mm && near.distance_mm < 0.0;
        let place = frame.x * near.at.x + frame.y * near.at.y + frame.up * near.at.z;
        Some(Approach {
            body: near.kind.name().to_owned(),
            distance_mm: if touches { 0.0 } else { near.distance_mm },
            place_mm: place.to_array(),
            good_to_mm: Some(good_to_mm),
        })
    }

    /// Bodies that meet what stands, in words.
    pub(crate) fn met(&self) -> Vec<String> {
        let all = self.near.iter().zip(STANDS);
        let all = all.flat_map(|(near, what)| near.iter().map(move |n| (n, what)));
        let deep = all.filter(|(n, _)| n.distance_mm < -self.cell_mm);
        let words = |(n, what): (&Near, &str)| {
            format!(
                "the {} meets {what} {:.2} mm deep at ({:.1}, {:.1}, {:.1}) of the set-up",
                n.kind.name(),
                -n.distance_mm,
                n.at.x,
                n.at.y,
                n.at.z
            )
        };
        deep.map(words).collect()
    }
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
    let mut stock = match stocks.of_feature.remove(&feature) {
        Some(stock) => stock,
        None => {
            let grid = grid(scene, laid, blank, frame)?;
            let (part, _) = Columns::of_mesh(grid, &turned(&scene.part.mesh, frame));
            let columns = fresh(&part, laid, blank, (scene, frame));
            let clamps_mm = clamps(scene, &grid, frame);
            Stock { columns, part, clamps_mm, cut: 0 }
        }
    };
    for cut in &stocks.cuts[stock.cut..] {
        let mut runs = cut.levels.iter().flat_map(|l| &l.runs);
        runs.try_for_each(|tips| stock.columns.cut_upright(&cut.profile, tips))?;
    }
    let before = stock.columns.volume_mm3();
    let profile = prepared.assembly.cutter.profile().clone();
    let cut = Cut { profile, levels: levels(laid, frame) };
    let near = cut_along(&mut stock, &cut, &prepared.assembly)?;
    let columns = &stock.columns;
    let mut samples = samples(&scene.part.mesh, &laid.shape.faces, frame);
    stock::rest::keep_open(&mut samples, &stock.part);
    let left = stock::rest::left(columns, &samples, REACH_MM);
    let rest = Rest::over(&samples, &left);
    let removed_cm3 = 1e-3 * (before - columns.volume_mm3());
    let cell_mm = columns.grid().spacing_mm;
    stocks.cuts.push(cut);
    stock.cut = stocks.cuts.len();
    stocks.of_feature.insert(feature, stock);
    let left = rest.map(|r| StockLeft {
        least_mm: r.least_mm,
        mean_mm: r.mean_mm,
        most_mm: r.most_mm,
        cell_mm,
        removed_cm3,
    });
    Ok(Simulated { left, near, cell_mm })
}

/// Ways at feed by layers, in the set-up: each with the ways down to it.
fn levels(laid: &Laid, frame: Frame) -> Vec<Level> {
    let runs = laid.toolpath.runs.iter();
    let driven = runs.filter(|r| r.tip_feed_mm_s.iter().all(|f| f.is_finite()));
    let same = |a: f64, b: f64| (a - b).abs() <= geom::tolerance::COINCIDENT_MM;
    let mut out: Vec<Level> = Vec::new();
    let mut begun: Vec<Vec<Vec3>> = Vec::new();
    for run in driven {
        let tips: Vec<Vec3> = run.poses.iter().map(|p| upright(frame, p.tip)).collect();
        let height_mm = tips.iter().map(|p| p.z).fold(f64::INFINITY, f64::min);
        begun.push(tips);
        match out.last_mut() {
            Some(level) if same(level.height_mm, height_mm) => level.runs.append(&mut begun),
            _ if run.kind.is_cut() => {
                out.push(Level { height_mm, runs: std::mem::take(&mut begun) });
            }
            _ => {}
        }
    }
    if let Some(level) = out.last_mut() {
        level.runs.append(&mut begun);
    }
    out
}

/// Cuts layer by layer, and looks how near the bodies behind the flutes come to what stands of the stock,
/// and to clamps.
fn cut_along(stock: &mut Stock, cut: &Cut, tool: &Assembly) -> Result<[Vec<Near>; 2], StockError> {
    let Stock { columns, clamps_mm, .. } = stock;
    let mut best = [Vec::new(), Vec::new()];
    let whole = with_flutes(tool);
    let mut before = columns.tops_mm();
    for level in &cut.levels {
        let mut tips = level.runs.iter();
        tips.try_for_each(|tips| columns.cut_upright(&cut.profile, tips))?;
        let after = columns.tops_mm();
        let plan = |tips: &Vec<Vec3>| tips.iter().map(|p| p.truncate()).collect::<Vec<Vec2>>();
        let ways: Vec<Vec<Vec2>> = level.runs.iter().map(plan).collect();
        let Some(beside) = Beside::of(columns.grid(), &ways) else { continue };
        let stands = Standing { before: &before, after: &after };
        keep(&mut best[0], beside.nearest(tool, level.height_mm, stands));
        if let Some(tops) = clamps_mm {
            let stands = Standing { before: tops, after: tops };
            keep(&mut best[1], beside.nearest(&whole, level.height_mm, stands));
        }
        before = after;
    }
    Ok(best)
}

/// The assembly with its cutting part as a body among those that do not cut: clamps keep clear of that too.
fn with_flutes(tool: &Assembly) -> Assembly {
    let profile = tool.cutter.profile();
    let radius_mm = profile.largest_radius_mm();
    let flutes = Body::new(BodyKind::Cutting, (0.0, profile.top_mm()), (radius_mm, radius_mm));
    let mut whole = tool.clone();
    whole.bodies.insert(0, flutes);
    whole
}

/// Keeps the nearer of two approaches of each body.
fn keep(best: &mut Vec<Near>, found: Vec<Near>) {
    for near in found {
        match best.iter_mut().find(|n| n.kind == near.kind) {
            Some(known) if near.distance_mm < known.distance_mm => *known = near,
            Some(_) => {}
            None => best.push(near),
        }
    }
}

/// Tops of clamps in the columns of a grid, mm.
fn clamps(scene: &Scene<'_>, grid: &Grid, frame: Frame) -> Option<Vec<f64>> {
    let tops =
        scene.fixtures.iter().map(|m| Columns::of_mesh(*grid, &turned(m, frame)).0.tops_mm());
    tops.reduce(|a, b| a.iter().zip(&b).map(|(a, b)| a.max(*b)).collect())
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

/// The lattice of the columns of a feature.
fn grid(scene: &Scene<'_>, laid: &Laid, blank: &Blank, frame: Frame) -> Result<Grid, StockError> {
    let works = laid.shape.domain.bounds_mm();
    let size = [0, 1].map(|k| works.1[k] - works.0[k] + 2.0 * REACH_MM);
    let spacing = (size[0].max(size[1]) / CELLS).max(LEAST_MM);
    Grid::over(bounds(scene, laid, blank, frame), spacing, Direction::Z)
}

/// The stock before the first operation on a feature: that of a mesh, else the part, and the blank
/// wherever it may be cut.
fn fresh(
    part: &Columns,
    laid: &Laid,
    blank: &Blank,
    (scene, frame): (&Scene<'_>, Frame),
) -> Columns {
    let grid = *part.grid();
    if let (Some(cast), true) = (blank.mesh(), laid.presumed.is_empty()) {
        return Columns::of_mesh(grid, &turned(cast.mesh(), frame)).0;
    }
    let shape = &laid.shape;
    let top = laid.layers.first().map_or(shape.rim_mm, |l| l.layer.top_mm);
    let whole = Layer { top_mm: top, bottom_mm: shape.floor_mm };
    let plan = blank.between(scene.part, frame, &whole, &shape.domain);
    let loops = plan.and(&shape.domain).loops();
    let domain = shape.domain.loops();
    let spacing = grid.spacing_mm;
    let column = |u: f64, v: f64| {
        ((u - grid.lo.x) / spacing) as usize + ((v - grid.lo.y) / spacing) as usize * grid.nu
    };
    let presumed: Vec<_> =
        laid.presumed.iter().map(|s| (s.cleared.loops(), s.bottom_mm, s.top_mm)).collect();
    let prism = blank.prism().filter(|_| presumed.is_empty());
    let prism = prism.map(|(plan, low, high)| (plan.loops(), (low, high)));
    let over_mm = blank.layer_mm();
    let solid: Vec<Vec<(f64, f64)>> = (0..grid.nv)
        .flat_map(|j| (0..grid.nu).map(move |i| (i, j)))
        .map(|(i, j)| part.intervals_mm(i, j))
        .collect();
    Columns::filled(grid, |u, v| {
        let mut all = solid[column(u, v)].clone();
        if let Some((loops, ends)) = &prism {
            all.extend(planar::holds(loops, [u, v]).then_some(*ends));
        } else if planar::holds(&loops, [u, v]) {
            let gone = presumed.iter().filter(|(loops, ..)| planar::holds(loops, [u, v]));
            let low = gone.map(|(_, low, _)| *low).fold(top, f64::min);
            all.push((whole.bottom_mm, low));
        } else if over_mm > 0.0 && !planar::holds(&domain, [u, v]) {
            all.iter_mut().for_each(|ends| ends.1 += over_mm);
        }
        joined(all)
    })
}

/// Corners of the box of the columns: where the operation works, and as far round it as holders reach and
/// something stands.
fn bounds(scene: &Scene<'_>, laid: &Laid, blank: &Blank, frame: Frame) -> (Vec3, Vec3) {
    let shape = &laid.shape;
    let holders = scene.study.cutters.iter().flat_map(|c| &c.spec.holder);
    let widest = holders.map(|h| h.diameter_mm.max(h.top_diameter_mm.unwrap_or(0.0)));
    let reach = REACH_MM.max(0.5 * widest.fold(0.0, f64::max));
    let works = shape.domain.bounds_mm();
    let (mut low, mut high) = (Vec3::INFINITY, Vec3::NEG_INFINITY);
    let stands = blank.mesh().map_or(&[][..], |cast| &cast.mesh().vertices);
    let clamps = scene.fixtures.iter().flat_map(|f| &f.vertices);
    let all = scene.part.mesh.vertices.iter().chain(stands).chain(clamps);
    for p in all.map(|p| upright(frame, *p)) {
        (low, high) = (low.min(p), high.max(p));
    }
    if let Some((plan, _, top)) = blank.prism() {
        let plan = plan.bounds_mm();
        low = low.min(Vec3::new(plan.0[0], plan.0[1], f64::INFINITY));
        high = high.max(Vec3::new(plan.1[0], plan.1[1], top));
    }
    let top = laid.layers.first().map_or(shape.rim_mm, |l| l.layer.top_mm);
    let bottom = shape.floor_mm - REACH_MM;
    // a column's width beyond what stands, and all of where the operation works
    let beside = |k: usize| {
        let from = (works.0[k] - reach).max(low[k] - 1.0).min(works.0[k] - 1.0);
        let to = (works.1[k] + reach).min(high[k] + 1.0).max(works.1[k] + 1.0);
        (from, to)
    };
    let (x, y) = (beside(0), beside(1));
    (Vec3::new(x.0, y.0, bottom), Vec3::new(x.1, y.1, high.z.max(top) + blank.layer_mm()))
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
