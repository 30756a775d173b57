//! A stock as bytes and back: what is left is the stock of the next operation.

use crate::columns::Columns;
use crate::error::StockError;
use crate::grid::{Direction, Grid};
use geom::Vec3;

const MARK: &[u8; 8] = b"columns2";

impl Columns {
    /// All of it as bytes, little-endian: mark, grid, then for every column the number of its
    /// intervals, their ends over the lower end of the grid, from above, mm, and by how much the mean
    /// height of its cell lies over its own, mm.
    pub fn to_bytes(&self) -> Vec<u8> {
        let g = self.grid();
        let mut out = MARK.to_vec();
        out.push(g.direction as u8);
        for x in [g.lo.x, g.lo.y, g.lo.z, g.w_hi_mm, g.spacing_mm] {
            out.extend(x.to_le_bytes());
        }
        out.extend((g.nu as u64).to_le_bytes());
        out.extend((g.nv as u64).to_le_bytes());
        for (i, j) in (0..g.nv).flat_map(|j| (0..g.nu).map(move |i| (i, j))) {
            let list: Vec<[f32; 2]> = self.intervals(i, j).collect();
            out.extend((list.len() as u16).to_le_bytes());
            out.extend(list.iter().flatten().flat_map(|x| x.to_le_bytes()));
            out.extend(self.edge_mm(j * g.nu + i).to_le_bytes());
        }
        out
    }

    /// The stock that [`Columns::to_bytes`] wrote.
    ///
    /// # Errors
    /// Bytes that are cut short or hold no such stock, with their place.
    pub fn from_bytes(bytes: &[u8]) -> Result<Self, StockError> {
        let mut at = Reader { bytes, at: 0 };
        if at.take::<8>()? != *MARK {
            return Err(StockError::Bytes { at: 0, what: "the mark of a stock" });
        }
        let direction = match at.take::<1>()? {
            [0] => Direction::X,
            [1] => Direction::Y,
            [2] => Direction::Z,
            _ => return Err(StockError::Bytes { at: 8, what: "a direction 0, 1 or 2" }),
        };
        let mut real = || at.take::<8>().map(f64::from_le_bytes);
        let (lo, w_hi_mm) = (Vec3::new(real()?, real()?, real()?), real()?);
        let spacing_mm = real()?;
        let mut count = || at.take::<8>().map(u64::from_le_bytes);
        let (nu, nv) = (count()?, count()?);
        let room = (bytes.len() / 6) as u64;
        let fits = nu > 0 && nv > 0 && nu.checked_mul(nv).is_some_and(|n| n <= room);
        if !fits || !lo.is_finite() || !(w_hi_mm > lo.z) || !(spacing_mm > 0.0) {
            return Err(StockError::Bytes { at: 9, what: "a grid with as many columns as follow" });
        }
        let (nu, nv) = (nu as usize, nv as usize);
        let grid = Grid { direction, lo, w_hi_mm, spacing_mm, nu, nv };
        let mut out = Self::block(grid);
        for k in 0..nu * nv {
            let n = u16::from_le_bytes(at.take::<2>()?);
            let place = at.at;
            let mut real = || at.take::<4>().map(f32::from_le_bytes);
            let list = (0..n).map(|_| Ok([real()?, real()?]));
            let list: Vec<[f32; 2]> = list.collect::<Result<_, StockError>>()?;
            let ordered = list.windows(2).all(|w| w[1][1] <= w[0][0]);
            if !ordered || list.iter().any(|p| !(p[1] > p[0]) || !p[1].is_finite()) {
                return Err(StockError::Bytes { at: place, what: "intervals in order from above" });
            }
            let edge_mm = real()?;
            if !edge_mm.is_finite() {
                return Err(StockError::Bytes { at: place, what: "finite numbers" });
            }
            out.set(k, list);
            out.set_edge(k, edge_mm);
        }
        Ok(out)
    }
}

struct Reader<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl Reader<'_> {
    fn take<const N: usize>(&mut self) -> Result<[u8; N], StockError> {
        let short = StockError::Bytes { at: self.at, what: "more bytes" };
        let part = self.bytes.get(self.at..self.at + N).ok_or(short.clone())?;
        self.at += N;
        part.try_into().map_err(|_| short)
    }
}
