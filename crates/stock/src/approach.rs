//! How near neck, shank and holder come to what stands, while an upright cutter goes about at one height.
//!
//! A body is as near to a column as it ever gets where its axis passes the column nearest in plan; so the
//! distance of every column from the ways is all that is wanted of them. What stands is taken as standing
//! from its top down: a cutter that comes from above finds nothing else.

use crate::columns::Columns;
use crate::grid::Grid;
use cutter::{Assembly, BodyKind};
use geom::golden::largest;
use geom::{Vec2, Vec3, segment};

/// Steps of the search for the height at which a body comes nearest to a column: the golden section
/// leaves 1e-8 of the height.
const STEPS: usize = 40;

/// The nearest that a body comes to what stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Near {
    /// Which body.
    pub kind: BodyKind,
    /// Distance, mm, to half a cell; less than nothing where the body is in the material.
    pub distance_mm: f64,
    /// Where on the material.
    pub at: Vec3,
}

/// Tops of columns before and after a cut, mm; without end below where nothing stands.
#[derive(Debug, Clone, Copy)]
pub struct Standing<'a> {
    /// Before the cut.
    pub before: &'a [f64],
    /// After it.
    pub after: &'a [f64],
}

impl Columns {
    /// Highest material of every column, row by row, mm; without end below where there is none.
    pub fn tops_mm(&self) -> Vec<f64> {
        let (nu, nv) = (self.grid().nu, self.grid().nv);
        let all = (0..nv).flat_map(|j| (0..nu).map(move |i| (i, j)));
        all.map(|(i, j)| self.top_mm(i, j).unwrap_or(f64::NEG_INFINITY)).collect()
    }
}

/// How far every column of a grid is from ways in plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Beside {
    grid: Grid,
    off_mm: Vec<f64>,
}

impl Beside {
    /// Of ways in plan; a way of one point is that point. `None` without any.
    pub fn of(grid: &Grid, ways: &[Vec<Vec2>]) -> Option<Self> {
        let legs = ways.iter().flat_map(|way| {
            let alone = (way.len() == 1).then(|| [way[0], way[0]]);
            alone.into_iter().chain(way.windows(2).map(|w| [w[0], w[1]]))
        });
        let legs: Vec<[Vec2; 2]> = legs.collect();
        if legs.is_empty() {
            return None;
        }
        let mut search = Search::new(grid, &legs);
        search.seed();
        search.spread();
        let off_mm = search.best.iter().map(|(squared, _)| squared.sqrt()).collect();
        Some(Self { grid: *grid, off_mm })
    }

    /// The nearest that each body behind the flutes comes to what stands, where the tip goes at
    /// `height_mm`. What the cut takes stands until the cutter's rim is there: what was higher before it
    /// counts from the cutter's radius on.
    pub fn nearest(&self, tool: &Assembly, height_mm: f64, stands: Standing<'_>) -> Vec<Near> {
        let rim_mm = tool.cutter.profile().largest_radius_mm();
        let mut out: Vec<Near> = Vec::new();
        for body in &tool.bodies {
            let widest_mm = body.r_lo_mm.max(body.r_hi_mm);
            let foot_mm = height_mm + body.z_lo_mm;
            let mut best: Option<Near> = None;
            let mut look = |k: usize, off_mm: f64, top_mm: f64| {
                let least = (off_mm - widest_mm).max(0.0).hypot((foot_mm - top_mm).max(0.0));
                if best.is_some_and(|b| least >= b.distance_mm.max(0.0) && least > 0.0) {
                    return;
                }
                let (distance_mm, z_mm) = lowest(body, off_mm, top_mm - height_mm);
                if best.is_none_or(|b| distance_mm < b.distance_mm) {
                    let (i, j) = (k % self.grid.nu, k / self.grid.nu);
                    let at = Vec3::new(self.grid.u_mm(i), self.grid.v_mm(j), height_mm + z_mm);
                    best = Some(Near { kind: body.kind, distance_mm, at });
                }
            };
            // the border of what stands is half a cell nearer than its first column
            let half = 0.5 * self.grid.spacing_mm;
            for (k, off) in self.off_mm.iter().enumerate() {
                let (before, after) = (stands.before[k], stands.after[k]);
                if after > f64::NEG_INFINITY {
                    look(k, (off - half).max(0.0), after);
                }
                if before > after {
                    look(k, (off - half).max(rim_mm), before);
                }
            }
            let Some(near) = best else { continue };
            match out.iter_mut().find(|n| n.kind == near.kind) {
                Some(known) if near.distance_mm < known.distance_mm => *known = near,
                Some(_) => {}
                None => out.push(near),
            }
        }
        out
    }
}

/// The least distance of a body from a column that stands up to `top_mm` over the tip, `off_mm` from the
/// axis, and the height of the place over the tip: the distance has one valley along the column.
fn lowest(body: &cutter::Body, off_mm: f64, top_mm: f64) -> (f64, f64) {
    let at = |z: f64| body.kernel().value(off_mm, z);
    if top_mm <= body.z_lo_mm {
        return (at(top_mm), top_mm);
    }
    let range = [body.z_lo_mm, top_mm.min(body.z_hi_mm)];
    let (z, less) = largest(|z| -at(z), range, STEPS, f64::INFINITY);
    (-less, z)
}

/// The nearest leg of every column, found from the columns that legs pass and handed on from neighbour to
/// neighbour.
struct Search<'a> {
    grid: &'a Grid,
    legs: &'a [[Vec2; 2]],
    /// Square of the distance and number of the leg.
    best: Vec<(f64, usize)>,
}

impl<'a> Search<'a> {
    fn new(grid: &'a Grid, legs: &'a [[Vec2; 2]]) -> Self {
        Self { grid, legs, best: vec![(f64::INFINITY, usize::MAX); grid.nu * grid.nv] }
    }

    fn offer(&mut self, i: usize, j: usize, leg: usize) {
        let k = j * self.grid.nu + i;
        if leg == self.best[k].1 {
            return;
        }
        let p = Vec2::new(self.grid.u_mm(i), self.grid.v_mm(j));
        let squared = segment::distance_squared_in_plane(p, self.legs[leg]);
        if squared < self.best[k].0 {
            self.best[k] = (squared, leg);
        }
    }

    /// Columns along every leg; one that leaves the grid is handed on from its edge.
    fn seed(&mut self) {
        let h = self.grid.spacing_mm;
        let most = Vec2::new((self.grid.nu - 1) as f64, (self.grid.nv - 1) as f64);
        for leg in 0..self.legs.len() {
            let [from, to] = self.legs[leg];
            let steps = (from.distance(to) / h).ceil().max(1.0) as usize;
            for k in 0..=steps {
                let p = from.lerp(to, k as f64 / steps as f64);
                let cell = (p - self.grid.lo.truncate()) / h;
                let cell = cell.floor().clamp(Vec2::ZERO, most);
                self.offer(cell.x as usize, cell.y as usize, leg);
            }
        }
    }

    /// To the ends of the grid and back.
    fn spread(&mut self) {
        let (nu, nv) = (self.grid.nu, self.grid.nv);
        for j in 0..nv {
            (0..nu).for_each(|i| self.take(i, j, &[(-1, 0), (-1, -1), (0, -1), (1, -1)]));
            (0..nu).rev().for_each(|i| self.take(i, j, &[(1, 0)]));
        }
        for j in (0..nv).rev() {
            (0..nu).rev().for_each(|i| self.take(i, j, &[(1, 0), (1, 1), (0, 1), (-1, 1)]));
            (0..nu).for_each(|i| self.take(i, j, &[(-1, 0)]));
        }
    }

    fn take(&mut self, i: usize, j: usize, from: &[(isize, isize)]) {
        for (di, dj) in from {
            let (Some(a), Some(b)) = (i.checked_add_signed(*di), j.checked_add_signed(*dj)) else {
                continue;
            };
            if a < self.grid.nu && b < self.grid.nv {
                let leg = self.best[b * self.grid.nu + a].1;
                if leg != usize::MAX {
                    self.offer(i, j, leg);
                }
            }
        }
    }
}
