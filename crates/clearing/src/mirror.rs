//! Material on the left of the feed: the mirrored level, mirrored back.

use crate::error::ClearingError;
use crate::job::{Clearing, Job};
use planar::Region;

/// Clears the mirrored level.
pub(crate) fn clear(job: &Job<'_>) -> Result<Clearing, ClearingError> {
    let (inside, stock) = (region(job.inside), region(job.stock));
    let mirrored = Job { inside: &inside, stock: &stock, climb: true, ..job.clone() };
    let mut out = crate::clear(&mirrored)?;
    for point in out.runs.iter_mut().flat_map(|r| &mut r.points) {
        point[0] = -point[0];
    }
    out.reached = region(&out.reached);
    out.rest = region(&out.rest);
    Ok(out)
}

fn region(of: &Region) -> Region {
    let flip = |l: Vec<[f64; 2]>| l.into_iter().map(|[x, y]| [-x, y]).collect();
    Region::of_loops(&of.loops().into_iter().map(flip).collect::<Vec<_>>())
}
