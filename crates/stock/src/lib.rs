//! Stock as it is cut: columns of material (dexels) in one or three directions, cut by swept
//! cutters; volume removed, what is left, and where on the cutter it was in the cut.
//!
//! Everything is in the part's frame, mm. Material of a column is a list of intervals along it.

pub mod approach;
pub mod columns;
pub mod engagement;
pub mod error;
pub mod grid;
pub mod leaning;
pub mod line;
pub mod mesh;
pub mod poses;
pub mod rest;
pub mod saved;
pub mod three;
pub mod tiles;
pub mod underside;

mod chain;
mod cover;
mod outline;
mod ramp;
mod rows;
mod span;
mod strip;

pub use approach::{Beside, Near, Standing};
pub use columns::Columns;
pub use engagement::Cutting;
pub use error::StockError;
pub use grid::{Direction, Grid};
pub use leaning::{Leaning, Look};
pub use line::Sweep;
pub use rest::{Left, Rest, RestSample};
pub use three::Three;
pub use tiles::{Taken, Tiles};
pub use underside::Underside;
