//! Programs that run: from the tracks of a process to NC text of ISO 6983, and to the neutral
//! cutter-location text of ISO 4343.
//!
//! A [`Job`] is what a process comes down to on a machine: operations in order, each with its tool,
//! speed and [`machine::Track`]. Every operation states all modal words again, so that it can be
//! started at. Nothing is planned here.

pub mod cutter_location;
mod job;
pub mod number;
pub mod program;
mod words;

pub use job::{Job, Piece, Refused, Tool};
pub use words::Words;
