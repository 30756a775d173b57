//! The words of a study as plain data, and the files they are written in.
//!
//! [`read::study`] turns the bytes of a `study.toml` and its companions into a [`Study`] in mm, s
//! and rad, or into every fault that could be found, each with its place, what was expected there
//! and what to do. [`outcome`] holds what a comparison finds. Nothing is computed here.

pub mod literature;
pub mod machine_text;
pub mod material;
pub mod model;
pub mod outcome;
pub mod read;
pub mod starter;
pub mod supplied;
mod text;
mod words;

pub use material::materials;
pub use model::cutter::{MeasuredTip, StudyCutter, TipResponse};
pub use model::feature::{Feature, FeatureKind, Finish, Select};
pub use model::operation::{
    AxisRule, Clearing, Coolant, Cut, Entry, Feed, FeedAt, FeedRule, Lean, Operation,
    OperationKind, Pattern, Roughing, Spacing, Speed, Traverse,
};
pub use model::part::{FileRef, PartRef, Setup, Solid, Stock};
pub use model::process::Process;
pub use model::whole::Study;
pub use read::{FileError, Files, NoFiles};
pub use text::{Diagnostic, Place, Rejected, Source, listed, nearest};
