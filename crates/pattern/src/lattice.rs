//! A regular grid of chart points with the surface at each, for fields over the feature.

use geom::{Vec2, Vec3};
use rayon::prelude::*;

use crate::chart::{Chart, Spot};
use crate::curve::Curve;

/// The grid: node `(i, j)` stands at `origin + (i, j) · cell`.
pub(crate) struct Lattice {
    /// Chart point of node (0, 0).
    pub(crate) origin: Vec2,
    /// Spacing along both chart coordinates.
    pub(crate) cell: Vec2,
    /// Nodes along both coordinates.
    pub(crate) size: [usize; 2],
    /// The surface at each node, row by row; outside the feature that of the nearest inside node.
    pub(crate) spots: Vec<Option<Spot>>,
    /// Whether the node lies on the feature.
    pub(crate) inside: Vec<bool>,
}

impl Lattice {
    /// About `across` cells over the longer side of the feature, cells nearly square on the surface,
    /// with `margin` more nodes all round.
    pub(crate) fn over(chart: &dyn Chart, across: usize, margin: usize) -> Self {
        let (lo, hi) = chart.bounds();
        let span = hi - lo;
        let scale = mean_scale(chart);
        let mm = span * scale;
        let step_mm = mm.max_element() / across as f64;
        let cells = (mm / step_mm).ceil().max(Vec2::splat(4.0));
        let cell = span / cells;
        let size = [cells.x as usize + 1 + 2 * margin, cells.y as usize + 1 + 2 * margin];
        let origin = lo - cell * margin as f64;
        let place =
            |k: usize| origin + cell * Vec2::new((k % size[0]) as f64, (k / size[0]) as f64);
        let mut spots: Vec<Option<Spot>> =
            (0..size[0] * size[1]).into_par_iter().map(|k| chart.at(place(k))).collect();
        let inside: Vec<bool> = spots.iter().map(Option::is_some).collect();
        let source = nearest_inside(size, &inside);
        for k in 0..spots.len() {
            if spots[k].is_none()
                && let Some(Some(near)) = source[k].map(|m| spots[m])
            {
                spots[k] = Some(Spot { q: place(k), ..near });
            }
        }
        Self { origin, cell, size, spots, inside }
    }

    /// Longer side of the box that holds the feature, about, mm.
    pub(crate) fn longer_side_mm(chart: &dyn Chart) -> f64 {
        let (lo, hi) = chart.bounds();
        ((hi - lo) * mean_scale(chart)).max_element()
    }

    /// Chart point of a node.
    pub(crate) fn place(&self, node: usize) -> Vec2 {
        let at = Vec2::new((node % self.size[0]) as f64, (node / self.size[0]) as f64);
        self.origin + self.cell * at
    }

    /// The node nearest to a chart point; `None` off the grid.
    pub(crate) fn nearest(&self, q: Vec2) -> Option<usize> {
        let at = ((q - self.origin) / self.cell).round();
        let within = |x: f64, n: usize| x >= 0.0 && x < n as f64;
        (within(at.x, self.size[0]) && within(at.y, self.size[1]))
            .then(|| at.y as usize * self.size[0] + at.x as usize)
    }

    /// Nodes on the feature with their spots.
    pub(crate) fn feature(&self) -> impl Iterator<Item = (usize, &Spot)> {
        self.spots
            .iter()
            .enumerate()
            .filter(|(k, _)| self.inside[*k])
            .filter_map(|(k, s)| s.as_ref().map(|s| (k, s)))
    }

    /// Surface area that a node stands for, mm².
    pub(crate) fn node_area_mm2(&self, spot: &Spot) -> f64 {
        spot.area_factor() * self.cell.x * self.cell.y
    }

    /// Share of the cells round a node that lie on the feature, by its neighbours: 1 inside.
    pub(crate) fn share(&self, node: usize) -> f64 {
        let (i, j) = ((node % self.size[0]) as i64, (node / self.size[0]) as i64);
        let inside = |di: i64, dj: i64| {
            let (a, b) = (i + di, j + dj);
            let within = a >= 0 && b >= 0 && a < self.size[0] as i64 && b < self.size[1] as i64;
            within && self.inside[b as usize * self.size[0] + a as usize]
        };
        let corner = |di, dj| f64::from(u8::from(inside(di, 0) && inside(0, dj) && inside(di, dj)));
        0.25 * (corner(1, 1) + corner(1, -1) + corner(-1, 1) + corner(-1, -1))
    }

    /// Mean spacing of the nodes on the surface, mm.
    pub(crate) fn step_mm(&self) -> f64 {
        let (mut sum, mut count) = (0.0, 0.0);
        for (_, s) in self.feature() {
            sum += (s.area_factor() * self.cell.x * self.cell.y).sqrt();
            count += 1.0;
        }
        if count > 0.0 { sum / count } else { self.cell.max_element() }
    }

    /// Step of a curve's parameter at which the border of the feature is looked for: half a cell.
    pub(crate) fn line_step(&self, curve: &Curve) -> f64 {
        let (_, slope) = curve.at(0.5 * curve.end());
        0.5 / (slope / self.cell).length().max(f64::MIN_POSITIVE)
    }

    /// Gradient of a nodal field at a node, per chart unit, by central differences of the fourth
    /// order, lower beside the edge.
    pub(crate) fn gradient(&self, field: &[f64], node: usize) -> Vec2 {
        let (i, j) = (node % self.size[0], node / self.size[0]);
        let x = slope(i, self.size[0], |m| field[j * self.size[0] + m]);
        let y = slope(j, self.size[1], |m| field[m * self.size[0] + i]);
        Vec2::new(x, y) / self.cell
    }

    /// Value of a nodal field at a chart point by cubic convolution, held at the edge.
    pub(crate) fn value(&self, field: &[f64], q: Vec2) -> f64 {
        let at = (q - self.origin) / self.cell;
        let (i, fx) = split(at.x, self.size[0]);
        let (j, fy) = split(at.y, self.size[1]);
        let (wx, wy) = (cubic(fx), cubic(fy));
        let row = |m: usize| {
            let four = four_in_line(i, self.size[0], |n| field[m * self.size[0] + n]);
            dot(wx, four)
        };
        dot(wy, four_in_line(j, self.size[1], row))
    }
}

fn dot(a: [f64; 4], b: [f64; 4]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2] + a[3] * b[3]
}

/// Values at `i - 1` to `i + 2` of `n` in line; beyond an end, or where a value is not finite, the
/// straight continuation of the two in the middle.
pub(crate) fn four_in_line(i: usize, n: usize, value: impl Fn(usize) -> f64) -> [f64; 4] {
    let (b, c) = (value(i), value(i + 1));
    let a = if i > 0 { value(i - 1) } else { f64::NAN };
    let d = if i + 2 < n { value(i + 2) } else { f64::NAN };
    let or = |v: f64, other: f64| if v.is_finite() { v } else { other };
    [or(a, 2.0 * b - c), b, c, or(d, 2.0 * c - b)]
}

fn split(at: f64, n: usize) -> (usize, f64) {
    let i = at.floor().clamp(0.0, (n - 2) as f64);
    (i as usize, (at - i).clamp(0.0, 1.0))
}

/// Weights of the cubic convolution (Catmull–Rom) on four nodes round `f` in [0, 1].
pub(crate) fn cubic(f: f64) -> [f64; 4] {
    let (g, h) = (f * f, f * f * f);
    [
        0.5 * (-f + 2.0 * g - h),
        0.5 * (2.0 - 5.0 * g + 3.0 * h),
        0.5 * (f + 4.0 * g - 3.0 * h),
        0.5 * (h - g),
    ]
}

fn slope(i: usize, n: usize, at: impl Fn(usize) -> f64) -> f64 {
    if i >= 2 && i + 2 < n {
        (8.0 * (at(i + 1) - at(i - 1)) - (at(i + 2) - at(i - 2))) / 12.0
    } else if i >= 1 && i + 1 < n {
        0.5 * (at(i + 1) - at(i - 1))
    } else if i == 0 {
        at(1) - at(0)
    } else {
        at(i) - at(i - 1)
    }
}

/// For every node the nearest inside node, by fronts from all of them at once.
fn nearest_inside(size: [usize; 2], inside: &[bool]) -> Vec<Option<usize>> {
    let mut source: Vec<Option<usize>> =
        inside.iter().enumerate().map(|(k, yes)| yes.then_some(k)).collect();
    let mut queue: std::collections::VecDeque<usize> =
        (0..inside.len()).filter(|k| inside[*k]).collect();
    while let Some(k) = queue.pop_front() {
        for m in neighbours(size, k) {
            if source[m].is_none() {
                source[m] = source[k];
                queue.push_back(m);
            }
        }
    }
    source
}

/// The up to four nodes beside a node.
pub(crate) fn neighbours(size: [usize; 2], node: usize) -> impl Iterator<Item = usize> {
    let (i, j) = (node % size[0], node / size[0]);
    [
        (i > 0).then(|| node - 1),
        (i + 1 < size[0]).then(|| node + 1),
        (j > 0).then(|| node - size[0]),
        (j + 1 < size[1]).then(|| node + size[0]),
    ]
    .into_iter()
    .flatten()
}

/// Mean length on the surface of a unit step along each chart coordinate, mm.
fn mean_scale(chart: &dyn Chart) -> Vec2 {
    const PROBES: usize = 24;
    let (lo, hi) = chart.bounds();
    let (mut sum, mut count) = (Vec2::ZERO, 0.0);
    for k in 0..PROBES * PROBES {
        let f = Vec2::new((k % PROBES) as f64 + 0.5, (k / PROBES) as f64 + 0.5) / PROBES as f64;
        if let Some(s) = chart.at(lo + (hi - lo) * f) {
            sum += Vec2::new(length(s.da), length(s.db));
            count += 1.0;
        }
    }
    if count > 0.0 { sum / count } else { Vec2::ONE }
}

fn length(v: Vec3) -> f64 {
    v.length()
}
