//! A stock in columns along all three axes: undercuts, and walls in any direction met exactly.

use crate::columns::{Columns, reach};
use crate::error::StockError;
use crate::grid::{Direction, Grid};
use crate::line::Sweep;
use crate::tiles::{Taken, Tiles};
use cutter::Profile;
use geom::{TriMesh, Vec3};
use rayon::prelude::*;

/// The same stock three times, in columns along x, y and z.
#[derive(Debug, Clone, PartialEq)]
pub struct Three {
    columns: [Columns; 3],
    tiles: [Tiles; 3],
}

impl Three {
    /// The same stock in columns along x, y and z, in this order.
    pub fn new(columns: [Columns; 3]) -> Self {
        let tiles = [0, 1, 2].map(|k| Tiles::of(&columns[k]));
        Self { columns, tiles }
    }

    /// A full block.
    ///
    /// # Errors
    /// As [`Grid::over`].
    pub fn block(bounds: (Vec3, Vec3), spacing_mm: f64) -> Result<Self, StockError> {
        Self::by_direction(bounds, spacing_mm, Columns::block)
    }

    /// What lies inside a closed mesh, grown by an allowance all round.
    ///
    /// # Errors
    /// As [`Grid::over`].
    pub fn of_mesh(
        bounds: (Vec3, Vec3),
        spacing_mm: f64,
        (mesh, allowance_mm): (&TriMesh, f64),
    ) -> Result<Self, StockError> {
        Self::by_direction(bounds, spacing_mm, |grid| {
            let (inside, _) = Columns::of_mesh(grid, mesh);
            if allowance_mm > 0.0 { inside.grown(allowance_mm) } else { inside }
        })
    }

    /// The columns that `of` fills a grid of each direction with.
    ///
    /// # Errors
    /// As [`Grid::over`].
    pub fn by_direction(
        bounds: (Vec3, Vec3),
        spacing_mm: f64,
        of: impl Fn(Grid) -> Columns,
    ) -> Result<Self, StockError> {
        let along = |d| Grid::over(bounds, spacing_mm, d).map(&of);
        Ok(Self::new([along(Direction::X)?, along(Direction::Y)?, along(Direction::Z)?]))
    }

    /// Columns along one axis.
    pub fn along(&self, direction: Direction) -> &Columns {
        match direction {
            Direction::X => &self.columns[0],
            Direction::Y => &self.columns[1],
            Direction::Z => &self.columns[2],
        }
    }

    /// Width of a cell, mm.
    pub fn spacing_mm(&self) -> f64 {
        self.columns[2].grid().spacing_mm
    }

    /// Cuts with a body on a straight move with a steady axis, no point of which is farther from its tip
    /// than `reach_mm`. What is taken away is told by the direction that most columns were cut in: it looks
    /// at the layer from its broad side.
    pub fn cut(&mut self, sweep: &Sweep<'_>, reach_mm: f64) -> Taken {
        let each = self.columns.par_iter_mut().zip(&mut self.tiles);
        let taken: Vec<Taken> =
            each.map(|(columns, tiles)| tiles.cut(columns, sweep, reach_mm)).collect();
        taken.into_iter().rev().max_by_key(|t| t.columns).unwrap_or_default()
    }

    /// Largest reach of a cutter from its tip, mm: the `reach_mm` of [`Three::cut`].
    pub fn reach_mm(tool: &Profile) -> f64 {
        reach(tool)
    }

    /// Volume, mm³: the middle one of the three directions. A wall between two lattice lines is off by up to
    /// half a cell in the directions that it runs along.
    pub fn volume_mm3(&self) -> f64 {
        median([0, 1, 2].map(|k| self.columns[k].volume_mm3()))
    }

    /// How full the material is at a point: by the direction in which the border there lies most across the
    /// columns.
    pub fn fill(&self, p: Vec3) -> f64 {
        let mut best = (f64::INFINITY, 0.0);
        for columns in &self.columns {
            let (fill, spread) = columns.fill_and_spread(p);
            // of columns that agree those tell more that have a border near
            let score = spread + NEAR * (fill - 0.5).abs();
            if score < best.0 {
                best = (score, fill);
            }
        }
        best.1
    }
}

/// What it counts against a direction that it has no border near, over a spread of its columns.
const NEAR: f64 = 0.1;

fn median([a, b, c]: [f64; 3]) -> f64 {
    a.min(b).max(a.max(b).min(c))
}
