//! A study as plain data, in mm, s and rad; nothing is computed here.

pub mod cutter;
pub mod feature;
pub mod operation;
pub mod part;
pub mod process;
pub mod whole;
