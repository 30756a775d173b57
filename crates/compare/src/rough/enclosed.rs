//! Whether a stock given as a mesh has metal wherever the part is.

use crate::scene::Scene;
use geom::Vec3;
use part::Part;
use rayon::prelude::*;
use study::{Diagnostic, Stock};

/// What the part may stand out of its stock before that is told, mm, on top of what the facets of both
/// are off: common practice, no source.
const TOLD_FROM_MM: f64 = 0.02;
/// From here on it is no stock for this part, mm: more than castings and their scans are off; common
/// practice, no source.
const MOST_MM: f64 = 0.5;
/// Pieces of the part's diagonal, one between places that are looked at, and of a triangle's side at most.
const PIECES: (f64, f64) = (60.0, 24.0);

/// Where the part stands out of a stock.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Bare {
    depth_mm: f64,
    place: Vec3,
}

/// Looks at the stock of a study that names a file for it: a caution where some of the part stands a little
/// out of it.
///
/// # Errors
/// A stock that is not of this part.
pub(crate) fn told(scene: &Scene<'_>) -> Result<Option<String>, Diagnostic> {
    let (Some(Stock::File(file)), Some(stock)) = (&scene.study.part.stock, scene.stock) else {
        return Ok(None);
    };
    let slack_mm = TOLD_FROM_MM + scene.part.deviation_mm + stock.deviation_mm;
    let Some(bare) = bare(scene.part, stock, slack_mm) else { return Ok(None) };
    let p = bare.place;
    let stands = format!(
        "the part stands {:.2} mm out of stock \"{}\" at ({:.1}, {:.1}, {:.1})",
        bare.depth_mm, file.path, p.x, p.y, p.z
    );
    if bare.depth_mm <= MOST_MM {
        return Ok(Some(format!("{stands}: no metal is there to cut it from")));
    }
    let size = |part: &Part| {
        let (low, high) = part.mesh.bounds().unwrap_or_default();
        let d = high - low;
        format!("{:.1} × {:.1} × {:.1} mm", d.x, d.y, d.z)
    };
    Err(scene.study.fault(
        file.place,
        format!("{stands}; the stock measures {}, the part {}", size(stock), size(scene.part)),
        "a stock that holds the whole part, in the part's coordinates and unit",
        "move or scale it, name the right file, or give a block with margins",
    ))
}

/// The place where the part stands out of the stock most, by more than `slack_mm`.
fn bare(part: &Part, stock: &Part, slack_mm: f64) -> Option<Bare> {
    let (low, high) = part.mesh.bounds()?;
    let step = low.distance(high) / PIECES.0;
    let of_part = places(part, step).into_par_iter().filter_map(|p| {
        let out = !stock.bvh.holds(&stock.mesh, p);
        let far = stock.bvh.closest(&stock.mesh, p, f64::INFINITY).filter(|_| out)?.distance_mm;
        (far > slack_mm).then_some(Bare { depth_mm: far, place: p })
    });
    // a hollow of the stock may end between places of the part
    let of_stock = stock.mesh.vertices.par_iter().filter_map(|p| {
        let far = part
            .bvh
            .closest(&part.mesh, *p, f64::INFINITY)
            .filter(|_| part.bvh.holds(&part.mesh, *p))?;
        (far.distance_mm > slack_mm).then_some(Bare { depth_mm: far.distance_mm, place: *p })
    });
    let all: Vec<Bare> = of_part.chain(of_stock).collect();
    all.into_iter().reduce(|a, b| if b.depth_mm > a.depth_mm { b } else { a })
}

/// Corners and places within the triangles of a part.
fn places(part: &Part, step_mm: f64) -> Vec<Vec3> {
    let mut out = part.mesh.vertices.clone();
    for t in 0..part.mesh.triangles.len() {
        let [a, b, c] = part.mesh.corners(t);
        // rows along the longest side, as many as the triangle is high
        let [(p, q, r), ..] = {
            let mut sides = [(a, b, c), (b, c, a), (c, a, b)];
            sides.sort_by(|s, t| t.0.distance(t.1).total_cmp(&s.0.distance(s.1)));
            sides
        };
        let long = p.distance(q);
        let high = (q - p).cross(r - p).length() / long.max(f64::MIN_POSITIVE);
        let count = |mm: f64| (mm / step_mm).ceil().clamp(1.0, PIECES.1) as usize;
        let rows = count(high);
        for j in 0..rows {
            let up = (j as f64 + 1.0 / 3.0) / rows as f64;
            let along = count(long * (1.0 - up));
            out.extend((0..along).map(|i| {
                let share = (i as f64 + 0.5) / along as f64 * (1.0 - up);
                p + (q - p) * share + (r - p) * up
            }));
        }
    }
    out
}
