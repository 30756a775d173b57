//! Level moves of an upright cutter: each row is cut in up to three spans.
//!
//! A body's swept region is a stadium: a rectangle and two half discs. On a chain of level moves at
//! one height the half disc ahead of a move is swept by the next, and the one behind by the move
//! before, save a wedge of the disc at the joint. A cell of the rest lies nearer to another place of
//! the chain, where the underside is no higher, so nothing is lost.

use crate::span::Span;
use crate::underside::Underside;
use geom::Vec3;

/// Rows of a grid that one thread owns, seen along z.
pub(crate) struct Rows<'a> {
    pub(crate) grid: &'a crate::grid::Grid,
    /// First row.
    pub(crate) first: usize,
    /// Upper ends, row by row, mm over the lower end of the grid.
    pub(crate) hi: &'a mut [f32],
}

/// A level move with its direction.
#[derive(Clone, Copy)]
pub(crate) struct Level {
    from: Vec3,
    to: Vec3,
    u: (f64, f64),
    length: f64,
}

impl Level {
    /// `None` where the move is not level, or stands still.
    pub(crate) fn new(from: Vec3, to: Vec3) -> Option<Self> {
        let (dx, dy) = (to.x - from.x, to.y - from.y);
        let length = dx.hypot(dy);
        let level = (to.z - from.z).abs() <= geom::tolerance::COINCIDENT_MM * 1e-3;
        (level && length > 1e-9).then(|| Self { from, to, u: (dx / length, dy / length), length })
    }

    /// Whether this move goes on from `before` at the same height.
    pub(crate) fn goes_on(&self, before: &Level) -> bool {
        before.to == self.from && before.from.z == self.from.z
    }
}

impl Rows<'_> {
    /// v of its borders, mm.
    pub(crate) fn v_ends(&self) -> (f64, f64) {
        let count = self.hi.len() / self.grid.nu;
        let h = 0.5 * self.grid.spacing_mm;
        (self.grid.v_mm(self.first) - h, self.grid.v_mm(self.first + count) + h)
    }

    fn rows(&self, v_lo: f64, v_hi: f64) -> std::ops::Range<usize> {
        let count = self.hi.len() / self.grid.nu;
        let (a, b) = self.grid.v_range(v_lo, v_hi);
        a.max(self.first)..b.min(self.first + count)
    }

    fn cells(&mut self, j: usize, span: Span) -> Option<(f64, &mut [f32])> {
        let (a, b) = self.grid.u_range(span.from, span.to);
        if span.is_empty() || a >= b {
            return None;
        }
        let start = (j - self.first) * self.grid.nu;
        Some((self.grid.u_mm(a), &mut self.hi[start + a..start + b]))
    }

    /// Cuts the rectangle of a move: everything beside its line.
    pub(crate) fn rectangle(&mut self, tool: &Underside, m: &Level) {
        let r = tool.radius_mm();
        let (ux, uy) = m.u;
        let wide = r * ux.abs();
        let (lo, hi) = (m.from.y.min(m.to.y) - wide, m.from.y.max(m.to.y) + wide);
        let z = m.from.z - self.grid.lo.z;
        let step = self.grid.spacing_mm;
        for j in self.rows(lo, hi) {
            let dv = self.grid.v_mm(j) - m.from.y;
            let span = Span { from: f64::NEG_INFINITY, to: f64::INFINITY }
                .clip(m.from.x, ux, uy * dv, 0.0, m.length)
                .clip(m.from.x, -uy, ux * dv, -r, r);
            if let Some((u, cells)) = self.cells(j, span) {
                let across = ux * dv - uy * (u - m.from.x);
                lower_beside(tool, cells, z, across, -uy * step);
            }
        }
    }

    /// Cuts the part of the disc at `at` that lies behind the start of `next` and ahead of the end
    /// of `before`, where they are given.
    pub(crate) fn disc(
        &mut self,
        tool: &Underside,
        at: Vec3,
        before: Option<&Level>,
        next: Option<&Level>,
    ) {
        let r = tool.radius_mm();
        let z = at.z - self.grid.lo.z;
        let step = self.grid.spacing_mm;
        let (below, above) = match (before, next) {
            (Some(a), Some(b)) => wedge(a.u, b.u),
            _ => (-1.0, 1.0),
        };
        for j in self.rows(at.y + r * below, at.y + r * above) {
            let dv = self.grid.v_mm(j) - at.y;
            let mut span = Span { from: at.x - r, to: at.x + r };
            if let Some(m) = next {
                span = span.clip(at.x, m.u.0, m.u.1 * dv, f64::NEG_INFINITY, 0.0);
            }
            if let Some(m) = before {
                span = span.clip(at.x, m.u.0, m.u.1 * dv, 0.0, f64::INFINITY);
            }
            if span.is_empty() {
                continue;
            }
            let chord = Span::chord(at.x, dv, r);
            span = Span { from: span.from.max(chord.from), to: span.to.min(chord.to) };
            if let Some((u, cells)) = self.cells(j, span) {
                lower_round(tool, cells, z, (u - at.x, step), dv);
            }
        }
    }

    /// Cuts with a standing or plunging cutter, or along any move, by the height `of(u, v)`.
    pub(crate) fn each(
        &mut self,
        (lo, hi): ((f64, f64), (f64, f64)),
        of: impl Fn(f64, f64) -> Option<f64>,
    ) {
        let base = self.grid.lo.z;
        let grid = self.grid;
        for j in self.rows(lo.1, hi.1) {
            let v = grid.v_mm(j);
            if let Some((u, cells)) = self.cells(j, Span { from: lo.0, to: hi.0 }) {
                for (i, cell) in cells.iter_mut().enumerate() {
                    if let Some(z) = of(u + i as f64 * grid.spacing_mm, v) {
                        *cell = cell.min((z - base) as f32);
                    }
                }
            }
        }
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

/// Lowers cells at the signed distance `across + i step` from the line of the move.
fn lower_beside(tool: &Underside, cells: &mut [f32], z: f64, across: f64, step: f64) {
    if tool.flat() {
        let z = z as f32;
        cells.iter_mut().for_each(|c| *c = if z < *c { z } else { *c });
    } else if tool.ball() {
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

/// Lowers cells at `(du + i step, dv)` from the axis.
fn lower_round(tool: &Underside, cells: &mut [f32], z: f64, (du, step): (f64, f64), dv: f64) {
    if tool.flat() {
        let z = z as f32;
        cells.iter_mut().for_each(|c| *c = if z < *c { z } else { *c });
    } else if tool.ball() {
        let r = tool.radius_mm();
        let half = ((r - dv) * (r + dv)).max(0.0).sqrt() as f32;
        let (centre, a, d) = ((z + r) as f32, du as f32, step as f32);
        for (i, c) in cells.iter_mut().enumerate() {
            let x = a + i as i32 as f32 * d;
            let w = (half - x) * (half + x);
            let low = centre - if w > 0.0 { w } else { 0.0 }.sqrt();
            *c = if low < *c { low } else { *c };
        }
    } else {
        for (i, c) in cells.iter_mut().enumerate() {
            *c = c.min((z + tool.height_mm((du + i as f64 * step).hypot(dv))) as f32);
        }
    }
}
