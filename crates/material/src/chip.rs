//! Habits of the chip: how much room it takes, how thick it usually is, and how thin it can be.

use units::Interval;

use crate::sourced::Sourced;

/// Habits of the chip.
#[derive(Debug, Clone, PartialEq)]
pub struct ChipHabits {
    /// Volume of loose milling chips over the volume of the metal they were.
    pub bulk_ratio: Sourced<Interval>,
    /// Usual largest chip thickness of an end mill of 6 to 20 mm in carbide, mm.
    pub usual_thickness_mm: Sourced<Interval>,
    /// Least chip thickness over the radius of the edge: below it metal is pushed, not cut.
    pub least_over_edge_radius: Sourced<Interval>,
    /// Usual radius of a coated carbide edge, mm.
    pub coated_edge_radius_mm: Sourced<f64>,
    /// Usual radius of a bright carbide edge, mm.
    pub bright_edge_radius_mm: Sourced<f64>,
}

impl ChipHabits {
    /// Least chip thickness for an edge radius, mm: from the most to the least favourable ratio.
    pub fn least_thickness_mm(&self, edge_radius_mm: f64) -> Interval {
        let ratio = self.least_over_edge_radius.value;
        Interval::new(ratio.low * edge_radius_mm, ratio.high * edge_radius_mm)
    }
}
