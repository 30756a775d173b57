//! An operation and a process as computed: the outcome and what claims need besides.

use crate::economics::{EdgeLife, Use};
use crate::job::Prepared;
use crate::split::Causes;
use crate::timing::Timing;
use study::outcome::OperationOutcome;

/// One computed operation.
pub(crate) struct ComputedOperation<'a> {
    /// What it was made from.
    pub(crate) prepared: Prepared<'a>,
    /// What it came to.
    pub(crate) outcome: OperationOutcome,
    /// Its time under uncertainty.
    pub(crate) timing: Timing,
    /// Its time by causes.
    pub(crate) causes: Causes,
}

impl ComputedOperation<'_> {
    /// Whether it does the same thing to the same feature as another.
    pub(crate) fn faces(&self, other: &ComputedOperation<'_>) -> bool {
        let (a, b) = (self.prepared.operation, other.prepared.operation);
        a.feature == b.feature && a.kind == b.kind
    }
}

/// One computed process.
pub(crate) struct ComputedProcess<'a> {
    /// Its name.
    pub(crate) name: String,
    /// Nominal time of its tool changes, s.
    pub(crate) tool_change_s: f64,
    /// Its operations.
    pub(crate) operations: Vec<ComputedOperation<'a>>,
}

impl<'a> ComputedProcess<'a> {
    /// Nominal cycle time, s.
    pub(crate) fn time_s(&self) -> f64 {
        self.tool_change_s + self.operations.iter().map(|o| o.timing.nominal_s).sum::<f64>()
    }

    /// Time in cut of each operation's cutter.
    pub(crate) fn uses(&self) -> Vec<Use<'a>> {
        let of = |o: &ComputedOperation<'a>| Use {
            cutter: o.prepared.cutter,
            cut_s: o.outcome.time.cutting_s,
            life: EdgeLife::from(&o.outcome.life),
        };
        self.operations.iter().map(of).collect()
    }

    /// Number of different cutters.
    pub(crate) fn cutters(&self) -> usize {
        let mut ids: Vec<&str> =
            self.operations.iter().map(|o| o.prepared.cutter.id.as_str()).collect();
        ids.sort_unstable();
        ids.dedup();
        ids.len()
    }
}
