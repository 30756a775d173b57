//! From text to values: places, diagnostics, ranges, and a reader of tables that collects every
//! fault of a file instead of stopping at the first.

mod bound;
mod diagnostic;
mod near;
mod place;
mod sink;
mod table;

pub(crate) use bound::Bound;
pub use diagnostic::{Diagnostic, Rejected};
pub use near::{listed, nearest};
pub use place::{Place, Source};
pub(crate) use sink::Sink;
pub(crate) use table::{Given, Table, parse};
