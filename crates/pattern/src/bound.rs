//! Lower bound of the length of passes for an axis field: the integral of √(λ/8h) over the feature,
//! with λ the smaller eigenvalue of the relative curvature (co-area formula: whatever the passes,
//! their density is at least that of the best direction).

use cutter::Relative;
use rayon::prelude::*;

use crate::family::{Family, forward};
use crate::lattice::Lattice;
use crate::stance::Stance;

/// The bound, mm, for passes with a cusp of `cusp_mm` and the axis that belongs to the family's
/// direction; `None` where the cutter does not stand.
pub(crate) fn path_bound_mm(
    lattice: &Lattice,
    family: &Family<'_>,
    stance: &Stance<'_>,
    cusp_mm: f64,
    area_mm2: f64,
) -> Option<f64> {
    let nodes: Vec<usize> = lattice.feature().map(|(k, _)| k).collect();
    let parts: Vec<Option<(f64, f64)>> = nodes
        .par_iter()
        .map(|k| {
            let spot = lattice.spots[*k].as_ref()?;
            let f = forward(spot, family.gradient(lattice.place(*k)))?;
            let standing = stance.stand(&spot.site, f, false).ok()?;
            let relative = Relative::at(&standing.site, standing.axis, &standing.contact)?;
            let least = relative.m.eigen().small.max(0.0);
            let area = lattice.share(*k) * lattice.node_area_mm2(spot);
            Some((area * (least / (8.0 * cusp_mm)).sqrt(), area))
        })
        .collect();
    let (mut length, mut area) = (0.0, 0.0);
    for part in parts {
        let (l, a) = part?;
        length += l;
        area += a;
    }
    // the grid ends short of the border: its mean stands for the whole feature
    (area > 0.0).then(|| length / area * area_mm2)
}
