//! Programs that run: from the tracks of a process to NC text of ISO 6983, and to the neutral
//! cutter-location text of ISO 4343.
//!
//! A [`Job`] is what a process comes down to on a machine: operations in order, each with its tool,
//! speed and [`machine::Track`]. [`program::program`] lays the ways in and out, fits arcs, turns
//! tips into axis positions where the control needs them, and writes the words of a
//! [`dialect::Dialect`]. Every operation states all modal words again, so that it can be started at.
//! It also says what it has asked for, block by block, so that the text can be read back and checked.

mod arc;
mod axes;
mod course;
pub mod cutter_location;
mod job;
pub mod number;
pub mod program;
mod text;
pub mod travel;
mod way;

pub use job::{Coolant, Job, Piece, Refused, Tool, Zone};
pub use program::{Asked, Section, Written, program};
