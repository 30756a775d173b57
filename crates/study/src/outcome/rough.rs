//! What clearing stock in layers found.

/// An operation that clears in layers.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Roughed {
    /// Number of layers that were cut.
    pub levels: usize,
    /// Depth of the deepest layer, mm.
    pub depth_mm: f64,
    /// Depth of the least deep one, mm: the same where layers are even.
    pub least_depth_mm: f64,
    /// Width of cut asked for on a straight wall, mm.
    pub width_mm: f64,
    /// Arc of contact of that width, degrees.
    pub arc_target_deg: f64,
    /// Largest arc of contact outside entries, degrees.
    pub arc_peak_deg: f64,
    /// Share of the cutting length within 5 degrees of the target; `None` where no arc is steered.
    pub arc_held_share: Option<f64>,
    /// Length cut with the whole front in the material, mm.
    pub slot_mm: f64,
    /// Times that the cutter is lifted.
    pub lifts: usize,
    /// Links on cleared ground.
    pub links: usize,
    /// Stock before the operation, where it may be cut, cm³.
    pub stock_cm3: f64,
    /// Stock that stays of it, cm³.
    pub rest_cm3: f64,
    /// The same in plan on the lowest layer, mm².
    pub rest_mm2: f64,
    /// Metal removed over the cutting time, cm³/min.
    pub rate_cm3_min: f64,
    /// Arc of contact along the path: mm, degrees; the hardest layer, thinned for drawing.
    pub arc_along: Vec<[f64; 2]>,
    /// Borders of what stays on the lowest layer, in plan, mm.
    pub rest_plan_mm: Vec<Vec<[f64; 2]>>,
    /// Stock on the feature afterwards by simulation, with the swing of the next chip.
    pub left: Option<StockLeft>,
    /// What a feed that follows the load brings; `None` where the feed is constant.
    pub feed_gain: Option<FeedGain>,
}

/// Layers whose depths differ by less are even, mm.
const EVEN_MM: f64 = 5e-3;

impl Roughed {
    /// Whether all layers are of one depth, as far as a table shows it.
    pub fn is_even(&self) -> bool {
        self.depth_mm - self.least_depth_mm <= EVEN_MM
    }
}

/// Stock on the faces of a feature, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StockLeft {
    /// Least; negative where the part is cut.
    pub least_mm: f64,
    /// Mean over the area.
    pub mean_mm: f64,
    /// Most.
    pub most_mm: f64,
    /// Size of a cell of the simulation, mm: walls are good to about half of it.
    pub cell_mm: f64,
    /// Volume removed by simulation, cm³.
    pub removed_cm3: f64,
}

/// A feed that follows the load against a constant one at the same peak.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FeedGain {
    /// Time of the operation at the constant feed, s.
    pub constant_s: f64,
    /// Time with the feed that follows the load, s.
    pub scheduled_s: f64,
    /// Smallest feed over the constant one.
    pub least: f64,
    /// Largest.
    pub most: f64,
}
