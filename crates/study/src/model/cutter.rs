//! A cutter of the study: its shape, its limits and what it costs.

use crate::text::Place;
use ::cutter::CutterSpec;
use stability::frf::MeasuredResponse;

/// A frequency response that was measured at the tip.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredTip {
    /// The file as the study names it.
    pub file: String,
    /// Displacement over force, mm/N.
    pub response: MeasuredResponse,
}

/// What was measured at the tip, along the machine's X and Y.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TipResponse {
    /// Along X.
    pub x: Option<MeasuredTip>,
    /// Along Y.
    pub y: Option<MeasuredTip>,
}

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
    /// Frequency responses measured at its tip in its holder.
    pub response: TipResponse,
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

impl StudyCutter {
    /// Deepest cut along the axis that flutes and maker allow, mm; `None` where neither is given.
    pub fn deepest_cut_mm(&self) -> Option<f64> {
        [self.depth_max_mm, self.spec.flute_length_mm].into_iter().flatten().reduce(f64::min)
    }
}
