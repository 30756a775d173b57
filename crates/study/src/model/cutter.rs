//! A cutter of the study: its shape, its limits and what it costs.

use crate::text::Place;
use ::cutter::CutterSpec;

/// A cutter with its assembly, limits and price.
#[derive(Debug, Clone, PartialEq)]
pub struct StudyCutter {
    /// Id by which operations call it.
    pub id: String,
    /// Form, lengths and holder.
    pub spec: CutterSpec,
    /// Number of teeth.
    pub teeth: u32,
    /// Deepest cut along the axis, mm.
    pub depth_max_mm: Option<f64>,
    /// Fastest turn of cutter and holder at this stick-out, rev/s.
    pub max_rev_s: Option<f64>,
    /// Runout at the tip, mm.
    pub runout_mm: Option<f64>,
    /// Spacing of chip breakers along the edge, mm.
    pub chip_breaker_pitch_mm: Option<f64>,
    /// Price in the machine's currency.
    pub price: Option<f64>,
    /// Uses in one price.
    pub edges: u32,
    /// Time to change a worn one, s.
    pub change_s: Option<f64>,
    /// Where it stands.
    pub place: Place,
}
