//! Clearing and finishing in layers: what stands where, the paths, their time, loads and chips.
//!
//! A feature is cut into layers of even depth. In each, the material of the part is the section of
//! its mesh (and of all above it), the stock is what the blank and the operations before it leave,
//! and a plane path clears the one without touching the other. Arc of contact and depth give the
//! loads; the path becomes a toolpath that is timed as every other.

mod blank;
mod cast;
mod chips;
mod compute;
mod enclosed;
mod feed;
mod fillet;
mod finish;
mod lay;
mod levels;
mod loads;
mod path;
mod section;
mod shape;
mod simulate;
mod standing;
mod step_down;
mod teeth;
mod thin;

pub(crate) use cast::Cast;
pub(crate) use compute::{compute, data, laid, loads_of};
pub(crate) use enclosed::told as of_file;
pub(crate) use lay::CHORD_MM;
pub(crate) use standing::Standing;
