//! What the cut does to chip, edge, cutter and spindle: thickness, force, power, deflection, finish,
//! life, swarf.
//!
//! Lengths in mm, forces in N, angles in rad, torque in N mm. Frame of the loads: x along the feed of
//! the cutter, z along the axis towards the spindle, y = z × x; the angle of a tooth runs from +y
//! towards +x. Forces act on the cutter.

pub mod chip;
pub mod deflection;
pub mod engagement;
pub mod finish;
pub mod force;
pub mod life;
pub mod swarf;
