//! A square grid of nodes, and values on it.

use geom::Vec2;

/// Where the nodes lie.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Grid {
    pub(crate) origin: Vec2,
    pub(crate) cell_mm: f64,
    /// Cells per mm.
    per_mm: f64,
    pub(crate) nx: usize,
    pub(crate) ny: usize,
}

impl Grid {
    /// Nodes over a box.
    pub(crate) fn over(lo: Vec2, hi: Vec2, cell_mm: f64) -> Self {
        let n = ((hi - lo) / cell_mm).ceil();
        Self {
            origin: lo,
            cell_mm,
            per_mm: 1.0 / cell_mm,
            nx: n.x as usize + 2,
            ny: n.y as usize + 2,
        }
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
        span(lo - self.origin.y, hi - self.origin.y, self.per_mm, self.ny)
    }

    /// Columns that a band covers.
    pub(crate) fn columns(&self, lo: f64, hi: f64) -> std::ops::Range<usize> {
        span(lo - self.origin.x, hi - self.origin.x, self.per_mm, self.nx)
    }
}

/// Nodes in an interval; casts instead of calls to ceil and floor.
fn span(lo: f64, hi: f64, per_mm: f64, n: usize) -> std::ops::Range<usize> {
    let at = (lo * per_mm).max(0.0).min(n as f64);
    let whole = at as usize;
    let first = if whole as f64 >= at { whole } else { whole + 1 };
    let last = (hi * per_mm + 1.0).max(0.0).min(n as f64) as usize;
    first..last.max(first)
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
        let most = Vec2::new((g.nx - 1) as f64, (g.ny - 1) as f64) - 1e-9;
        let at = ((p - g.origin) * g.per_mm).max(Vec2::ZERO).min(most);
        let (i, j) = (at.x as u32, at.y as u32);
        let (u, v) = ((at.x - f64::from(i)) as f32, (at.y - f64::from(j)) as f32);
        let k = j as usize * g.nx + i as usize;
        let rows = &self.values[k..k + g.nx + 2];
        let low = rows[0] + (rows[1] - rows[0]) * u;
        let high = rows[g.nx] + (rows[g.nx + 1] - rows[g.nx]) * u;
        f64::from(low + (high - low) * v)
    }

    /// Slope at a point, by differences over a cell.
    pub(crate) fn slope(&self, p: Vec2) -> Vec2 {
        let h = 0.5 * self.grid.cell_mm;
        let (x, y) = (Vec2::new(h, 0.0), Vec2::new(0.0, h));
        Vec2::new(self.at(p + x) - self.at(p - x), self.at(p + y) - self.at(p - y)) / (2.0 * h)
    }
}
