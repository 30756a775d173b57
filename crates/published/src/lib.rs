//! The register of published checks: value, source, tolerance, and the proof that each check can fail.
//!
//! A *record* is a table in a TOML file under `published/` of the crate whose function it checks:
//! what was computed, from which inputs, what the source prints, where, how far off we may be and
//! why. The test `tests/published.rs` of that crate binds each record to a function. [`Bindings::run`]
//! then fails unless
//!
//! 1. every record is bound exactly once and every binding has a record,
//! 2. our value lies inside the tolerance,
//! 3. the smallest wrong answer that the record promises to see (5 % unless it says why the source
//!    allows no better) is refused in both directions,
//! 4. every input is read and moves the value (or, where the record says so, does not),
//! 5. what is from memory never stands alone for a claim,
//! 6. the folder holds records that can be read, and every source is in the literature.
//!
//! [`register::page`] makes one page of all rows. This crate is used by tests and automation only.

mod bind;
mod fault;
mod folder;
mod inputs;
mod judge;
mod literature;
mod printed;
mod read;
mod record;
pub mod register;
mod row;

pub use bind::Bindings;
pub use fault::Fault;
pub use inputs::Inputs;
pub use literature::Literature;
pub use printed::Printed;
pub use read::records;
pub use record::{Allowed, Check, Seen};
pub use row::Row;
