//! Chains of level moves of any form but a flat one: each cell is lowered by its distance to the
//! nearest move.
//!
//! The cells whose nearest place lies on a move are those beside it and those of the wedge up to the
//! next one: along a row they lie between the normals at its ends and at the start of the next. Only
//! the ends of a chain, and joints at which the wedge opens across a row, take half a disc.

use crate::chain::{Chain, Level};
use crate::rows::Rows;
use crate::span::Span;
use crate::underside::Underside;

/// Feeds steeper to the rows than this have joints of their own (cosine).
const ACROSS: f64 = 0.05;
/// Sharper turns have joints of their own (cosine).
const SHARP: f64 = 0.9;

/// Cuts a chain.
pub(crate) fn cut(rows: &mut Rows<'_>, tool: &Underside, chain: &Chain) {
    let r = tool.radius_mm();
    let (v_lo, v_hi) = rows.v_ends();
    let moves = &chain.moves;
    for (k, m) in moves.iter().enumerate() {
        let (low, high) = m.v_ends(r);
        if high < v_lo || low > v_hi {
            continue;
        }
        if k == 0 {
            disc(rows, tool, (m.from, chain.z), None, Some(m));
        }
        let next = moves.get(k + 1);
        let easy = next.filter(|n| is_easy(m, n));
        if m.length > 0.0 {
            beside(rows, tool, (m, chain.z), easy);
        }
        if easy.is_none() {
            disc(rows, tool, (m.to, chain.z), Some(m), next);
        }
    }
}

/// Whether the wedge between two moves lies between their normals along each row.
fn is_easy(a: &Level, b: &Level) -> bool {
    let flat = a.u.0.abs() > ACROSS && b.u.0.abs() > ACROSS && (a.u.0 > 0.0) == (b.u.0 > 0.0);
    flat && a.u.0 * b.u.0 + a.u.1 * b.u.1 > SHARP && a.length > 0.0 && b.length > 0.0
}

/// Cells beside a move and up to the normal at the start of the next.
fn beside(rows: &mut Rows<'_>, tool: &Underside, (m, z): (&Level, f64), next: Option<&Level>) {
    if m.u.0.abs() <= ACROSS {
        return steeply_beside(rows, tool, (m, z));
    }
    let r = tool.radius_mm();
    let grid = *rows.grid;
    let (ux, uy) = m.u;
    let z = z - grid.lo.z;
    let h = grid.spacing_mm;
    // in cells, so that whole parts are numbers of cells
    let cell = |u: f64| (u - grid.lo.x) / h + 0.5;
    let from = cell(m.from.0);
    let long = m.length / (ux * h);
    let (lean, tilt, wide) = (uy / (ux * h), ux / (uy * h), (r / (uy * h)).abs());
    let joint = next.map(|n| (n.from.1, cell(n.from.0), n.u.1 / (n.u.0 * h)));
    let number = |at: f64| (at.max(0.0) as usize).min(grid.nu);
    let (low, high) = m.v_ends(r);
    for j in rows.within(low, high) {
        let dv = grid.v_mm(j) - m.from.1;
        let start = from - lean * dv;
        let end = start + long;
        let (mut a, mut b) = if long > 0.0 { (start, end) } else { (end, start) };
        if uy.abs() > 1e-9 {
            let middle = from + tilt * dv;
            (a, b) = (a.max(middle - wide), b.min(middle + wide));
        } else if dv.abs() > r {
            continue;
        }
        let (a, b) = (number(a), number(b));
        if a < b {
            let x = ((a + 1) as f64 - from) * h;
            let across = (ux * dv - uy * x, -uy * h);
            rows.lower_cells(j, a..b, |cells| lower_beside(tool, cells, z, across));
        }
        let Some((joint, at, lean)) = joint else { continue };
        let dv = grid.v_mm(j) - joint;
        let past = at - lean * dv;
        let (a, b) = if long > 0.0 { (end, past) } else { (past, end) };
        if b <= a {
            continue;
        }
        let (a, b) = (number(a), number(b));
        if a < b {
            let x = ((a + 1) as f64 - at) * h;
            rows.lower_cells(j, a..b, |cells| lower_round(tool, cells, z, (x, h), dv));
        }
    }
}

/// Cells beside a move that runs across the rows.
fn steeply_beside(rows: &mut Rows<'_>, tool: &Underside, (m, z): (&Level, f64)) {
    let r = tool.radius_mm();
    let (ux, uy) = m.u;
    let z = z - rows.grid.lo.z;
    let step = rows.grid.spacing_mm;
    let (low, high) = m.v_ends(r * ux.abs());
    for j in rows.within(low, high) {
        let dv = rows.grid.v_mm(j) - m.from.1;
        let span = Span { from: f64::NEG_INFINITY, to: f64::INFINITY }
            .clip(m.from.0, ux, uy * dv, 0.0, m.length)
            .clip(m.from.0, -uy, ux * dv, -r, r);
        rows.lower(j, (span.from, span.to), |u, cells| {
            let across = (ux * dv - uy * (u - m.from.0), -uy * step);
            lower_beside(tool, cells, z, across);
        });
    }
}

/// The part of the disc at `at` that lies behind the start of `next` and ahead of the end of `before`,
/// where they are given.
fn disc(
    rows: &mut Rows<'_>,
    tool: &Underside,
    (at, z): ((f64, f64), f64),
    before: Option<&Level>,
    next: Option<&Level>,
) {
    let r = tool.radius_mm();
    let z = z - rows.grid.lo.z;
    let step = rows.grid.spacing_mm;
    let moves = |m: &&Level| m.length > 0.0;
    let (before, next) = (before.filter(moves), next.filter(moves));
    let (below, above) = match (before, next) {
        (Some(a), Some(b)) => wedge(a.u, b.u),
        _ => (-1.0, 1.0),
    };
    for j in rows.within(at.1 + r * below, at.1 + r * above) {
        let dv = rows.grid.v_mm(j) - at.1;
        let mut span = Span { from: at.0 - r, to: at.0 + r };
        if let Some(m) = next {
            span = span.clip(at.0, m.u.0, m.u.1 * dv, f64::NEG_INFINITY, 0.0);
        }
        if let Some(m) = before {
            span = span.clip(at.0, m.u.0, m.u.1 * dv, 0.0, f64::INFINITY);
        }
        if span.is_empty() {
            continue;
        }
        let chord = Span::chord(at.0, dv, r);
        let span = (span.from.max(chord.from), span.to.min(chord.to));
        rows.lower(j, span, |u, cells| lower_round(tool, cells, z, (u - at.0, step), dv));
    }
}

/// Where the wedge between two directions of a joint lies along v, over the radius.
fn wedge(a: (f64, f64), b: (f64, f64)) -> (f64, f64) {
    let (cross, dot) = (a.0 * b.1 - a.1 * b.0, a.0 * b.0 + a.1 * b.1);
    if dot <= 0.0 {
        return (-1.0, 1.0);
    }
    // on the outer side of the turn; an arc passes its chord by no more than `1 - cos`
    let side = if cross > 0.0 { -1.0 } else { 1.0 };
    let (p, q, bulge) = (side * a.0, side * b.0, 1.0 - dot + 1e-9);
    (p.min(q).min(0.0) - bulge, p.max(q).max(0.0) + bulge)
}

/// Lowers cells at the signed distance `across + i step` from the line of a move.
#[inline(always)]
fn lower_beside(tool: &Underside, cells: &mut [f32], z: f64, (across, step): (f64, f64)) {
    if tool.ball() {
        let r = tool.radius_mm() as f32;
        let (centre, a, d) = (z as f32 + r, across as f32, step as f32);
        for (i, c) in cells.iter_mut().enumerate() {
            let x = a + i as i32 as f32 * d;
            let w = (r - x) * (r + x);
            let low = centre - if w > 0.0 { w } else { 0.0 }.sqrt();
            *c = if low < *c { low } else { *c };
        }
    } else {
        for (i, c) in cells.iter_mut().enumerate() {
            *c = c.min((z + tool.height_mm((across + i as f64 * step).abs())) as f32);
        }
    }
}

/// Lowers cells at `(du + i step, dv)` from the axis; beside the cutter they stay.
#[inline(always)]
fn lower_round(tool: &Underside, cells: &mut [f32], z: f64, (du, step): (f64, f64), dv: f64) {
    let r = tool.radius_mm();
    // rounding at the rim is in
    let rim = 1e-12 * r * r;
    let left = (r - dv) * (r + dv);
    if tool.ball() {
        let centre = (z + r) as f32;
        for (i, c) in cells.iter_mut().enumerate() {
            let x = du + i as f64 * step;
            let w = left - x * x;
            if w >= -rim {
                *c = c.min(centre - (w.max(0.0) as f32).sqrt());
            }
        }
    } else {
        for (i, c) in cells.iter_mut().enumerate() {
            let x = du + i as f64 * step;
            if left - x * x >= -rim {
                *c = c.min((z + tool.height_mm(x.hypot(dv))) as f32);
            }
        }
    }
}
