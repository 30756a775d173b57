//! Where the fronts of a spiral meet: turns that stand a step apart leave more than that between
//! their corners there, so lines along the ridge of the depth are cut as well.

use geom::{Sym2, Vec2};
use rayon::prelude::*;

use crate::chart::Chart;
use crate::family::{Family, STIFFNESS, forward, smooth_curve};
use crate::lattice::Lattice;
use crate::spiral::AIM;
use crate::stance::Stance;
use crate::thin::Mask;
use crate::trim::{Piece, pieces};

/// Cosine of half the angle between fronts from which a ridge counts: fronts that meet under less
/// leave `1 / (1 + √(1 − c²))` of a step, at most 1.5 % more than half.
const MEETING: f64 = 0.24;
/// Shortest ridge, cells.
const SHORTEST: usize = 4;
/// How far a line goes on beyond the ends of its ridge, cells.
const BEYOND: f64 = 3.0;
/// How far the grid and the smoothing cut a corner of a turn back, cells to either side.
const ROUNDED: f64 = 1.2;
/// Sharpness from which turns end in slim tips, and what may be cut of them and of blunter corners
/// beside a single line, steps.
const SLIM: f64 = 0.85;
const SPARE: [f64; 2] = [0.11, 0.2];

/// Nodes across which the slope of the depth turns sharply.
fn meeting(lattice: &Lattice, depth: &[f64], stance: &Stance<'_>) -> Mask {
    let [nx, ny] = lattice.size;
    let on = (0..depth.len())
        .into_par_iter()
        .map(|node| {
            let (i, j) = (node % nx, node / nx);
            let edge = i < 2 || j < 2 || i + 2 >= nx || j + 2 >= ny;
            !edge && lattice.inside[node] && sharpness(lattice, depth, stance, node) > MEETING
        })
        .collect();
    Mask { size: lattice.size, on }
}

/// Cosine of half the angle under which fronts meet at a node, 0 where they do not: by how much the
/// depth falls to both sides, over how much it would fall were the fronts to run straight along.
fn sharpness(lattice: &Lattice, depth: &[f64], stance: &Stance<'_>, node: usize) -> f64 {
    let nx = lattice.size[0] as i64;
    let Some(spot) = &lattice.spots[node] else { return 0.0 };
    let at = |di: i64, dj: i64| depth[(node as i64 + di + dj * nx) as usize];
    let first = spot.first_form();
    let allowed = |g: Vec2| forward(spot, g).and_then(|f| stance.allowed_mm(&spot.site, f).ok());
    let ways = [(2, 0), (2, 2), (0, 2), (-2, 2)].into_iter().filter_map(|(di, dj)| {
        let falls = 2.0 * depth[node] - at(di, dj) - at(-di, -dj);
        let way = Vec2::new(di as f64, dj as f64) * lattice.cell;
        Some(falls * allowed(way)? / (2.0 * length(first, way)))
    });
    ways.fold(0.0, f64::max)
}

fn length(form: Sym2, way: Vec2) -> f64 {
    form.form(way.x, way.y).max(0.0).sqrt()
}

/// Lines along the ridges of the depth, as pieces of the level `level`.
pub(crate) fn lines(
    chart: &dyn Chart,
    lattice: &Lattice,
    family: &Family<'_>,
    depth: &[f64],
    stance: &Stance<'_>,
    level: usize,
) -> Vec<Piece> {
    let mut mask = meeting(lattice, depth, stance);
    mask.thin();
    mask.chains()
        .into_iter()
        .filter(|chain| chain.len() > SHORTEST)
        .flat_map(|chain| {
            let inner = &chain[chain.len() / 3..=2 * chain.len() / 3];
            let sharp = inner.iter().map(|k| sharpness(lattice, depth, stance, *k));
            beside_one_another(lattice, &chain, stance, sharp.fold(0.0, f64::max))
        })
        .filter(|line| line.len() > SHORTEST)
        .filter_map(|line| smooth_curve(lattice, line, STIFFNESS))
        .flat_map(|c| pieces(chart, family, level, &c, (0.0, 0.0), lattice.line_step(&c)))
        .collect()
}

/// The ridge itself, and where the grid is coarser than the step as many lines beside it as it takes
/// to cover the rounded corners.
fn beside_one_another(
    lattice: &Lattice,
    chain: &[usize],
    stance: &Stance<'_>,
    sharpness: f64,
) -> Vec<Vec<Vec2>> {
    let points = extended(lattice, chain);
    let middle = chain[chain.len() / 2];
    let along = points[points.len() / 2] - points[points.len() / 2 - 1];
    let Some(spot) = &lattice.spots[middle] else { return Vec::new() };
    let step = forward(spot, along.perp()).and_then(|f| stance.allowed_mm(&spot.site, f).ok());
    let Some(step) = step else { return Vec::new() };
    let cell_mm = spot.tangent(lattice.cell).length() / std::f64::consts::SQRT_2;
    let spare = SPARE[usize::from(sharpness < SLIM)];
    let sides = (ROUNDED * cell_mm / step - spare).ceil().max(0.0) as i64;
    (-sides..=sides).map(|k| shifted(lattice, chain, &points, k as f64 * step * AIM)).collect()
}

fn extended(lattice: &Lattice, chain: &[usize]) -> Vec<Vec2> {
    let mut points: Vec<Vec2> = chain.iter().map(|k| lattice.place(*k)).collect();
    if chain[0] == chain[chain.len() - 1] {
        return points;
    }
    let (n, back) = (points.len(), SHORTEST.min(points.len() - 1));
    let on = |from: Vec2, to: Vec2| {
        let way = (to - from) / lattice.cell;
        to + way.normalize_or_zero() * lattice.cell * BEYOND
    };
    let (first, last) = (on(points[back], points[0]), on(points[n - 1 - back], points[n - 1]));
    points.insert(0, first);
    points.push(last);
    points
}

/// The line a distance to the left of another, mm along the surface.
fn shifted(lattice: &Lattice, chain: &[usize], points: &[Vec2], by_mm: f64) -> Vec<Vec2> {
    if by_mm == 0.0 {
        return points.to_vec();
    }
    let n = points.len();
    let along = |k: usize| points[(k + 2).min(n - 1)] - points[k.saturating_sub(2)];
    let mut line: Vec<Vec2> = Vec::with_capacity(n);
    for k in 0..n {
        let node = chain[k.saturating_sub(1).min(chain.len() - 1)];
        let left = lattice.spots[node].as_ref().and_then(|spot| {
            let left = spot.site.normal.cross(spot.tangent(along(k)));
            spot.chart_vector(left.normalize_or_zero())
        });
        let p = points[k] + left.unwrap_or(Vec2::ZERO) * by_mm;
        // inside a sharp turn a line that stands off would run back
        if line.last().is_none_or(|last| (p - *last).dot(along(k)) > 0.0) {
            line.push(p);
        }
    }
    line
}

/// Nodes within half a step of pieces: what lies there is covered by them.
pub(crate) fn covered(lattice: &Lattice, pieces: &[Piece], stance: &Stance<'_>) -> Mask {
    let mut on = vec![false; lattice.spots.len()];
    for piece in pieces {
        let count = (4.0 * (piece.to - piece.from)).ceil().max(1.0) as usize;
        for k in 0..=count {
            let t = piece.from + (piece.to - piece.from) * k as f64 / count as f64;
            let (q, dq) = piece.curve.at(t);
            mark(lattice, stance, q, dq, &mut on);
        }
    }
    Mask { size: lattice.size, on }
}

fn mark(lattice: &Lattice, stance: &Stance<'_>, q: Vec2, dq: Vec2, on: &mut [bool]) {
    let Some(spot) = lattice.nearest(q).and_then(|k| lattice.spots[k].as_ref()) else { return };
    let along = spot.tangent(dq).normalize_or_zero();
    let Ok(step) = stance.allowed_mm(&spot.site, along) else { return };
    let form = spot.first_form();
    let reach = |c: f64, g: f64| (0.5 * step / (c * g.max(1e-12).sqrt())).ceil() as i64;
    let (a, b) = (reach(lattice.cell.x, form.xx), reach(lattice.cell.y, form.yy));
    for dj in -2 * b..=2 * b {
        for di in -2 * a..=2 * a {
            let p = q + Vec2::new(di as f64, dj as f64) * lattice.cell;
            if let Some(node) = lattice.nearest(p)
                && length(form, lattice.place(node) - q) <= 0.5 * step
            {
                on[node] = true;
            }
        }
    }
}
