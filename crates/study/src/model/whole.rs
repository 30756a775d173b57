//! The study as a whole.

use super::cutter::StudyCutter;
use super::feature::{Feature, FeatureKind};
use super::operation::{AxisRule, Operation, OperationKind};
use super::part::{PartRef, Setup};
use super::process::Process;
use crate::text::{Diagnostic, Place, Source};
use dialect::Dialect;
use machine::Machine;

/// One part, one material, one machine, the features that matter, and the processes to compare.
#[derive(Debug, Clone)]
pub struct Study {
    /// Title of the study.
    pub name: String,
    /// Parts made in a year.
    pub parts_per_year: Option<f64>,
    /// Parts that share one set-up.
    pub lot_size: f64,
    /// Time of one set-up, s.
    pub setup_s: f64,
    /// Confidence of the claims' intervals, between 0 and 1.
    pub confidence: f64,
    /// The machine.
    pub machine: Machine,
    /// The words of its programs.
    pub dialect: Dialect,
    /// The part's file, material and stock.
    pub part: PartRef,
    /// Where the part stands, and what holds it.
    pub setup: Setup,
    /// Features by their order in the file.
    pub features: Vec<Feature>,
    /// Processes by their order in the file.
    pub processes: Vec<Process>,
    /// Cutters: of the study file first, then of its companion.
    pub cutters: Vec<StudyCutter>,
    /// The files that were read, the study file first.
    pub sources: Vec<Source>,
}

impl Study {
    /// The feature an operation works on.
    pub fn feature_of(&self, operation: &Operation) -> &Feature {
        &self.features[operation.feature]
    }

    /// Whether an operation works in layers across the axis of the set-up: it clears stock, or it
    /// finishes walls or floor of a pocket or of the outside with the axis upright.
    pub fn is_in_layers(&self, operation: &Operation) -> bool {
        let prismatic =
            matches!(self.feature_of(operation).kind, FeatureKind::Pocket | FeatureKind::Outside);
        let finishes =
            matches!(operation.kind, OperationKind::FinishWall | OperationKind::FinishFloor);
        operation.kind.clears() || (prismatic && finishes && operation.axis == AxisRule::Fixed)
    }

    /// The cutter an operation works with.
    pub fn cutter_of(&self, operation: &Operation) -> &StudyCutter {
        &self.cutters[operation.cutter]
    }

    /// A fault at a place of the study that shows only once the part is known.
    pub fn fault(
        &self,
        place: Place,
        message: impl Into<String>,
        expected: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Diagnostic {
        Diagnostic::new(
            &self.sources[place.source],
            place.start..place.end,
            message,
            expected,
            remedy,
        )
    }
}
