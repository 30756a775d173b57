//! A stock in columns along all three axes: undercuts, and walls in any direction met exactly.

use crate::columns::{Columns, reach};
use crate::error::StockError;
use crate::grid::{Direction, Grid};
use crate::line::Sweep;
use cutter::Profile;
use geom::Vec3;

/// The same stock three times, in columns along x, y and z.
#[derive(Debug, Clone, PartialEq)]
pub struct Three {
    columns: [Columns; 3],
}

impl Three {
    /// A full block.
    ///
    /// # Errors
    /// As [`Grid::over`].
    pub fn block(bounds: (Vec3, Vec3), spacing_mm: f64) -> Result<Self, StockError> {
        let of = |d| Grid::over(bounds, spacing_mm, d).map(Columns::block);
        Ok(Self { columns: [of(Direction::X)?, of(Direction::Y)?, of(Direction::Z)?] })
    }

    /// Columns along one axis.
    pub fn along(&self, direction: Direction) -> &Columns {
        match direction {
            Direction::X => &self.columns[0],
            Direction::Y => &self.columns[1],
            Direction::Z => &self.columns[2],
        }
    }

    /// Cuts with a body on a straight move with a steady axis.
    pub fn cut(&mut self, sweep: &Sweep<'_>, reach_mm: f64) {
        self.columns.iter_mut().for_each(|c| c.cut(sweep, reach_mm));
    }

    /// Cuts along straight moves of an upright cutter.
    ///
    /// # Errors
    /// A position that is not finite.
    pub fn cut_upright(&mut self, tool: &Profile, tips: &[Vec3]) -> Result<(), StockError> {
        self.columns.iter_mut().try_for_each(|c| c.cut_upright(tool, tips))
    }

    /// Cuts a turning move; see [`crate::poses::cut_turning`].
    pub fn cut_turning(
        &mut self,
        tool: &Profile,
        ends: (crate::poses::Stance, crate::poses::Stance),
        turn_rad: f64,
    ) -> f64 {
        let each = self.columns.iter_mut();
        each.map(|c| crate::poses::cut_turning(c, tool, ends, turn_rad)).fold(0.0, f64::max)
    }

    /// Largest reach of a cutter from its tip, mm: the `reach_mm` of [`Three::cut`].
    pub fn reach_mm(tool: &Profile) -> f64 {
        reach(tool)
    }

    /// Volume, mm³: the middle one of the three directions, since a wall along a lattice line
    /// is off by up to half a cell in one of them only.
    pub fn volume_mm3(&self) -> f64 {
        median([0, 1, 2].map(|k| self.columns[k].volume_mm3()))
    }

    /// How full the material is at a point: the middle one of the three directions.
    pub fn fill(&self, p: Vec3) -> f64 {
        median([0, 1, 2].map(|k| self.columns[k].fill(p)))
    }
}

fn median([a, b, c]: [f64; 3]) -> f64 {
    a.min(b).max(a.max(b).min(c))
}
