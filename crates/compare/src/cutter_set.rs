//! Which cutters clear a study's pockets fastest or cheapest.
//!
//! For every pocket and cutter: what the cutter reaches in plan, and the time of a stage on what a
//! larger one left. The set is chosen by [`selection`], proven best for these stages.

mod choose;
pub(crate) mod pocket;
mod stage;

pub use choose::{CutterSet, Objective, Stage, Worth, choose};
pub use pocket::Access;
pub use stage::BASIS;
