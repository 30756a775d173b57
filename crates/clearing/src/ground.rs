//! The material at the level while it is cut, and the cutter's contact with it.
//!
//! Each node of a grid holds by how much it lies inside the material: its depth in the stock or its
//! distance to the path beyond the cutter's radius, whichever is less. Both are exact at the nodes,
//! so that the border of the material in between is known to about `cell² / 8R`.

use crate::distance::signed;
use crate::grid::{Field, Grid};
use geom::Vec2;
use geom::segment::distance_in_plane;
use planar::Region;
use std::collections::VecDeque;
use std::f64::consts::{FRAC_PI_2, PI};

/// Samples over the leading half of the cutter.
const SAMPLES: usize = 37;

/// The cutter's contact with the material, seen along the feed.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(crate) struct Contact {
    /// Sum of the arcs in the material on the leading half, rad.
    pub(crate) arc_rad: f64,
    /// Area cut per length of path, mm.
    pub(crate) width_mm: f64,
    /// Whether there is material at the end of the leading half from which it is seen.
    pub(crate) beside: bool,
}

/// Side of the feed on which the material lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Side {
    Right,
    Left,
}

impl Side {
    /// 1 for turns and sides as they are with the material on the right, −1 mirrored.
    pub(crate) fn sign(self) -> f64 {
        match self {
            Self::Right => 1.0,
            Self::Left => -1.0,
        }
    }
}

/// The material, and a cutter in it.
#[derive(Debug, Clone)]
pub(crate) struct Ground {
    pub(crate) field: Field,
    pub(crate) radius_mm: f64,
    /// Longest step that [`Ground::cut`] may take, mm.
    pub(crate) step_mm: f64,
    /// Less than this is not material, mm.
    noise_mm: f64,
    /// Depth under the cutter's edge at which nodes need not be met again, mm.
    band_mm: f64,
    directions: Vec<Vec2>,
    /// Steps that are not yet taken out of the grid.
    recent: VecDeque<(Vec2, Vec2)>,
}

impl Ground {
    /// The stock, not yet cut.
    pub(crate) fn new(stock: &Region, grid: Grid, radius_mm: f64, step_mm: f64) -> Self {
        let field = signed(stock, grid, 4.0 * grid.cell_mm);
        let angle = |i: usize| PI * i as f64 / (SAMPLES - 1) as f64 - FRAC_PI_2;
        let directions = (0..SAMPLES).map(|i| Vec2::from_angle(angle(i))).collect();
        // a chord of the border within a cell leaves it by `cell² / 8R`
        let noise_mm = 1.5 * grid.cell_mm * grid.cell_mm / (8.0 * radius_mm);
        let band_mm = (2.0 * grid.cell_mm).max(1.2 * step_mm);
        let recent = VecDeque::new();
        Self { field, radius_mm, step_mm, noise_mm, band_mm, directions, recent }
    }

    /// Contact of the cutter standing at `c` and fed along the unit vector `feed`, from its right end.
    pub(crate) fn contact(&self, c: Vec2, feed: Vec2) -> Contact {
        self.contact_from(c, feed, Side::Right)
    }

    /// Contact seen from the side on which the material lies.
    pub(crate) fn contact_from(&self, c: Vec2, feed: Vec2, side: Side) -> Contact {
        // across the feed, away from the material
        let away = feed.perp() * side.sign();
        let depth = |d: Vec2| self.depth(c + (feed * d.x + away * d.y) * self.radius_mm);
        let pitch = PI / (SAMPLES - 1) as f64;
        let angle = |t: f64| pitch * t - FRAC_PI_2;
        let mut out = Contact::default();
        let mut last = depth(self.directions[0]);
        out.beside = last > 0.0;
        for i in 1..SAMPLES {
            let next = depth(self.directions[i]);
            if last > 0.0 || next > 0.0 {
                let (mut from, mut to) = ((i - 1) as f64, i as f64);
                if (last > 0.0) != (next > 0.0) {
                    let between = |t: f64| {
                        let turn = small_turn(pitch * (t - from));
                        depth(self.directions[i - 1].rotate(turn))
                    };
                    let cross = crossing((from, last), (to, next), &between);
                    if last > 0.0 { to = cross } else { from = cross }
                }
                out.arc_rad += (to - from) * pitch;
                let sine = |t: f64| match self.directions.get(t as usize) {
                    Some(d) if t == t as usize as f64 => d.y,
                    _ => angle(t).sin(),
                };
                out.width_mm += self.radius_mm * (sine(to) - sine(from));
            }
            last = next;
        }
        out
    }

    /// How deep a point lies in the material, the last steps taken out.
    #[inline]
    fn depth(&self, p: Vec2) -> f64 {
        let depth = self.field.at(p) - self.noise_mm;
        if depth <= 0.0 || self.recent.is_empty() {
            return depth;
        }
        let swept =
            self.recent.iter().map(|(a, b)| distance_in_plane(p, [*a, *b]) - self.radius_mm);
        swept.fold(depth, f64::min)
    }

    /// Takes out what the cutter sweeps on a straight step, its start being taken out already. The
    /// last steps are kept apart: between a fresh wall and an old border the material thins out
    /// more sharply than the grid can tell.
    pub(crate) fn cut(&mut self, a: Vec2, b: Vec2) {
        self.recent.push_back((a, b));
        let mut behind: f64 = self.recent.iter().map(|(a, b)| a.distance(*b)).sum();
        while let Some(&(a, b)) = self.recent.front() {
            behind -= a.distance(b);
            if behind < 2.0 * self.field.grid.cell_mm {
                break;
            }
            self.recent.pop_front();
            self.take_out(a, b);
        }
    }

    /// Takes out the last steps: the cutter goes elsewhere.
    pub(crate) fn settle(&mut self) {
        while let Some((a, b)) = self.recent.pop_front() {
            self.take_out(a, b);
        }
    }

    fn take_out(&mut self, a: Vec2, b: Vec2) {
        let longest = 0.9 * self.band_mm;
        let pieces = ((b - a).length() / longest).ceil().max(1.0) as usize;
        for k in 0..pieces {
            let at = |k: usize| a + (b - a) * (k as f64 / pieces as f64);
            self.sweep(at(k), at(k + 1));
        }
    }

    /// Takes out all under the cutter at a place.
    pub(crate) fn sink(&mut self, c: Vec2) {
        let grid = self.field.grid;
        let outer = self.radius_mm + 2.0 * grid.cell_mm;
        for j in grid.rows(c.y - outer, c.y + outer) {
            for i in grid.columns(c.x - outer, c.x + outer) {
                let d = grid.node(i, j).distance(c) - self.radius_mm;
                let value = &mut self.field.values[j * grid.nx + i];
                *value = value.min(d as f32);
            }
        }
    }

    /// A short step. Nodes nearest to its start were met in coming there, and those deep under the
    /// cutter before.
    fn sweep(&mut self, a: Vec2, b: Vec2) {
        let Some(feed) = (b - a).try_normalize() else { return };
        let grid = self.field.grid;
        let length = (b - a).length();
        let outer = self.radius_mm + 2.0 * grid.cell_mm;
        let inner = self.radius_mm - self.band_mm;
        let (cell, long, radius) = (grid.cell_mm as f32, length as f32, self.radius_mm as f32);
        for j in grid.rows(a.y.min(b.y) - outer, a.y.max(b.y) + outer) {
            let y = grid.node(0, j).y;
            let off = (y - b.y.max(a.y)).max(a.y.min(b.y) - y).max(0.0);
            let half = (outer * outer - off * off).max(0.0).sqrt();
            let (mut lo, mut hi) = (a.x.min(b.x) - half, a.x.max(b.x) + half);
            // ahead of the start
            let level = a.x - (y - a.y) * feed.y / feed.x;
            if feed.x > 1e-9 {
                lo = lo.max(level);
            } else if feed.x < -1e-9 {
                hi = hi.min(level);
            } else if (y - a.y) * feed.y < 0.0 {
                continue;
            }
            let hole = (inner * inner - (y - b.y) * (y - b.y)).max(0.0).sqrt();
            let columns = grid.columns(lo, hi);
            let skip = grid.columns(b.x - hole, b.x + hole);
            let row = &mut self.field.values[j * grid.nx..(j + 1) * grid.nx];
            let first = columns.start..skip.start.max(columns.start).min(columns.end);
            let second = skip.end.max(columns.start).min(columns.end)..columns.end;
            for range in [first, second] {
                let from = grid.node(range.start, j) - a;
                let (x, y) = (from.x as f32, from.y as f32);
                let (fx, fy) = (feed.x as f32, feed.y as f32);
                for (i, value) in row[range].iter_mut().enumerate() {
                    let x = x + i as i32 as f32 * cell;
                    let t = x * fx + y * fy;
                    let t = if t > 0.0 { t } else { 0.0 };
                    let t = if t < long { t } else { long };
                    let (dx, dy) = (x - t * fx, y - t * fy);
                    let d = (dx * dx + dy * dy).sqrt() - radius;
                    *value = if d < *value { d } else { *value };
                }
            }
        }
    }

    /// Whether nothing thicker than `left_mm` stands under the cutter at a place.
    pub(crate) fn is_clear(&self, c: Vec2, left_mm: f64) -> bool {
        self.standing(c, left_mm).is_none()
    }

    /// Whether a node has material thicker than `left_mm`.
    pub(crate) fn stands(&self, node: usize, left_mm: f64) -> bool {
        f64::from(self.field.values[node]) > left_mm
    }

    /// A node under the cutter at a place that has material thicker than `left_mm`.
    pub(crate) fn standing(&self, c: Vec2, left_mm: f64) -> Option<usize> {
        let left = left_mm as f32;
        let reach = self.radius_mm - left_mm;
        let grid = &self.field.grid;
        for j in grid.rows(c.y - reach, c.y + reach) {
            let dy = grid.node(0, j).y - c.y;
            let half = (reach * reach - dy * dy).max(0.0).sqrt();
            let columns = grid.columns(c.x - half, c.x + half);
            if columns.is_empty() {
                continue;
            }
            let first = j * grid.nx + columns.start;
            let row = &self.field.values[first..j * grid.nx + columns.end];
            // all at once first: most rows are clear
            if row.iter().fold(false, |any, v| any | (*v > left)) {
                return row.iter().position(|v| *v > left).map(|k| first + k);
            }
        }
        None
    }

    /// Material that the grid cannot tell from none, mm.
    pub(crate) fn grain_mm(&self) -> f64 {
        self.field.grid.cell_mm * self.field.grid.cell_mm / self.radius_mm
    }

    /// Whether the cutter, clear where it stands, may go straight without meeting material thicker
    /// than `left_mm`.
    pub(crate) fn is_clear_along(&self, a: Vec2, b: Vec2, left_mm: f64) -> bool {
        let along = b - a;
        let Some(feed) = along.try_normalize() else { return true };
        let pieces = (along.length() / (0.1 * self.radius_mm)).ceil().max(1.0) as usize;
        (1..=pieces).all(|k| {
            let c = a + along * (k as f64 / pieces as f64);
            self.directions
                .iter()
                .step_by(2)
                .all(|d| self.field.at(c + feed.rotate(*d) * (self.radius_mm - left_mm)) < left_mm)
        })
    }

    /// Direction and distance from a clear place to the nearest material thicker than `left_mm`,
    /// within `reach_mm`.
    pub(crate) fn nearest(&self, c: Vec2, reach_mm: f64, left_mm: f64) -> Option<(Vec2, f64)> {
        let grid = &self.field.grid;
        let clear = 0.9 * self.radius_mm;
        let mut best: Option<(Vec2, f64)> = None;
        for j in grid.rows(c.y - reach_mm, c.y + reach_mm) {
            let dy = grid.node(0, j).y - c.y;
            let half = (reach_mm * reach_mm - dy * dy).max(0.0).sqrt();
            // under the cutter there is none
            let hole = (clear * clear - dy * dy).max(0.0).sqrt();
            let columns = grid.columns(c.x - half, c.x + half);
            let skip = grid.columns(c.x - hole, c.x + hole);
            let skip = if hole > 0.0 { skip } else { columns.end..columns.end };
            for i in (columns.start..skip.start).chain(skip.end..columns.end) {
                let depth = f64::from(self.field.values[j * grid.nx + i]);
                if depth <= left_mm {
                    continue;
                }
                let p = grid.node(i, j) - c;
                let d = p.length() - depth;
                if best.is_none_or(|(_, b)| d < b) {
                    best = Some((p, d));
                }
            }
        }
        best.and_then(|(p, d)| Some((p.try_normalize()?, d)))
    }
}

/// A turn by no more than the pitch of the samples, to 1e-9.
fn small_turn(angle: f64) -> Vec2 {
    let a = angle * angle;
    Vec2::new(1.0 - a * (0.5 - a / 24.0), angle * (1.0 - a * (1.0 / 6.0 - a / 120.0)))
}

/// Where a value changes its sign: thin material has a kink there, so halving comes first.
fn crossing(mut a: (f64, f64), mut b: (f64, f64), value: &dyn Fn(f64) -> f64) -> f64 {
    for _ in 0..3 {
        let t = 0.5 * (a.0 + b.0);
        let v = value(t);
        if (v > 0.0) == (a.1 > 0.0) { a = (t, v) } else { b = (t, v) }
    }
    a.0 + (b.0 - a.0) * (a.1 / (a.1 - b.1)).max(0.0).min(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    const R: f64 = 5.0;

    fn disk(r: f64) -> Vec<[f64; 2]> {
        (0..2880).map(|k| (Vec2::from_angle(f64::from(k) / 1440.0 * PI) * r).to_array()).collect()
    }

    fn grid() -> Grid {
        Grid::over(Vec2::splat(-40.0), Vec2::splat(40.0), 0.25)
    }

    fn arc_deg(stock: &Region, c: Vec2, feed: Vec2) -> f64 {
        Ground::new(stock, grid(), R, 0.4).contact(c, feed).arc_rad.to_degrees()
    }

    #[test]
    fn a_straight_wall_and_round_ones() {
        // derived: cosine rule in the triangle of the two middles and the place where the edge
        // leaves the stock; width of cut 1 mm. The finished wall stands as in a cut that goes on.
        let cell_deg = 0.3;
        let block = |y: f64| vec![[-30.0, -30.0], [30.0, -30.0], [30.0, y], [-30.0, y]];
        let straight = Region::of_loops(&[block(-4.0)]);
        assert!((arc_deg(&straight, Vec2::ZERO, Vec2::X) - 36.86990).abs() < cell_deg);
        let hollow = |finished: f64, want: f64| {
            let wall = Region::of_loops(&[block(30.0), disk(finished - 1.0)]);
            let got = arc_deg(&wall, Vec2::new(finished - R, 0.0), Vec2::Y);
            assert!((got - want).abs() < cell_deg, "{got} {want}");
        };
        hollow(20.0, 42.26858);
        hollow(8.0, 60.0);
        // a boss of 20 mm with 1 mm on it, clockwise so that it lies on the right
        let got = arc_deg(&Region::of_loops(&[disk(21.0)]), Vec2::new(25.0, 0.0), -Vec2::Y);
        assert!((got - 33.27989).abs() < cell_deg, "{got}");
    }

    #[test]
    fn short_steps_see_the_same_arc_as_long_ones() {
        // derived: width 1 mm straight, whatever the step
        for step in [0.4, 0.1, 0.03] {
            let block = Region::of_loops(&[vec![
                [-30.0, -30.0],
                [30.0, -30.0],
                [30.0, -4.0],
                [-30.0, -4.0],
            ]]);
            let mut ground = Ground::new(&block, grid(), R, 0.4);
            let mut at = Vec2::new(-35.0, 0.0);
            ground.sink(at);
            while at.x < 0.0 {
                let next = at + Vec2::X * step;
                let arc = ground.contact(next, Vec2::X).arc_rad.to_degrees();
                ground.cut(at, next);
                at = next;
                let far_in = at.x > -20.0;
                assert!(!far_in || (arc - 36.8699).abs() < 0.7, "step {step} at {}: {arc}", at.x);
            }
        }
    }
}
