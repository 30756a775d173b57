//! Where the centre of the cutter may be.

use crate::distance::signed;
use crate::grid::{Field, Grid};
use geom::Vec2;
use planar::Region;

/// The shape less the cutter's radius, its hollow corners rounded and its necks cut off.
#[derive(Debug, Clone)]
pub(crate) struct Room {
    field: Field,
    /// Radius of hollow corners, mm.
    pub(crate) rounding_mm: f64,
    /// Where the centre keeps the rounding's radius from the room's border.
    pub(crate) core: Region,
}

impl Room {
    /// Room of a cutter in a shape.
    pub(crate) fn new(inside: &Region, grid: Grid, radius_mm: f64, rounding_mm: f64) -> Self {
        // chords of an offset may lie outside its arcs by this much
        let core = inside.grown(-(radius_mm + rounding_mm + planar::ARC_MM));
        let field = signed(&core, grid, rounding_mm + 4.0 * grid.cell_mm);
        Self { field, rounding_mm, core }
    }

    /// Distance to the border of the room, positive inside; its bound is about the rounding beyond
    /// that.
    pub(crate) fn depth(&self, p: Vec2) -> f64 {
        self.field.at(p) + self.rounding_mm
    }

    /// Away from the border.
    pub(crate) fn inwards(&self, p: Vec2) -> Vec2 {
        self.field.slope(p).normalize_or_zero()
    }
}
