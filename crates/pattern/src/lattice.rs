//! A regular grid of chart points with the surface at each, for fields over the feature.

use geom::{Vec2, Vec3};
use rayon::prelude::*;

use crate::chart::{Chart, Spot};

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
        let place = |k: usize| origin + cell * Vec2::new((k % size[0]) as f64, (k / size[0]) as f64);
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

    /// Chart point of a node.
    pub(crate) fn place(&self, node: usize) -> Vec2 {
        let at = Vec2::new((node % self.size[0]) as f64, (node / self.size[0]) as f64);
        self.origin + self.cell * at
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
        let mut sum = 0.0;
        for (n, wj) in wy.into_iter().enumerate() {
            let row = offset(j, n, self.size[1]) * self.size[0];
            for (m, wi) in wx.into_iter().enumerate() {
                sum += wi * wj * field[row + offset(i, m, self.size[0])];
            }
        }
        sum
    }
}

fn split(at: f64, n: usize) -> (usize, f64) {
    let i = at.floor().clamp(0.0, (n - 2) as f64);
    (i as usize, (at - i).clamp(0.0, 1.0))
}

fn offset(i: usize, m: usize, n: usize) -> usize {
    (i + m).saturating_sub(1).min(n - 1)
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
