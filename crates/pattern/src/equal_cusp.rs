//! Passes that are as far apart as the cusp allows everywhere: whole-number levels of a distance
//! whose local unit is the step allowed there.
//!
//! The step `s(θ)` that a pass allows depends on its direction θ, also because the axis leans across
//! the feed. The number φ of passes since the first one then obeys `|∇φ| s(θ(∇φ)) = 1`. At a known
//! direction this is, to second order in the direction, the Riemannian problem with the dual metric
//! `D = ½ ∂²(|g|² s²)/∂g²`. The steps, numbered as in the code:
//!
//! 1. choose the direction of the first pass that makes all passes shortest;
//! 2. take its direction as the direction of all passes;
//! 3. from the directions, the dual metric at every node, in the exact circle geometry of the cusp;
//! 4. known values in a band round the first pass, which runs through the middle of the feature;
//! 5. fast marching to either side;
//! 6. directions from the gradient; back to 3 until they stay.

use std::f64::consts::PI;

use geom::{Sym2, Vec2, Vec3};
use rayon::prelude::*;

use crate::chart::Spot;
use crate::eikonal::{Problem, solve};
use crate::error::PatternError;
use crate::family::forward;
use crate::lattice::Lattice;
use crate::stance::Stance;

/// Directions that the first pass is chosen from.
const DIRECTIONS: usize = 18;
/// Most rounds of steps 3 to 6.
const ROUNDS: usize = 12;
/// Mean turn of the directions at which the rounds end, rad.
const SETTLED_RAD: f64 = 1e-4;
/// Half-width of the band of known values, cells.
const BAND: f64 = 3.0;
/// Turn for the derivatives of the step by direction, rad.
const TURN_RAD: f64 = 0.02;
/// Least stiffness across the gradient, as a share of the one along it.
const LEAST_CONVEX: f64 = 0.02;

/// The count of passes at every node, 0 on the first pass.
pub(crate) fn count(
    lattice: &Lattice,
    stance: &Stance<'_>,
    along: Option<Vec2>,
) -> Result<Vec<f64>, PatternError> {
    let along = match along {
        Some(a) => a,
        None => best_direction(lattice, stance)?, // 1
    };
    let across = along.perp();
    let mut gradient: Vec<Vec2> = vec![across; lattice.spots.len()]; // 2
    let mut phi = Vec::new();
    for _ in 0..ROUNDS {
        let dual = duals(lattice, stance, &gradient)?; // 3
        phi = both_sides(lattice, &dual, across); // 4, 5
        let next = next_directions(lattice, &phi, gradient.clone()); // 6
        let turn = mean_turn(lattice, &gradient, &next);
        gradient = next;
        if turn < SETTLED_RAD {
            break;
        }
    }
    Ok(phi)
}

/// Chart gradient of a count at every node; where there is none, the one before.
pub(crate) fn next_directions(lattice: &Lattice, phi: &[f64], before: Vec<Vec2>) -> Vec<Vec2> {
    before
        .into_iter()
        .enumerate()
        .map(|(k, g)| Some(lattice.gradient(phi, k)).filter(|n| usable(*n)).unwrap_or(g))
        .collect()
}

fn usable(g: Vec2) -> bool {
    g.is_finite() && g.length_squared() > 0.0
}

/// The direction on the chart along which straight passes would be shortest in all.
fn best_direction(lattice: &Lattice, stance: &Stance<'_>) -> Result<Vec2, PatternError> {
    let mut best: Option<(f64, Vec2)> = None;
    let mut refused = None;
    for k in 0..DIRECTIONS {
        let along = Vec2::from_angle(PI * k as f64 / DIRECTIONS as f64);
        match length_along(lattice, stance, along) {
            Ok(length) if best.is_none_or(|(known, _)| length < known * (1.0 - 1e-9)) => {
                best = Some((length, along));
            }
            Ok(_) => {}
            Err(e) => refused = Some(e),
        }
    }
    best.map(|(_, a)| a).ok_or(refused.unwrap_or(PatternError::NoPass))
}

fn length_along(lattice: &Lattice, stance: &Stance<'_>, along: Vec2) -> Result<f64, PatternError> {
    let mut sum = 0.0;
    for (_, spot) in lattice.feature().step_by(7) {
        let Some(f) = forward(spot, along.perp()) else { continue };
        sum += lattice.node_area_mm2(spot) / stance.allowed_mm(&spot.site, f)?;
    }
    Ok(sum)
}

/// Dual metric at each node in grid units.
pub(crate) fn duals(
    lattice: &Lattice,
    stance: &Stance<'_>,
    gradient: &[Vec2],
) -> Result<Vec<Option<Sym2>>, PatternError> {
    let each: Vec<Result<Option<Sym2>, PatternError>> = lattice
        .spots
        .par_iter()
        .zip(gradient)
        .map(|(spot, g)| spot.as_ref().map_or(Ok(None), |s| dual(lattice, stance, s, *g)))
        .collect();
    each.into_iter().collect()
}

fn dual(
    lattice: &Lattice,
    stance: &Stance<'_>,
    spot: &Spot,
    gradient: Vec2,
) -> Result<Option<Sym2>, PatternError> {
    let Some(f) = forward(spot, gradient) else { return Ok(None) };
    let left = spot.site.normal.cross(f);
    let step = |turn: f64| stance.allowed_mm(&spot.site, f * turn.cos() + left * turn.sin());
    let middle = step(0.0)?;
    // beside a direction that the cutter cannot take the step counts as it is here
    let (less, more) = (step(-TURN_RAD).unwrap_or(middle), step(TURN_RAD).unwrap_or(middle));
    let first = (more - less) / (2.0 * TURN_RAD);
    let second = (more - 2.0 * middle + less) / (TURN_RAD * TURN_RAD);
    let (radial, mixed) = (middle * middle, middle * first);
    let tangential = radial + first * first + middle * second;
    let least = mixed * mixed / radial + LEAST_CONVEX * radial;
    let surface = Sym2::new(tangential.max(least), -mixed, radial);
    Ok(on_grid(lattice, spot, f, left, surface))
}

/// A dual tensor in the tangent basis (f, left), in grid units.
fn on_grid(lattice: &Lattice, spot: &Spot, f: Vec3, left: Vec3, dual: Sym2) -> Option<Sym2> {
    let (a, b) = (spot.da * lattice.cell.x, spot.db * lattice.cell.y);
    let (j11, j12, j21, j22) = (f.dot(a), f.dot(b), left.dot(a), left.dot(b));
    let det = j11 * j22 - j12 * j21;
    let rows = [Vec2::new(j22, -j12) / det, Vec2::new(-j21, j11) / det];
    let form = |u: Vec2, v: Vec2| {
        u.x * v.x * dual.xx + (u.x * v.y + u.y * v.x) * dual.xy + u.y * v.y * dual.yy
    };
    let grid = Sym2::new(form(rows[0], rows[0]), form(rows[0], rows[1]), form(rows[1], rows[1]));
    (det != 0.0 && grid.det().is_finite()).then_some(grid)
}

/// Signed count from the straight first pass through the middle of the feature.
fn both_sides(lattice: &Lattice, dual: &[Option<Sym2>], across: Vec2) -> Vec<f64> {
    let centre = middle(lattice);
    let away = |node: usize| across.dot(lattice.place(node) - centre);
    let seeds = band(lattice, dual, across, &away);
    let turned: Vec<(usize, f64)> = seeds.iter().map(|(k, v)| (*k, -v)).collect();
    let (above, below) = rayon::join(
        || solve(&Problem { size: lattice.size, dual, seeds: &seeds }),
        || solve(&Problem { size: lattice.size, dual, seeds: &turned }),
    );
    (0..dual.len()).map(|k| if away(k) >= 0.0 { above[k] } else { -below[k] }).collect()
}

/// Centre of area of the feature on the chart.
fn middle(lattice: &Lattice) -> Vec2 {
    let (mut sum, mut area) = (Vec2::ZERO, 0.0);
    for (node, spot) in lattice.feature() {
        let a = spot.area_factor();
        sum += lattice.place(node) * a;
        area += a;
    }
    if area > 0.0 { sum / area } else { lattice.origin }
}

/// Known values near the first pass: the rate straight across, integrated by Simpson's rule.
fn band(
    lattice: &Lattice,
    dual: &[Option<Sym2>],
    across: Vec2,
    away: &dyn Fn(usize) -> f64,
) -> Vec<(usize, f64)> {
    // across is unit on the chart: phi = w · rate with the grid gradient rate · across · cell
    let grid = across * lattice.cell;
    let rate: Vec<f64> =
        dual.iter().map(|d| d.map_or(f64::NAN, |d| 1.0 / d.form(grid.x, grid.y).sqrt())).collect();
    let width = BAND * lattice.cell.max_element();
    (0..dual.len())
        .filter(|k| away(*k).abs() <= width && dual[*k].is_some())
        .map(|k| {
            let (q, w) = (lattice.place(k), away(k));
            let at = |share: f64| lattice.value(&rate, q - across * (w * share));
            (k, w * (at(0.0) + 4.0 * at(0.5) + at(1.0)) / 6.0)
        })
        .filter(|(_, v)| v.is_finite())
        .collect()
}

/// Mean turn of the directions over the feature, rad.
fn mean_turn(lattice: &Lattice, before: &[Vec2], after: &[Vec2]) -> f64 {
    let (mut sum, mut count) = (0.0, 0.0);
    for (k, spot) in lattice.feature() {
        if let (Some(a), Some(b)) = (forward(spot, before[k]), forward(spot, after[k])) {
            sum += a.cross(b).length().atan2(a.dot(b));
            count += 1.0;
        }
    }
    if count > 0.0 { sum / count } else { 0.0 }
}
