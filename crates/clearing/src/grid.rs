//! A square grid of nodes, and values on it.

use geom::Vec2;

/// Where the nodes lie.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Grid {
    pub(crate) origin: Vec2,
    pub(crate) cell_mm: f64,
    pub(crate) nx: usize,
    pub(crate) ny: usize,
}

impl Grid {
    /// Nodes over a box.
    pub(crate) fn over(lo: Vec2, hi: Vec2, cell_mm: f64) -> Self {
        let n = ((hi - lo) / cell_mm).ceil();
        Self { origin: lo, cell_mm, nx: n.x as usize + 2, ny: n.y as usize + 2 }
    }

    pub(crate) fn len(&self) -> usize {
        self.nx * self.ny
    }

    pub(crate) fn node(&self, i: usize, j: usize) -> Vec2 {
        self.origin + Vec2::new(i as f64, j as f64) * self.cell_mm
    }

    pub(crate) fn place(&self, index: usize) -> Vec2 {
        self.node(index % self.nx, index / self.nx)
    }

    /// Rows that a band of heights covers.
    pub(crate) fn rows(&self, lo: f64, hi: f64) -> std::ops::Range<usize> {
        span(lo - self.origin.y, hi - self.origin.y, self.cell_mm, self.ny)
    }

    /// Columns that a band covers.
    pub(crate) fn columns(&self, lo: f64, hi: f64) -> std::ops::Range<usize> {
        span(lo - self.origin.x, hi - self.origin.x, self.cell_mm, self.nx)
    }
}

fn span(lo: f64, hi: f64, cell: f64, n: usize) -> std::ops::Range<usize> {
    let first = (lo / cell).ceil().max(0.0) as usize;
    let last = ((hi / cell).floor() + 1.0).max(0.0) as usize;
    let first = first.min(n);
    first..last.min(n).max(first)
}

/// A value at each node, straight in between.
#[derive(Debug, Clone)]
pub(crate) struct Field {
    pub(crate) grid: Grid,
    pub(crate) values: Vec<f32>,
}

impl Field {
    /// The value at a point; off the grid that of its rim.
    #[inline]
    pub(crate) fn at(&self, p: Vec2) -> f64 {
        let g = &self.grid;
        let x = ((p.x - g.origin.x) / g.cell_mm).max(0.0).min((g.nx - 1) as f64 - 1e-9);
        let y = ((p.y - g.origin.y) / g.cell_mm).max(0.0).min((g.ny - 1) as f64 - 1e-9);
        let (i, j) = (x as usize, y as usize);
        let (u, v) = (x - i as f64, y - j as f64);
        let k = j * g.nx + i;
        let below = &self.values[k..k + 2];
        let above = &self.values[k + g.nx..k + g.nx + 2];
        let low = f64::from(below[0]) * (1.0 - u) + f64::from(below[1]) * u;
        let high = f64::from(above[0]) * (1.0 - u) + f64::from(above[1]) * u;
        low * (1.0 - v) + high * v
    }

    /// Slope at a point, by differences over a cell.
    pub(crate) fn slope(&self, p: Vec2) -> Vec2 {
        let h = 0.5 * self.grid.cell_mm;
        let (x, y) = (Vec2::new(h, 0.0), Vec2::new(0.0, h));
        Vec2::new(self.at(p + x) - self.at(p - x), self.at(p + y) - self.at(p - y)) / (2.0 * h)
    }
}
