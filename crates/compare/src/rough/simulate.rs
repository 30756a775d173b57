//! The cut of a layer-wise operation in a simulated stock: volume removed, what is left on the
//! feature, and whether neck, shank or holder meet stock.
//!
//! Columns stand along the axis of the set-up, over the plan of the feature and as far round it as a
//! holder reaches; each feature keeps its own from operation to operation of a process, with the cuts of
//! all of them.

use super::approach;
use super::blank::Blank;
use super::compute::told;
use super::lay::Laid;
use super::levels::Layer;
use crate::job::{self, Prepared};
use crate::scene::Scene;
use cutter::{Assembly, BodyKind, Profile};
use geom::{TriMesh, Vec3};
use pattern::Frame;
use planar::Region;
use std::collections::BTreeMap;
use stock::{Columns, Direction, Grid, Near, Rest, RestSample, StockError};
use study::outcome::{Approach, StockLeft};

/// Columns along the longer side of the feature.
const CELLS: f64 = 400.0;
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
    cut: usize,
}

/// What an operation cut, in the set-up.
#[derive(Debug)]
struct Cut {
    profile: Profile,
    runs: Vec<Vec<Vec3>>,
}

/// What the simulation found.
pub(crate) struct Simulated {
    pub(crate) left: Option<StockLeft>,
    /// The nearest that each body behind the flutes comes to what stands, in the set-up.
    near: Vec<Near>,
    cell_mm: f64,
}

impl Simulated {
    /// The nearest of all, in the part's frame.
    pub(crate) fn closest(&self, frame: Frame) -> Option<Approach> {
        let nearest = |a: Near, b: Near| if b.distance_mm < a.distance_mm { b } else { a };
        let near = self.near.iter().copied().reduce(nearest)?;
        let place = frame.x * near.at.x + frame.y * near.at.y + frame.up * near.at.z;
        Some(told(near.kind, near.distance_mm, place))
    }

    /// Bodies that go into stock, in words, unless they go into the part as deep.
    pub(crate) fn hits(&self, to_part_mm: f64) -> Vec<String> {
        let deep =
            |n: &&Near| n.distance_mm < -self.cell_mm && n.distance_mm < to_part_mm - self.cell_mm;
        let words = |n: &Near| {
            format!(
                "the {} goes {:.2} mm into stock that stands at ({:.1}, {:.1}, {:.1}) of the set-up",
                n.kind.name(),
                -n.distance_mm,
                n.at.x,
                n.at.y,
                n.at.z
            )
        };
        self.near.iter().filter(deep).map(words).collect()
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
        None => Stock { columns: fresh(scene, laid, blank, frame)?, cut: 0 },
    };
    let columns = &mut stock.columns;
    for cut in &stocks.cuts[stock.cut..] {
        cut.runs.iter().try_for_each(|tips| columns.cut_upright(&cut.profile, tips))?;
    }
    let before = columns.volume_mm3();
    let cut =
        Cut { profile: prepared.assembly.cutter.profile().clone(), runs: driven(laid, frame) };
    let near = cut_along(columns, &cut, &prepared.assembly)?;
    let samples = samples(&scene.part.mesh, &laid.shape.faces, frame);
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

/// Ways at feed, in the set-up.
fn driven(laid: &Laid, frame: Frame) -> Vec<Vec<Vec3>> {
    let runs = laid.toolpath.runs.iter();
    let driven = runs.filter(|r| r.tip_feed_mm_s.iter().all(|f| f.is_finite()));
    driven.map(|r| r.poses.iter().map(|p| upright(frame, p.tip)).collect()).collect()
}

/// Cuts layer by layer, and looks after each how near the bodies behind the flutes come to what stands.
fn cut_along(columns: &mut Columns, cut: &Cut, tool: &Assembly) -> Result<Vec<Near>, StockError> {
    let lowest = |tips: &Vec<Vec3>| tips.iter().map(|p| p.z).fold(f64::INFINITY, f64::min);
    let same = |a: f64, b: f64| (a - b).abs() <= geom::tolerance::COINCIDENT_MM;
    let mut best: BTreeMap<BodyKind, Near> = BTreeMap::new();
    for layer in cut.runs.chunk_by(|a, b| same(lowest(a), lowest(b))) {
        layer.iter().try_for_each(|tips| columns.cut_upright(&cut.profile, tips))?;
        let Some(height_mm) = layer.first().map(lowest) else { continue };
        let ways = approach::ways_at(layer, height_mm);
        for near in stock::approach::nearest(columns, tool, &ways, height_mm) {
            let known = best.entry(near.kind).or_insert(near);
            if near.distance_mm < known.distance_mm {
                *known = near;
            }
        }
    }
    Ok(best.into_values().collect())
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
    let domain = shape.domain.loops();
    let bounds = bounds(scene, laid, blank, frame);
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
    let prism = blank.prism().filter(|_| presumed.is_empty());
    let prism = prism.map(|(plan, low, high)| (plan.loops(), (low, high)));
    let over_mm = blank.layer_mm();
    let solid: Vec<Vec<(f64, f64)>> = (0..grid.nv)
        .flat_map(|j| (0..grid.nu).map(move |i| (i, j)))
        .map(|(i, j)| part.intervals_mm(i, j))
        .collect();
    Ok(Columns::filled(grid, |u, v| {
        let mut all = solid[column(u, v)].clone();
        if let Some((loops, ends)) = &prism {
            all.extend(inside(loops, [u, v]).then_some(*ends));
        } else if inside(&loops, [u, v]) {
            let gone = presumed.iter().filter(|(loops, ..)| inside(loops, [u, v]));
            let low = gone.map(|(_, low, _)| *low).fold(top, f64::min);
            all.push((whole.bottom_mm, low));
        } else if over_mm > 0.0 && !inside(&domain, [u, v]) {
            all.iter_mut().for_each(|ends| ends.1 += over_mm);
        }
        joined(all)
    }))
}

/// Corners of the box of the columns: where the operation works, and as far round it as holders reach and
/// something stands.
fn bounds(scene: &Scene<'_>, laid: &Laid, blank: &Blank, frame: Frame) -> (Vec3, Vec3) {
    let shape = &laid.shape;
    let holders = scene.study.cutters.iter().flat_map(|c| &c.spec.holder);
    let widest = holders.map(|h| h.diameter_mm.max(h.top_diameter_mm.unwrap_or(0.0)));
    let reach = REACH_MM.max(0.5 * widest.fold(0.0, f64::max));
    let works = ends(&shape.domain);
    let (mut low, mut high) = (Vec3::INFINITY, Vec3::NEG_INFINITY);
    let stands = blank.mesh().map_or(&[][..], |cast| &cast.mesh().vertices);
    for p in scene.part.mesh.vertices.iter().chain(stands).map(|p| upright(frame, *p)) {
        (low, high) = (low.min(p), high.max(p));
    }
    if let Some((plan, _, top)) = blank.prism() {
        let plan = ends(plan);
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

/// Lowest and highest corner of a region.
fn ends(region: &Region) -> ([f64; 2], [f64; 2]) {
    let mut out = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
    for p in region.loops().iter().flatten() {
        for k in 0..2 {
            out.0[k] = out.0[k].min(p[k]);
            out.1[k] = out.1[k].max(p[k]);
        }
    }
    out
}

/// Whether an odd number of loops goes round a point.
fn inside(loops: &[Vec<[f64; 2]>], [x, y]: [f64; 2]) -> bool {
    let mut odd = false;
    for l in loops {
        let mut before = l[l.len() - 1];
        for p in l {
            if (p[1] > y) != (before[1] > y) {
                let at = p[0] + (y - p[1]) / (before[1] - p[1]) * (before[0] - p[0]);
                odd ^= x < at;
            }
            before = *p;
        }
    }
    odd
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
