//! Gouge and collision of a cutter assembly against meshes, certified between the poses.
//!
//! Every body of the assembly is convex, so that one supporting plane bounds its distance to a
//! whole box, triangle or stretch of time from below. Cells of (surface × time) whose bound is not
//! good enough are split; what is left unsplit is proven, not sampled. Faces whose exact surface is
//! known are refined where the cutter comes close, so that the tessellation's own deviation does
//! not stand in the way at the contact.

pub mod certify;
pub mod fitting;
pub mod motion;
pub mod obstacle;
pub mod patch;
mod sweep;

pub use certify::{
    Certificate, Limits, RunReport, certify_cutting, certify_move, certify_run, certify_run_below,
    closest_approach, closest_approach_below,
};
pub use fitting::{Fit, FitError, largest_fitting_arc};
pub use obstacle::{Exact, Obstacle};
pub use sweep::Approach;
