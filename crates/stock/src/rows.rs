//! Rows of columns that one thread lowers.
//!
//! A column stands in the middle of its cell and knows where it ends, not how much of its cell does. At
//! the wall of a flat cutter the rest is kept beside it ([`Edges`]): by how much the mean height of the cell
//! lies over the column's own.

use crate::grid::Grid;
use crate::outline::{Interval, LINES, Outline};

/// Cells of a row at which a wall stands, in order, and the mean height over the column's own, mm.
pub(crate) type Edges = Vec<(u32, f32)>;

/// Rows of a grid along z.
pub(crate) struct Rows<'a> {
    pub(crate) grid: &'a Grid,
    /// First row.
    pub(crate) first: usize,
    /// Lower and upper ends of the topmost intervals, row by row, mm over the lower end of the grid.
    pub(crate) lo: &'a [f32],
    pub(crate) hi: &'a mut [f32],
    pub(crate) edges: &'a mut [Edges],
}

/// A cell that is covered in part.
#[derive(Debug, Clone, Copy)]
struct Part {
    cell: usize,
    share: f32,
    /// Whether its middle is covered.
    middle: bool,
}

impl Rows<'_> {
    pub(crate) fn count(&self) -> usize {
        self.hi.len() / self.grid.nu
    }

    /// v of its borders, mm.
    pub(crate) fn v_ends(&self) -> (f64, f64) {
        let h = 0.5 * self.grid.spacing_mm;
        let last = self.first + self.count() - 1;
        (self.grid.v_mm(self.first) - h, self.grid.v_mm(last) + h)
    }

    /// Rows of its own with middles in an interval.
    pub(crate) fn within(&self, v_lo: f64, v_hi: f64) -> std::ops::Range<usize> {
        let (a, b) = self.grid.v_range(v_lo, v_hi);
        a.max(self.first)..b.min(self.first + self.count())
    }

    /// Lowers cells of a row with middles in an interval: `lower` takes u of the first, and them.
    pub(crate) fn lower(
        &mut self,
        j: usize,
        (from, to): Interval,
        lower: impl FnOnce(f64, &mut [f32]),
    ) {
        let (a, b) = if from <= to { self.grid.u_range(from, to) } else { (0, 0) };
        let u = self.grid.u_mm(a);
        if a < b {
            self.lower_cells(j, a..b, |cells| lower(u, cells));
        }
    }

    /// Lowers cells of a row.
    #[inline(always)]
    pub(crate) fn lower_cells(
        &mut self,
        j: usize,
        range: std::ops::Range<usize>,
        lower: impl FnOnce(&mut [f32]),
    ) {
        let k = j - self.first;
        let start = k * self.grid.nu;
        let cells = &mut self.hi[start + range.start..start + range.end];
        if self.edges[k].is_empty() {
            lower(cells);
        } else {
            lower_with_edges(&mut self.edges[k], range, cells, lower);
        }
    }

    /// Lowers by the height `of(u, v)` in a box.
    pub(crate) fn each(
        &mut self,
        (lo, hi): ((f64, f64), (f64, f64)),
        of: impl Fn(f64, f64) -> Option<f64>,
    ) {
        let grid = self.grid;
        for j in self.within(lo.1, hi.1) {
            let v = grid.v_mm(j);
            self.lower(j, (lo.0, hi.0), |u, cells| {
                for (i, cell) in cells.iter_mut().enumerate() {
                    if let Some(z) = of(u + i as f64 * grid.spacing_mm, v) {
                        *cell = cell.min((z - grid.lo.z) as f32);
                    }
                }
            });
        }
    }

    /// Lowers all inside an outline to `z`, cells at its rim in part.
    pub(crate) fn flatten(&mut self, outline: &Outline, z: f64) {
        let z = (z - self.grid.lo.z) as f32;
        for k in 0..self.count() {
            let middle = outline.line(k, LINES / 2);
            if outline.is_even(k) {
                if !middle.is_empty() {
                    self.even(k, &middle, z);
                }
                continue;
            }
            let cover = self.cover(outline, k);
            self.uneven(k, &middle, &cover, z);
        }
    }

    /// An interval in cells.
    fn in_cells(&self, (a, b): Interval) -> Interval {
        let cell = |u: f64| ((u - self.grid.lo.x) / self.grid.spacing_mm).max(0.0);
        let most = self.grid.nu as f64;
        (cell(a).min(most), cell(b).min(most))
    }

    fn even(&mut self, k: usize, spans: &[Interval], z: f32) {
        let (mut full, mut parts) = (Vec::new(), Vec::new());
        for of in spans {
            let (a, b) = self.in_cells(*of);
            let (first, last) = (a as usize, b as usize);
            let (from, to) = self.grid.u_range(of.0, of.1);
            let mut part = |cell: usize, share: f64| {
                if cell < self.grid.nu && share > 0.0 {
                    let middle = from <= cell && cell < to;
                    parts.push(Part { cell, share: share as f32, middle });
                }
            };
            if first == last {
                part(first, b - a);
                continue;
            }
            part(first, (first + 1) as f64 - a);
            part(last, b - last as f64);
            full.push((first + 1, last));
        }
        self.row(k, &full, &parts, z);
    }

    /// First cell that the lines across a row reach, and the shares of the cells from there on that
    /// they cover.
    fn cover(&self, outline: &Outline, k: usize) -> (usize, Vec<f32>) {
        let all: Vec<Interval> = (0..LINES).flat_map(|s| outline.line(k, s)).collect();
        let all: Vec<Interval> = all.into_iter().map(|of| self.in_cells(of)).collect();
        let start = all.iter().fold(self.grid.nu, |m, of| m.min(of.0 as usize));
        let n = all.iter().fold(start, |m, of| m.max(of.1 as usize)) + 1 - start;
        // whole cells as steps up and down, added up at the end
        let (mut cover, mut steps) = (vec![0.0; n], vec![0i32; n + 1]);
        for (a, b) in all {
            let (first, last) = (a as usize, b as usize);
            if first == last {
                cover[first - start] += b - a;
                continue;
            }
            cover[first - start] += (first + 1) as f64 - a;
            cover[last - start] += b - last as f64;
            steps[first + 1 - start] += 1;
            steps[last - start] -= 1;
        }
        let mut height = 0;
        let share = |(part, step): (&f64, &i32)| {
            height += step;
            ((part + f64::from(height)) / LINES as f64) as f32
        };
        (start, cover.iter().zip(&steps).take(self.grid.nu - start).map(share).collect())
    }

    fn uneven(
        &mut self,
        k: usize,
        middle: &[Interval],
        (start, cover): &(usize, Vec<f32>),
        z: f32,
    ) {
        let mut ranges = middle.iter().map(|of| self.grid.u_range(of.0, of.1)).peekable();
        let (mut full, mut parts): (Vec<(usize, usize)>, _) = (Vec::new(), Vec::new());
        for (cell, share) in (*start..).zip(cover).filter(|c| *c.1 > 0.0) {
            while ranges.next_if(|r| r.1 <= cell).is_some() {}
            let middle = ranges.peek().is_some_and(|r| r.0 <= cell);
            if *share < 0.9999 {
                parts.push(Part { cell, share: *share, middle });
                continue;
            }
            match full.last_mut() {
                Some(last) if last.1 == cell => last.1 += 1,
                _ => full.push((cell, cell + 1)),
            }
        }
        self.row(k, &full, &parts, z);
    }

    /// Lowers whole cells and parts of a row, both in order.
    fn row(&mut self, k: usize, full: &[(usize, usize)], parts: &[Part], z: f32) {
        let start = k * self.grid.nu;
        let top = (self.grid.w_hi_mm - self.grid.lo.z) as f32;
        let old = std::mem::take(&mut self.edges[k]);
        let mut new: Edges = Vec::with_capacity(old.len() + parts.len());
        let mut covered = full.iter().peekable();
        let mut kept = old.iter().peekable();
        let mut keep = |new: &mut Edges, (cell, edge): (u32, f32), hi: &[f32]| {
            let at = cell as usize;
            while covered.next_if(|f| f.1 <= at).is_some() {}
            let edge = match covered.peek() {
                Some(f) if f.0 <= at && z < hi[start + at] => 0.0,
                Some(f) if f.0 <= at => edge.min(z - hi[start + at]),
                _ => edge,
            };
            if edge != 0.0 {
                new.push((cell, edge));
            }
        };
        for part in parts {
            let cell = part.cell as u32;
            while let Some(e) = kept.next_if(|e| e.0 < cell) {
                keep(&mut new, *e, self.hi);
            }
            // two intervals may end in one cell
            let before = match kept.next_if(|e| e.0 == cell) {
                Some(e) => e.1,
                None => new.pop_if(|e| e.0 == cell).map_or(0.0, |e| e.1),
            };
            let at = start + part.cell;
            let edge = lower_part(self.lo[at], top, (&mut self.hi[at], before), z, part);
            if edge != 0.0 {
                new.push((cell, edge));
            }
        }
        kept.for_each(|e| keep(&mut new, *e, self.hi));
        self.edges[k] = new;
        for (a, b) in full {
            for cell in &mut self.hi[start + a..start + b] {
                *cell = if z < *cell { z } else { *cell };
            }
        }
    }
}

/// Lowers cells; where that changes one, no wall passes through it any more.
fn lower_with_edges(
    edges: &mut Edges,
    range: std::ops::Range<usize>,
    cells: &mut [f32],
    lower: impl FnOnce(&mut [f32]),
) {
    let within = |e: &(u32, f32)| range.contains(&(e.0 as usize));
    let here = |e: &(u32, f32)| e.0 as usize - range.start;
    let before: Vec<f32> = edges.iter().filter(|e| within(e)).map(|e| cells[here(e)]).collect();
    lower(cells);
    let mut before = before.into_iter();
    edges.retain(|e| !within(e) || before.next().is_some_and(|hi| cells[here(e)] == hi));
}

/// Lowers a part of a column's cell in a stock no higher than `top`; the new edge. Parts of several
/// cuts lie over each other: they come from the same side.
fn lower_part(lo: f32, top: f32, (hi, edge): (&mut f32, f32), z: f32, part: &Part) -> f32 {
    if *hi <= lo && edge <= 0.0 {
        return edge;
    }
    let floor = z.max(lo);
    let gone = part.share * (*hi - floor);
    let mut out = edge;
    if z < *hi && part.middle {
        // what was gone before lies within what is gone now, where the middle stood
        let mean = if edge < 0.0 { edge.min(-gone) } else { edge - gone };
        out = (*hi + mean - floor).max(0.0);
        *hi = z;
    } else if z < *hi {
        out = edge.min(-gone);
    }
    out.min(part.share * floor + (1.0 - part.share) * top - hi.max(lo))
}
