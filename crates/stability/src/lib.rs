//! Chatter: how deep a cutter may cut at which speed before it chatters.
//!
//! Lengths in mm, forces in N, angles in rad, stiffness in N/mm, frequency responses in mm/N. Frame of
//! the loads: x along the feed of the cutter, z along the axis towards the spindle, y = z × x; the angle
//! of a tooth runs from +y towards +x. Forces act on the cutter, displacements are the cutter's. Helix
//! counts as zero.
//!
//! The steps and their limits are described in `docs/lobes.md`.

pub mod advice;
pub mod cut;
pub mod fit;
pub mod frf;
pub mod limit;
pub mod response;
pub mod sampled;
pub mod semi;
pub mod zeroth;

pub use cut::Cut;
pub use limit::{Kind, Limit, Method};
pub use response::{Axis, Mode, Structure};
