//! Semi-discretisation: the directional matrix as it varies while a tooth cuts.
//!
//! One tooth period is cut at every entry and exit; each piece in cut is stepped with the mean of the
//! matrix over the step and the mean of the displacement at its ends, the structure itself exactly; a
//! piece without a tooth is one exact step. The error falls with the square of the step. After the
//! semi-discretisation of Insperger and Stépán, Int. J. Numer. Meth. Eng. 2004 (from memory); steps,
//! averages and the root at the boundary are derived.

mod boundary;
mod monodromy;
mod period;
mod search;
mod spectrum;

pub use period::Modal;

use crate::cut::Cut;
use crate::limit::Limit;
use num_complex::Complex64;
use period::Period;
use units::{OutOfRange, RangeCheck};

/// The least depth up to `deepest_mm` that chatters at a speed; `None` where none does.
pub fn limit(modal: &Modal, cut: &Cut, speed_rpm: f64, deepest_mm: f64) -> Option<Limit> {
    search::limit(modal, cut, speed_rpm, deepest_mm)
}

/// The multiplier of largest modulus at a depth and a speed: below 1 in modulus is stable.
///
/// `steps` is the number of steps of the longest piece in cut; the error falls with its square.
///
/// # Errors
/// Depth, speed or steps out of range.
pub fn multiplier(
    modal: &Modal,
    cut: &Cut,
    speed_rpm: f64,
    depth_mm: f64,
    steps: usize,
) -> Result<Complex64, OutOfRange> {
    let depth = depth_mm.not_negative("depth of cut")?;
    let speed = speed_rpm.positive("spindle speed")?;
    (steps as f64).within("number of steps", 2.0, 20_000.0)?;
    Ok(monodromy::multiplier(&Period::new(modal, cut, speed, steps, 1), depth))
}
