//! Where columns stand: a rectangular lattice across one axis of the part's frame.

use crate::error::StockError;
use geom::Vec3;

/// Largest number of columns of one direction (1 GB at 8 bytes each is 1.3e8).
const MOST: f64 = 1.2e8;

/// The axis along which columns run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Direction {
    /// Along x.
    X,
    /// Along y.
    Y,
    /// Along z.
    Z,
}

impl Direction {
    /// Numbers of the axes `(u, v, w)`: two across the columns, then along; right-handed.
    pub fn axes(self) -> [usize; 3] {
        match self {
            Direction::X => [1, 2, 0],
            Direction::Y => [2, 0, 1],
            Direction::Z => [0, 1, 2],
        }
    }

    /// A point of the part's frame as `(u, v, w)`.
    pub fn turn(self, p: Vec3) -> Vec3 {
        let [u, v, w] = self.axes();
        Vec3::new(p[u], p[v], p[w])
    }
}

/// A lattice of columns through the middles of square cells.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grid {
    /// The axis along which columns run.
    pub direction: Direction,
    /// Corner of the first cell and lower end of the columns, as `(u, v, w)`, mm.
    pub lo: Vec3,
    /// Upper end of the columns, mm.
    pub w_hi_mm: f64,
    /// Width of a cell, mm.
    pub spacing_mm: f64,
    /// Columns along u.
    pub nu: usize,
    /// Columns along v.
    pub nv: usize,
}

impl Grid {
    /// A lattice over a box of the part's frame. Where its sides are no multiple of the spacing the
    /// last cells reach past it.
    ///
    /// # Errors
    /// A box without inside, a spacing that is not positive, too many columns.
    pub fn over(
        (lo, hi): (Vec3, Vec3),
        spacing_mm: f64,
        direction: Direction,
    ) -> Result<Self, StockError> {
        if !(spacing_mm > 0.0) || !spacing_mm.is_finite() {
            return Err(StockError::Spacing { spacing_mm });
        }
        for (k, axis) in ['x', 'y', 'z'].into_iter().enumerate() {
            if !(hi[k] > lo[k]) || !(hi[k] - lo[k]).is_finite() {
                return Err(StockError::Empty { axis, lo_mm: lo[k], hi_mm: hi[k] });
            }
        }
        let (lo, hi) = (direction.turn(lo), direction.turn(hi));
        let count = |a: f64| (a / spacing_mm - 1e-6).ceil().max(1.0);
        let (nu, nv) = (count(hi.x - lo.x), count(hi.y - lo.y));
        if nu * nv > MOST {
            return Err(StockError::TooFine { columns: nu * nv, spacing_mm, most: MOST });
        }
        Ok(Self { direction, lo, w_hi_mm: hi.z, spacing_mm, nu: nu as usize, nv: nv as usize })
    }

    /// u of column `i`, mm.
    pub fn u_mm(&self, i: usize) -> f64 {
        self.lo.x + (i as f64 + 0.5) * self.spacing_mm
    }

    /// v of row `j`, mm.
    pub fn v_mm(&self, j: usize) -> f64 {
        self.lo.y + (j as f64 + 0.5) * self.spacing_mm
    }

    /// Cells whose middles lie in `[from, to]` along u, as a half-open range.
    pub(crate) fn u_range(&self, from: f64, to: f64) -> (usize, usize) {
        range(from - self.lo.x, to - self.lo.x, self.spacing_mm, self.nu)
    }

    /// Rows whose middles lie in `[from, to]` along v, as a half-open range.
    pub(crate) fn v_range(&self, from: f64, to: f64) -> (usize, usize) {
        range(from - self.lo.y, to - self.lo.y, self.spacing_mm, self.nv)
    }
}

fn range(from: f64, to: f64, spacing: f64, n: usize) -> (usize, usize) {
    // a middle that lies on an end to within rounding is in
    let slack = geom::tolerance::COINCIDENT_MM * 1e-3 / spacing;
    let past = |t: f64| if t > 0.0 { (t as usize).min(n) } else { 0 };
    let t = from / spacing - 0.5 - slack;
    let whole = past(t);
    // the first middle not below `from`; casts instead of calls to ceil and floor
    let first = if whole as f64 >= t { whole } else { whole + 1 };
    let past = past(to / spacing + 0.5 + slack);
    (first, past.max(first))
}
