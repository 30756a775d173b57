//! What a machine really does, from a stopwatch: a short program to time, and the fit of the machine
//! file to the readings.
//!
//! 1. [`trial::Trial`]: stretches of air cut, each of which leans on one or two figures of the
//!    machine, long enough for a stopwatch; [`text`] writes them as a program.
//! 2. [`readings`]: the times that were read.
//! 3. [`fit`]: the shape of the control and the figures that explain the readings best, what they
//!    leave open, and how far times of other programs may be off.

pub mod figures;
pub mod fit;
pub mod readings;
mod search;
mod solve;
pub mod stretch;
pub mod text;
mod timing;
pub mod trial;
mod watch;

pub use fit::{Fit, FitError, Found, ShapeTried, fit};
pub use readings::{Reading, ReadingError};
pub use trial::{Trial, TrialError};
