//! Stock as it is cut: columns of material (dexels) in one or three directions, cut by swept
//! cutters; volume removed, what is left, and where on the cutter it was in the cut.
//!
//! Everything is in the part's frame, mm. Material of a column is a list of intervals along it.

pub mod columns;
pub mod engagement;
pub mod error;
pub mod grid;
pub mod level;
pub mod line;
pub mod underside;

mod ramp;
mod span;

pub use columns::Columns;
pub use engagement::{Cutting, Ring};
pub use error::StockError;
pub use grid::{Direction, Grid};
pub use line::Sweep;
pub use underside::Underside;
