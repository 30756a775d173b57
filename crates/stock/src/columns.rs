//! Columns of material along one axis: one interval each in two flat arrays, further intervals of
//! the few columns that have them in a table for every band of rows.

use crate::chain::{Piece, pieces};
use crate::error::StockError;
use crate::grid::{Direction, Grid};
use crate::line::Sweep;
use crate::outline::{BAND, Outline};
use crate::ramp;
use crate::rows::{Edges, Rows};
use crate::strip;
use crate::underside::Underside;
use geom::{Vec2, Vec3, segment};
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Intervals of a column below its topmost, from above.
type More = BTreeMap<u32, Vec<[f32; 2]>>;

/// A stock as columns along one axis. Heights are kept in single precision over the lower end of
/// the grid: better than 1e-5 mm on 100 mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Columns {
    grid: Grid,
    /// Lower end of the topmost interval.
    lo: Vec<f32>,
    /// Its upper end; not above `lo` where the column is empty.
    hi: Vec<f32>,
    /// Cells of each row through which a wall passes.
    edges: Vec<Edges>,
    more: Vec<More>,
}

/// Rows of one band with all that belongs to them.
struct Band<'a> {
    first: usize,
    lo: &'a mut [f32],
    hi: &'a mut [f32],
    edges: &'a mut [Edges],
    more: &'a mut More,
}

impl Columns {
    /// A full block: every column of the grid from end to end.
    pub fn block(grid: Grid) -> Self {
        let n = grid.nu * grid.nv;
        let top = (grid.w_hi_mm - grid.lo.z) as f32;
        let (edges, more) =
            (vec![Edges::new(); grid.nv], vec![More::new(); grid.nv.div_ceil(BAND)]);
        Self { grid, lo: vec![0.0; n], hi: vec![top; n], edges, more }
    }

    /// Columns filled as `of(u, v)` says: intervals along the column from below, in order, mm.
    pub fn filled(grid: Grid, of: impl Fn(f64, f64) -> Vec<(f64, f64)> + Sync) -> Self {
        Self::by_cell(grid, |i, j| of(grid.u_mm(i), grid.v_mm(j)))
    }

    /// As [`Columns::filled`], by the number of the column.
    pub(crate) fn by_cell(grid: Grid, of: impl Fn(usize, usize) -> Vec<(f64, f64)> + Sync) -> Self {
        let mut out = Self::block(grid);
        out.bands().for_each(|mut band| {
            for k in 0..band.hi.len() {
                let w = |x: f64| (x.clamp(grid.lo.z, grid.w_hi_mm) - grid.lo.z) as f32;
                let list = of(k % grid.nu, band.first + k / grid.nu);
                let list = list.into_iter().map(|(a, b)| [w(a), w(b)]);
                let mut list: Vec<[f32; 2]> = list.filter(|p| p[1] > p[0]).collect();
                list.reverse();
                band.put(k, list);
            }
        });
        out
    }

    /// The lattice.
    pub fn grid(&self) -> &Grid {
        &self.grid
    }

    /// Bytes held.
    pub fn bytes(&self) -> usize {
        let more: usize = self.more.iter().flat_map(|m| m.values()).map(|v| 48 + 8 * v.len()).sum();
        let edges: usize = self.edges.iter().map(|e| 24 + 8 * e.capacity()).sum();
        (self.lo.len() + self.hi.len()) * size_of::<f32>() + edges + more
    }

    /// Height of the top of column `(i, j)`, mm; `None` where nothing is left.
    pub fn top_mm(&self, i: usize, j: usize) -> Option<f64> {
        let k = j * self.grid.nu + i;
        (self.hi[k] > self.lo[k]).then(|| self.grid.lo.z + f64::from(self.hi[k]))
    }

    /// Intervals of column `(i, j)` from above, mm.
    pub fn intervals_mm(&self, i: usize, j: usize) -> Vec<(f64, f64)> {
        let w = |x: f32| self.grid.lo.z + f64::from(x);
        self.intervals(i, j).map(|[a, b]| (w(a), w(b))).collect()
    }

    pub(crate) fn intervals(&self, i: usize, j: usize) -> impl Iterator<Item = [f32; 2]> {
        let k = j * self.grid.nu + i;
        let band = &self.more[j / BAND];
        let key = (k - j / BAND * BAND * self.grid.nu) as u32;
        let rest = if band.is_empty() { None } else { band.get(&key) };
        let first = [self.lo[k], self.hi[k]];
        let first = (first[1] > first[0]).then_some(first);
        first.into_iter().chain(rest.into_iter().flatten().copied())
    }

    /// Sets the intervals of column number `k`, from above.
    pub(crate) fn set(&mut self, k: usize, list: Vec<[f32; 2]>) {
        let size = BAND * self.grid.nu;
        let (band, key) = (k / size, (k % size) as u32);
        let first = list.first().copied().unwrap_or([0.0, 0.0]);
        (self.lo[k], self.hi[k]) = (first[0], first[1]);
        self.set_edge(k, 0.0);
        self.more[band].remove(&key);
        if list.len() > 1 {
            self.more[band].insert(key, list[1..].to_vec());
        }
    }

    /// By how much the mean height of the cell of column number `k` lies over its own, mm.
    pub(crate) fn edge_mm(&self, k: usize) -> f32 {
        let (row, cell) = (&self.edges[k / self.grid.nu], (k % self.grid.nu) as u32);
        row.binary_search_by_key(&cell, |e| e.0).map_or(0.0, |at| row[at].1)
    }

    pub(crate) fn set_edge(&mut self, k: usize, edge_mm: f32) {
        let (row, cell) = (&mut self.edges[k / self.grid.nu], (k % self.grid.nu) as u32);
        match row.binary_search_by_key(&cell, |e| e.0) {
            Ok(at) if edge_mm == 0.0 => drop(row.remove(at)),
            Ok(at) => row[at].1 = edge_mm,
            Err(at) if edge_mm != 0.0 => row.insert(at, (cell, edge_mm)),
            Err(_) => {}
        }
    }

    /// Puts the end of an empty column where the rest of its cell begins, mm over the lower end of the
    /// grid: what is cut down to there is gone.
    pub(crate) fn stand_at(&mut self, k: usize, mm: f64) {
        (self.lo[k], self.hi[k]) = (mm as f32, mm as f32);
    }

    /// Takes `[from, to]` mm out of a column; the length that was there, mm.
    pub(crate) fn take(&mut self, i: usize, j: usize, from: f64, to: f64) -> f64 {
        let k = j * self.grid.nu + i;
        let (from, to) = ((from - self.grid.lo.z) as f32, (to - self.grid.lo.z) as f32);
        let mut length = 0.0;
        let mut left = Vec::new();
        for [a, b] in self.intervals(i, j) {
            length += f64::from((b.min(to) - a.max(from)).max(0.0));
            left.extend([[a.max(to), b], [a, b.min(from)]].into_iter().filter(|p| p[1] > p[0]));
        }
        if length > 0.0 {
            self.set(k, left);
        }
        length
    }

    /// Volume, mm³: cells times mean lengths, summed row by row in order.
    pub fn volume_mm3(&self) -> f64 {
        let nu = self.grid.nu;
        let rows: Vec<f64> = (self.lo.par_chunks(nu), self.hi.par_chunks(nu), &self.edges)
            .into_par_iter()
            .map(|(lo, hi, edges)| {
                let lengths = lo.iter().zip(hi).map(|(a, b)| f64::from((b - a).max(0.0)));
                lengths.sum::<f64>() + edges.iter().map(|e| f64::from(e.1)).sum::<f64>()
            })
            .collect();
        let more = self.more.iter().flat_map(|m| m.values().flatten());
        let sum = rows.iter().sum::<f64>() + more.map(|[a, b]| f64::from(b - a)).sum::<f64>();
        sum * self.grid.spacing_mm * self.grid.spacing_mm
    }

    /// How full the material is at a point of the part's frame, 0 to 1, by interpolation between
    /// four columns; the border is where it is 0.5. Outside the grid it is 0.
    pub fn fill(&self, p: Vec3) -> f64 {
        self.fill_and_spread(p).0
    }

    /// The same, and how far the four columns are apart in it: little where the border lies across them,
    /// up to 1 where it runs along them.
    pub(crate) fn fill_and_spread(&self, p: Vec3) -> (f64, f64) {
        let p = self.grid.direction.turn(p);
        let h = self.grid.spacing_mm;
        let (x, y) = ((p.x - self.grid.lo.x) / h - 0.5, (p.y - self.grid.lo.y) / h - 0.5);
        let (fx, fy) = (x - x.floor(), y - y.floor());
        let w = p.z - self.grid.lo.z;
        let at = |dx: i64, dy: i64| {
            let (i, j) = (x.floor() as i64 + dx, y.floor() as i64 + dy);
            let inside = i >= 0 && j >= 0 && i < self.grid.nu as i64 && j < self.grid.nv as i64;
            if inside { self.fill_of(i as usize, j as usize, w) } else { 0.0 }
        };
        let four = [at(0, 0), at(1, 0), at(0, 1), at(1, 1)];
        let low = four[0] * (1.0 - fx) + four[1] * fx;
        let high = four[2] * (1.0 - fx) + four[3] * fx;
        let (least, most) = four.iter().fold((1.0, 0.0), |(a, b), v| (v.min(a), v.max(b)));
        (low * (1.0 - fy) + high * fy, most - least)
    }

    fn fill_of(&self, i: usize, j: usize, w: f64) -> f64 {
        let h = self.grid.spacing_mm;
        let soft = |d: f64| (0.5 + d / h).clamp(0.0, 1.0);
        let of = |[a, b]: [f32; 2]| soft(f64::from(b) - w).min(soft(w - f64::from(a)));
        self.intervals(i, j).map(of).fold(0.0, f64::max)
    }

    fn bands(&mut self) -> impl IndexedParallelIterator<Item = Band<'_>> {
        let size = BAND * self.grid.nu;
        let parts = (
            self.lo.par_chunks_mut(size),
            self.hi.par_chunks_mut(size),
            self.edges.par_chunks_mut(BAND),
            self.more.par_iter_mut(),
        );
        parts.into_par_iter().enumerate().map(|(k, (lo, hi, edges, more))| Band {
            first: k * BAND,
            lo,
            hi,
            edges,
            more,
        })
    }

    /// Cuts along straight moves of an upright cutter (axis +z) through `tips`, exact for every
    /// column to a fiftieth of a cell, whichever way the moves run. What lies over the end of the flutes stays.
    ///
    /// # Errors
    /// A position that is not finite.
    pub fn cut_upright(&mut self, tool: &cutter::Profile, tips: &[Vec3]) -> Result<(), StockError> {
        if let Some(index) = tips.iter().position(|t| !t.is_finite()) {
            return Err(StockError::NotFinite { index });
        }
        let under = Underside::new(tool);
        if self.grid.direction != Direction::Z || under.undercuts() || self.over(&under, tips) {
            for pair in pairs(tips) {
                let (from, to) = pair;
                self.cut(&Sweep { body: tool.kernel(), from, to, axis: Vec3::Z }, reach(tool));
            }
            return Ok(());
        }
        let pieces = pieces(tips, self.grid.spacing_mm);
        let grid = self.grid;
        self.bands().for_each(|mut band| {
            let (first, lo) = (band.first, &*band.lo);
            let mut rows = Rows { grid: &grid, first, lo, hi: band.hi, edges: band.edges };
            pieces.iter().for_each(|piece| cut_rows(&mut rows, &under, piece));
            band.settle();
        });
        Ok(())
    }

    /// Whether material near the path stands over the end of the flutes.
    fn over(&self, tool: &Underside, tips: &[Vec3]) -> bool {
        let Some(&first) = tips.first() else { return false };
        let (lo, hi) = tips.iter().fold((first, first), |(a, b), t| (a.min(*t), b.max(*t)));
        let end = lo.z + tool.top_mm() - self.grid.lo.z;
        let r = tool.radius_mm();
        if self.grid.w_hi_mm - self.grid.lo.z <= end {
            return false;
        }
        let (a, b) = self.grid.u_range(lo.x - r, hi.x + r);
        let (c, d) = self.grid.v_range(lo.y - r, hi.y + r);
        let tall = |k: usize| self.hi[k] > self.lo[k] && f64::from(self.hi[k]) > end;
        if !(c..d).any(|j| (a..b.max(a)).any(|i| tall(j * self.grid.nu + i))) {
            return false;
        }
        // beside the path it may stand as high as it likes
        pairs(tips).into_iter().any(|(from, to)| {
            let (lo, hi) = (from.min(to), from.max(to));
            let (a, b) = self.grid.u_range(lo.x - r, hi.x + r);
            let (c, d) = self.grid.v_range(lo.y - r, hi.y + r);
            let leg = [from, to].map(Vec3::truncate);
            let reached = |i: usize, j: usize| {
                let p = Vec2::new(self.grid.u_mm(i), self.grid.v_mm(j));
                segment::distance_squared_in_plane(p, leg) < r * r
            };
            (c..d).any(|j| (a..b.max(a)).any(|i| tall(j * self.grid.nu + i) && reached(i, j)))
        })
    }

    /// Cuts with a body on a straight move with a steady axis, which no point of the body is
    /// farther from its tip than `reach_mm`.
    pub fn cut(&mut self, sweep: &Sweep<'_>, reach_mm: f64) {
        let grid = self.grid;
        let direction = grid.direction;
        let (p, q) = (direction.turn(sweep.from), direction.turn(sweep.to));
        let (lo, hi) = (p.min(q) - reach_mm, p.max(q) + reach_mm);
        let (a, b) = grid.u_range(lo.x, hi.x);
        let (c, d) = grid.v_range(lo.y, hi.y);
        let [u, v, w] = direction.axes();
        let mut dir = Vec3::ZERO;
        dir[w] = 1.0;
        self.bands().for_each(|mut band| {
            let count = band.hi.len() / grid.nu;
            for j in c.max(band.first)..d.min(band.first + count) {
                for i in a..b {
                    let mut at = Vec3::ZERO;
                    (at[u], at[v]) = (grid.u_mm(i), grid.v_mm(j));
                    let k = (j - band.first) * grid.nu + i;
                    if band.is_empty(k) {
                        continue;
                    }
                    if let Some((from, to)) = sweep.interval(at, dir, lo.z, hi.z) {
                        band.remove(k, (from - grid.lo.z) as f32, (to - grid.lo.z) as f32);
                    }
                }
            }
        });
    }
}

/// Largest distance of a point of the cutter from its tip, mm, at most.
pub(crate) fn reach(tool: &cutter::Profile) -> f64 {
    tool.top_mm().hypot(tool.largest_radius_mm())
}

fn pairs(tips: &[Vec3]) -> Vec<(Vec3, Vec3)> {
    match tips {
        [one] => vec![(*one, *one)],
        _ => tips.windows(2).map(|w| (w[0], w[1])).collect(),
    }
}

fn cut_rows(rows: &mut Rows<'_>, tool: &Underside, piece: &Piece) {
    let r = tool.radius_mm();
    let (v_lo, v_hi) = rows.v_ends();
    match piece {
        Piece::Slope(from, to) => {
            let (lo, hi) = (from.min(*to), from.max(*to));
            let region = ((lo.x - r, lo.y - r), (hi.x + r, hi.y + r));
            rows.each(region, |u, v| ramp::lowest(tool, *from, *to, u, v));
        }
        Piece::Chain(chain) if tool.flat() => {
            let mut outline: Option<Outline> = None;
            for m in &chain.moves {
                let (low, high) = m.v_ends(r);
                if high < v_lo || low > v_hi {
                    continue;
                }
                let (v, step) = (rows.grid.v_mm(rows.first), rows.grid.spacing_mm);
                let of = outline.get_or_insert_with(|| Outline::new(v, step, rows.count(), r));
                of.add(m);
            }
            if let Some(outline) = outline {
                rows.flatten(&outline, chain.z);
            }
        }
        Piece::Chain(chain) => strip::cut(rows, tool, chain),
    }
}

impl Band<'_> {
    fn is_empty(&self, k: usize) -> bool {
        !(self.hi[k] > self.lo[k])
    }

    /// No wall passes through a column's cell any more.
    fn plain(&mut self, k: usize) {
        let nu = self.hi.len() / self.edges.len();
        let (row, cell) = (&mut self.edges[k / nu], (k % nu) as u32);
        if !row.is_empty() {
            row.retain(|e| e.0 != cell);
        }
    }

    /// Sets a column's intervals, from above.
    fn put(&mut self, k: usize, list: Vec<[f32; 2]>) {
        let mut list = list.into_iter();
        let first = list.next().unwrap_or([0.0, 0.0]);
        (self.lo[k], self.hi[k]) = (first[0], first[1]);
        self.plain(k);
        let rest: Vec<[f32; 2]> = list.collect();
        if rest.is_empty() {
            self.more.remove(&(k as u32));
        } else {
            self.more.insert(k as u32, rest);
        }
    }

    /// Takes `[from, to]` out of a column.
    fn remove(&mut self, k: usize, from: f32, to: f32) {
        if !(to > from) || from >= self.hi[k] {
            return;
        }
        let rest = self.more.get(&(k as u32));
        if rest.is_none() && to >= self.hi[k] {
            self.hi[k] = from;
            self.plain(k);
            return;
        }
        let mut list = vec![[self.lo[k], self.hi[k]]];
        list.extend(rest.into_iter().flatten());
        let parts = list.into_iter().flat_map(|[a, b]| [[a.max(to), b], [a, b.min(from)]]);
        self.put(k, parts.filter(|p| p[1] > p[0]).collect());
    }

    /// After upper ends were lowered: columns with several intervals lose what lies above.
    fn settle(&mut self) {
        let keys: Vec<u32> = self.more.keys().copied().collect();
        for key in keys {
            let k = key as usize;
            let top = self.hi[k];
            if top > self.lo[k] {
                continue;
            }
            let rest = self.more.get(&key).cloned().unwrap_or_default();
            let cut = rest.into_iter().map(|[a, b]| [a, b.min(top)]);
            self.put(k, cut.filter(|p| p[1] > p[0]).collect());
        }
    }
}
