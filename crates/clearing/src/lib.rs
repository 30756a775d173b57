//! Paths that clear a plane level: pockets with islands, and the outside of shapes.
//!
//! [`clear`] takes where the cutter's edge may go, where stock stands, and the arc of contact to
//! hold, and gives runs of the cutter's centre with the arc of contact at each point, as cut.
//! `docs/constant-engagement.md` says how. [`along_walls`] finishes what that leaves on the walls.

mod contour;
mod cutting;
mod distance;
mod engaged;
mod entry;
mod error;
mod finishing;
mod front;
mod grid;
mod ground;
mod job;
mod left;
mod link;
mod march;
mod mirror;
mod neck;
mod outline;
mod room;
mod shares;
mod site;
mod trochoid;
mod turns;
mod walk;
mod walls;

pub use error::ClearingError;
pub use finishing::{Walls, along_walls};
pub use job::{Clearing, Entry, Helix, Hold, Job, Kind, Method, Run, Shares};
pub use trochoid::{Slot, trochoid, trochoid_peak_rad};

/// Lays the path that clears a level.
///
/// # Errors
/// A job whose numbers make no sense, with nothing to clear, in which the cutter does not fit, or
/// into which no allowed entry leads; the error says which diameter would do.
pub fn clear(job: &Job<'_>) -> Result<Clearing, ClearingError> {
    if !job.climb {
        return mirror::clear(job);
    }
    let site = site::Site::new(job)?;
    let (runs, ground) = match job.method {
        Method::ConstantEngagement => engaged::lay(job, &site)?,
        Method::ContourParallel => contour::lay(job, &site)?,
    };
    let (reached, rest) = left::reached_and_rest(job, &ground);
    let shares = shares::of(&runs, job.arc_rad);
    Ok(Clearing { runs, reached, rest, shares })
}
