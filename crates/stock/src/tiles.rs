//! Moves of a leaning tool, one after the other: what each takes away, and how deep it reaches.
//!
//! A move of a finishing tool touches a few of the columns that lie below it. What is swept is convex,
//! so that the plane across its distance from a point has all of it on one side: one look at a tile of
//! columns tells most tiles that nothing of them is touched. The columns that are left are cut exactly
//! as [`Columns::cut`] does.

use crate::columns::Columns;
use crate::line::Sweep;
use geom::Vec3;
use rayon::prelude::*;

/// Columns along the side of a small tile, and small tiles along that of a large one.
const SIDE: usize = 8;
/// Rounding of a plane across a distance, mm.
const SLACK_MM: f64 = geom::tolerance::SOLVED_MM;

/// Tops that are swept no deeper than this along the normal are left where they are, mm: a tenth of a
/// micrometre is what neighbouring moves leave of each other's surface.
const GRAZED_MM: f64 = 1e-4;
/// Where the normal lies flatter than this a column would be changed by much more.
const STEEP: f64 = 0.1;
/// First step below the top of a column, mm.
const FIRST_STEP_MM: f64 = 0.05;

/// What a move takes away.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Taken {
    /// Material, mm³.
    pub volume_mm3: f64,
    /// How deep the middle of a piece of a column was inside what is swept, at most, mm.
    pub deepest_mm: f64,
    /// Columns that lose some of it.
    pub columns: usize,
}

/// Highest tops of the columns of each tile; of a stock that only loses material. Columns along x and y are
/// seen in the frame `(u, v, w)` of their grid, in which they stand upright.
#[derive(Debug, Clone, PartialEq)]
pub struct Tiles {
    small: Vec<f64>,
    large: Vec<f64>,
    /// Small tiles along u.
    small_nu: usize,
    large_nu: usize,
}

/// A piece of a column that is swept.
#[derive(Debug, Clone, Copy)]
struct Piece {
    i: usize,
    j: usize,
    from: f64,
    to: f64,
}

/// Half-open ranges of columns, rows or tiles.
type Window = ([usize; 2], [usize; 2]);

impl Tiles {
    /// Of a stock in columns.
    pub fn of(stock: &Columns) -> Self {
        let grid = stock.grid();
        let (small_nu, small_nv) = (grid.nu.div_ceil(SIDE), grid.nv.div_ceil(SIDE));
        let (large_nu, large_nv) = (small_nu.div_ceil(SIDE), small_nv.div_ceil(SIDE));
        let mut out = Self {
            small: vec![0.0; small_nu * small_nv],
            large: vec![0.0; large_nu * large_nv],
            small_nu,
            large_nu,
        };
        for n in 0..small_nv {
            for m in 0..small_nu {
                out.small[n * small_nu + m] = top(stock, m, n);
            }
        }
        for k in 0..out.large.len() {
            out.settle(k);
        }
        out
    }

    /// Takes out what a body sweeps no point of which is farther from its tip than `reach_mm`.
    pub fn cut(&mut self, stock: &mut Columns, sweep: &Sweep<'_>, reach_mm: f64) -> Taken {
        let grid = *stock.grid();
        let [from, to, axis] = [sweep.from, sweep.to, sweep.axis].map(|p| grid.direction.turn(p));
        let sweep = &Sweep { body: sweep.body, from, to, axis };
        let (lo, hi) = (from.min(to) - reach_mm, from.max(to) + reach_mm);
        let (u, v) = (grid.u_range(lo.x, hi.x), grid.v_range(lo.y, hi.y));
        if u.0 >= u.1 || v.0 >= v.1 || lo.z > grid.w_hi_mm {
            return Taken::default();
        }
        let columns: Window = ([u.0, u.1], [v.0, v.1]);
        let small = self.touched(stock, sweep, over(columns));
        let pieces: Vec<Vec<Piece>> = small
            .par_iter()
            .with_min_len(4)
            .map(|&[m, n]| pieces(stock, sweep, [m, n], columns, (lo.z, hi.z)))
            .collect();
        let mut taken = Taken::default();
        for piece in pieces.iter().flatten() {
            let length = stock.take(piece.i, piece.j, piece.from, piece.to);
            taken.volume_mm3 += length * grid.spacing_mm * grid.spacing_mm;
            if length > 0.0 {
                taken.columns += 1;
                let middle = 0.5 * (piece.from + piece.to);
                let at = Vec3::new(grid.u_mm(piece.i), grid.v_mm(piece.j), middle);
                taken.deepest_mm = taken.deepest_mm.max(-sweep.distance(at).0);
            }
        }
        for ([m, n], _) in small.iter().zip(&pieces).filter(|(_, found)| !found.is_empty()) {
            self.small[n * self.small_nu + m] = top(stock, *m, *n);
            self.settle(n / SIDE * self.large_nu + m / SIDE);
        }
        taken
    }

    /// Highest of a large tile.
    fn settle(&mut self, k: usize) {
        let (m, n) = (k % self.large_nu * SIDE, k / self.large_nu * SIDE);
        let rows = self.small.chunks(self.small_nu).skip(n).take(SIDE);
        self.large[k] = rows
            .flat_map(|row| row[m..(m + SIDE).min(row.len())].iter().copied())
            .fold(f64::NEG_INFINITY, f64::max);
    }

    /// Small tiles that a sweep may touch, row by row.
    fn touched(&self, stock: &Columns, sweep: &Sweep<'_>, window: Window) -> Vec<[usize; 2]> {
        let mut out = Vec::new();
        let large = over(window);
        for n in large.1[0]..large.1[1] {
            for m in large.0[0]..large.0[1] {
                let top = self.large[n * self.large_nu + m];
                if is_clear(stock, sweep, [m, n], SIDE * SIDE, top) {
                    continue;
                }
                for b in (n * SIDE).max(window.1[0])..((n + 1) * SIDE).min(window.1[1]) {
                    for a in (m * SIDE).max(window.0[0])..((m + 1) * SIDE).min(window.0[1]) {
                        let top = self.small[b * self.small_nu + a];
                        if !is_clear(stock, sweep, [a, b], SIDE, top) {
                            out.push([a, b]);
                        }
                    }
                }
            }
        }
        out
    }
}

/// The tiles over a window.
fn over((a, b): Window) -> Window {
    let tiles = |[from, to]: [usize; 2]| [from / SIDE, to.div_ceil(SIDE)];
    (tiles(a), tiles(b))
}

/// Highest top of a small tile, mm; none: nothing is left.
fn top(stock: &Columns, m: usize, n: usize) -> f64 {
    let grid = stock.grid();
    let mut top = f64::NEG_INFINITY;
    for j in n * SIDE..((n + 1) * SIDE).min(grid.nv) {
        for i in m * SIDE..((m + 1) * SIDE).min(grid.nu) {
            top = stock.top_mm(i, j).map_or(top, |t| top.max(t));
        }
    }
    top
}

/// Whether nothing of a tile of `side` columns with tops up to `top` lies in what is swept.
fn is_clear(stock: &Columns, sweep: &Sweep<'_>, [m, n]: [usize; 2], side: usize, top: f64) -> bool {
    if top == f64::NEG_INFINITY {
        return true;
    }
    let grid = stock.grid();
    let half = 0.5 * grid.spacing_mm * side as f64;
    let u = grid.lo.x + half * (2 * m + 1) as f64;
    let v = grid.lo.y + half * (2 * n + 1) as f64;
    let (at, deep) = (Vec3::new(u, v, top), top - grid.lo.z);
    let (clear, normal) = beside(sweep, at);
    let aside = half * (normal.x.abs() + normal.y.abs());
    clear - aside - normal.z.max(0.0) * deep > SLACK_MM || is_beyond(sweep, at, (half, deep))
}

/// Whether nothing of a box, `half` to each side of `at` and `deep` below it, lies in what is swept: by
/// the plane across the distance from its middle, or halves of it alike.
fn is_beyond(sweep: &Sweep<'_>, at: Vec3, (half, deep): (f64, f64)) -> bool {
    let low = 0.5 * deep;
    let (clear, normal) = beside(sweep, at - Vec3::Z * low);
    let aside = half * (normal.x.abs() + normal.y.abs());
    if clear - aside - normal.z.abs() * low > SLACK_MM {
        return true;
    }
    let halves = [(at, low), (at - Vec3::Z * low, low)];
    let may = low > half && clear > -aside;
    may && halves.into_iter().all(|(at, deep)| is_beyond(sweep, at, (half, deep)))
}

/// How far a point lies at least from what is swept, mm, negative inside; and the normal there.
///
/// The body in the middle of the move lies on one side of the plane across its distance from the point,
/// and the sweep no farther than half the move beyond.
fn beside(sweep: &Sweep<'_>, at: Vec3) -> (f64, Vec3) {
    let middle = 0.5 * (sweep.from + sweep.to);
    let (value, normal) = sweep.body.at_with_gradient(middle, sweep.axis, at);
    (value - 0.5 * (sweep.to - sweep.from).dot(normal).abs(), normal)
}

/// Where a column that reaches up to `top` is swept, as far as it is there.
fn swept(sweep: &Sweep<'_>, at: Vec3, top: f64, (lo, hi): (f64, f64)) -> Option<(f64, f64)> {
    let here = |t: f64| sweep.distance(at + Vec3::Z * t);
    let (value, gradient) = here(top);
    if value > 0.0 {
        // outside and nearer farther up: all that is swept lies over the top
        let below = gradient.z > 0.0;
        return below.then(|| sweep.interval(at, Vec3::Z, lo, hi)).flatten();
    }
    // the top is swept: the border is sought from a place not far below it
    let mut step = FIRST_STEP_MM - value;
    let mut outside = lo;
    while top - step > lo {
        let (value, gradient) = here(top - step);
        if value > 0.0 && gradient.z < 0.0 {
            outside = top - step;
            break;
        }
        step *= 2.0;
    }
    sweep.enter(at, Vec3::Z, outside, top).map(|from| (from, top))
}

/// What a sweep takes out of the columns of a small tile.
fn pieces(
    stock: &Columns,
    sweep: &Sweep<'_>,
    [m, n]: [usize; 2],
    (u, v): Window,
    (lo, hi): (f64, f64),
) -> Vec<Piece> {
    let grid = stock.grid();
    let mut out = Vec::new();
    for j in (n * SIDE).max(v[0])..((n + 1) * SIDE).min(v[1]) {
        for i in (m * SIDE).max(u[0])..((m + 1) * SIDE).min(u[1]) {
            let Some(top) = stock.top_mm(i, j) else { continue };
            let at = Vec3::new(grid.u_mm(i), grid.v_mm(j), 0.0);
            let (clear, normal) = beside(sweep, at + Vec3::Z * top);
            let grazes = clear > -GRAZED_MM && normal.z < -STEEP;
            if grazes || clear - normal.z.max(0.0) * (top - grid.lo.z) > SLACK_MM {
                continue;
            }
            let found = swept(sweep, at, top, (lo, hi));
            out.extend(found.map(|(from, to)| Piece { i, j, from, to }));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::columns::reach;
    use crate::grid::{Direction, Grid};
    use cutter::{Cutter, CutterSpec, Form};

    fn stock() -> Columns {
        let bounds = (Vec3::ZERO, Vec3::new(40.0, 25.0, 12.0));
        let grid = Grid::over(bounds, 0.25, Direction::Z).unwrap();
        // a wave with an empty patch
        Columns::filled(grid, |u, v| {
            let top = 9.0 + 2.0 * (0.4 * u).sin() * (0.3 * v).cos();
            if (u - 30.0).hypot(v - 5.0) < 3.0 { Vec::new() } else { vec![(0.0, top)] }
        })
    }

    fn ball() -> Cutter {
        let mut spec = CutterSpec::new(Form::Ball, 6.0);
        spec.flute_length_mm = Some(15.0);
        Cutter::new(&spec).unwrap()
    }

    #[test]
    fn tiles_cut_what_columns_cut() {
        let cutter = ball();
        let profile = cutter.profile();
        let (mut by_tiles, mut plain) = (stock(), stock());
        let mut tiles = Tiles::of(&by_tiles);
        let mut taken = 0.0;
        for k in 0..60 {
            let x = f64::from(k);
            let at = |x: f64| Vec3::new(2.0 + 0.6 * x, 4.0 + 0.27 * x, 7.0 + (0.5 * x).sin());
            let lean = Vec3::new((0.7 * x).sin(), (0.4 * x).cos(), 0.3 + 0.2 * (k % 4) as f64);
            let sweep = Sweep {
                body: profile.kernel(),
                from: at(x),
                to: at(x + 1.0),
                axis: lean.normalize(),
            };
            let before = plain.volume_mm3();
            plain.cut(&sweep, reach(profile));
            let here = tiles.cut(&mut by_tiles, &sweep, reach(profile));
            // derived: a cell of the body's shadow, 6 by 15 mm, grazed; heights in single precision
            let film = GRAZED_MM / STEEP * 6.0 * 15.0;
            assert!((here.volume_mm3 - (before - plain.volume_mm3())).abs() < film, "{k}");
            assert!(here.deepest_mm <= 3.0 + 1e-9);
            taken += here.volume_mm3;
        }
        assert!(taken > 100.0, "{taken}");
        // what was only grazed is left
        let most = GRAZED_MM / STEEP + 1e-5;
        for j in 0..plain.grid().nv {
            for i in 0..plain.grid().nu {
                let (a, b) = (by_tiles.intervals_mm(i, j), plain.intervals_mm(i, j));
                assert_eq!(a.len(), b.len(), "{i} {j}");
                for (a, b) in a.iter().zip(&b) {
                    assert!((a.0 - b.0).abs() < most && (a.1 - b.1).abs() < most, "{i} {j}");
                }
            }
        }
        assert_eq!(tiles, Tiles::of(&by_tiles), "tops follow the cut");
    }

    #[test]
    fn a_move_over_the_stock_takes_nothing() {
        let cutter = ball();
        let mut stock = stock();
        let mut tiles = Tiles::of(&stock);
        let sweep = Sweep {
            body: cutter.profile().kernel(),
            from: Vec3::new(5.0, 5.0, 11.5),
            to: Vec3::new(35.0, 20.0, 11.5),
            axis: Vec3::new(0.1, 0.0, 1.0).normalize(),
        };
        assert_eq!(tiles.cut(&mut stock, &sweep, reach(cutter.profile())), Taken::default());
    }
}
