//! Machine controls as a stopwatch meets them: a track runs on a machine with hidden parameters, one
//! sample of the interpolation clock after another, and every move's time is known.
//!
//! For tests of models that are fitted to such machines. Nothing here plans a whole path: blocks come
//! through a queue that takes its time, the feed is decided sample by sample from what is ready, and
//! filters or lags work on the axes afterwards. Five [`Family`]s differ in how they do it.

mod band;
mod course;
mod draw;
mod drive;
mod filtered;
mod hidden;
mod jerk;
mod lagging;
mod legs;
mod limits;
pub mod programs;
mod queue;
mod rounded;
mod shaper;
mod span;
mod stopping;
mod trapezoid;
pub mod zoo;

pub use band::Band;
pub use filtered::Filtered;
pub use hidden::{AxisHidden, Family, Hidden};
pub use lagging::Lagging;
pub use legs::Refused;
pub use rounded::Rounded;
pub use stopping::Stopping;
pub use zoo::zoo;

use drive::Drive;
use machine::track::Track;

/// Where the axes are at one tick.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// Time by the control's clock, s, waits included.
    pub time_s: f64,
    /// X, Y, Z in mm and the rotary axes in rad, sense of ISO 841.
    pub joints: [f64; 5],
}

/// Times of one run as a stopwatch takes them.
#[derive(Debug, Clone, PartialEq)]
pub struct Timing {
    /// Time of each move, s; from the moment when the move before it is done.
    pub moves_s: Vec<f64>,
    /// Time of each wait, s.
    pub waits_s: Vec<f64>,
    /// From the start to standstill at the end, s.
    pub total_s: f64,
    /// The axes' positions; empty unless they were asked for.
    pub samples: Vec<Sample>,
}

/// Runs `track` and takes the times.
pub fn run(hidden: &Hidden, track: &Track) -> Result<Timing, Refused> {
    emulate(hidden, track, false)
}

/// Runs `track`, takes the times and keeps the position of the axes at every tick.
pub fn run_sampled(hidden: &Hidden, track: &Track) -> Result<Timing, Refused> {
    emulate(hidden, track, true)
}

fn emulate(hidden: &Hidden, track: &Track, keep_samples: bool) -> Result<Timing, Refused> {
    let chain = legs::Chain::of(hidden);
    let legs = legs::legs(&chain, track)?;
    let prepared = match &hidden.family {
        Family::Filtered(family) => filtered::prepare(hidden, family, &legs),
        Family::Rounded(family) => rounded::prepare(hidden, family, &legs),
        Family::Lagging(family) => lagging::prepare(hidden, family, &legs),
        Family::Band(family) => band::prepare(hidden, family, &legs),
        Family::Stopping(family) => stopping::prepare(hidden, family, &legs),
    };
    Drive::new(hidden, &legs, prepared, keep_samples).run(track)
}
