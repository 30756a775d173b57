//! Where the centre of the cutter may be.

use crate::distance::signed;
use crate::grid::{Field, Grid};
use geom::Vec2;
use planar::Region;

/// Half the width of a corridor in which loops beat passes to and fro, over the cutter's radius.
const CORRIDOR: f64 = 0.45;

/// The shape less the cutter's radius, its hollow corners rounded and its necks cut off.
#[derive(Debug, Clone)]
pub(crate) struct Room {
    field: Field,
    border: Field,
    radius_mm: f64,
    /// Radius of hollow corners, mm.
    pub(crate) rounding_mm: f64,
    /// How much farther from the border than the cutter's radius the centre keeps, mm.
    pub(crate) grains_mm: f64,
}

impl Room {
    /// Room of a cutter in a shape.
    pub(crate) fn new(inside: &Region, grid: Grid, radius_mm: f64, rounding_mm: f64) -> Self {
        // chords of an offset may lie outside its arcs by this much
        // and a cell of the grid as far as its chord leaves the cutter's circle
        let grains_mm = planar::ARC_MM + grid.cell_mm * grid.cell_mm / (8.0 * radius_mm);
        let eroded = |by: f64| inside.grown(-(radius_mm + by + grains_mm));
        let core =
            eroded(rounding_mm).less(&corridors(&eroded(0.0), &eroded, CORRIDOR * radius_mm));
        let field = signed(&core, grid, rounding_mm + 4.0 * grid.cell_mm);
        let border = signed(inside, grid, 1.7 * radius_mm);
        Self { field, border, radius_mm, rounding_mm, grains_mm }
    }

    /// Distance to the border of the room, positive inside; its bound is about the rounding beyond
    /// that.
    pub(crate) fn depth(&self, p: Vec2) -> f64 {
        self.field.at(p) + self.rounding_mm
    }

    /// Distance to where the cutter would touch the border of the shape, corners and necks too; at
    /// most 0.7 radii.
    pub(crate) fn free(&self, p: Vec2) -> f64 {
        self.border.at(p) - self.radius_mm - self.grains_mm
    }

    /// Away from the border.
    pub(crate) fn inwards(&self, p: Vec2) -> Vec2 {
        self.field.slope(p).normalize_or_zero()
    }
}

/// What is narrower than twice `half_mm` and longer than a corner.
fn corridors(all: &Region, eroded: &dyn Fn(f64) -> Region, half_mm: f64) -> Region {
    let narrow = all.less(&eroded(half_mm).grown(half_mm + planar::ARC_MM));
    // a sharp corner of 30° keeps 2.4 (derived: r² (cot(α/2) − (π − α)/2))
    let long = |l: &Vec<[f64; 2]>| {
        Region::of_pieces(std::slice::from_ref(l)).area_mm2() > 3.0 * half_mm * half_mm
    };
    Region::of_loops(&narrow.loops().into_iter().filter(long).collect::<Vec<_>>())
}
