//! Plane regions and the room that a disk has in them.
//!
//! Booleans and offsets are a registry library's on a grid of [`GRID_MM`]; arcs become chords that
//! leave them by at most [`ARC_MM`].

mod access;
mod loops;
mod region;

pub use access::{Outline, Reach, reach};
pub use loops::{holds, twice_area};
pub use region::{ARC_MM, GRID_MM, Region};
