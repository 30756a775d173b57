//! Why a toolpath cannot be driven or timed.

use crate::kinematics::Unreachable;
use motion::path::PlanError;
use thiserror::Error;

/// A toolpath that the machine cannot be given, with the place.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum AccountError {
    /// A tool axis out of reach of the rotary axes.
    #[error("run {run}, pose {pose}: {source}")]
    Unreachable {
        /// Index of the run.
        run: usize,
        /// Index of the pose in it.
        pose: usize,
        /// Which axis and what to do.
        source: Unreachable,
    },
    /// A pose that is no pose.
    #[error("run {run}, pose {pose}: {what}; expected a finite tip and an axis of length 1")]
    Pose {
        /// Index of the run.
        run: usize,
        /// Index of the pose in it.
        pose: usize,
        /// What was found.
        what: String,
    },
    /// A feed that is no feed.
    #[error(
        "run {run}, move {at}: {what}; expected one tip feed above 0 per move, infinite for a rapid"
    )]
    Feed {
        /// Index of the run.
        run: usize,
        /// Index of the move in it.
        at: usize,
        /// What was found.
        what: String,
    },
    /// The motion planner refused a stretch.
    #[error("from run {run} on: {source}")]
    Plan {
        /// Index of the run in which the stretch begins.
        run: usize,
        /// The planner's reason.
        source: PlanError,
    },
}
