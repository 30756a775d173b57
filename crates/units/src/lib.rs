//! Units at the edges, intervals, and the one way to say that a number is out of range.
//!
//! Inside the program every length is in mm, every time in s, every force in N and every angle in
//! rad; the unit stands at the end of the name (`tip_feed_mm_s`). Trade units (mm/min, m/s², µm,
//! degrees) exist only where a file or a person is spoken to, and are converted here.

pub mod convert;
pub mod interval;
pub mod range;

pub use interval::Interval;
pub use range::{OutOfRange, RangeCheck};
