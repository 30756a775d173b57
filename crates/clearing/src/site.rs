//! What is fixed for a level before the first move: checks, grid, room.

use crate::distance::edges;
use crate::error::ClearingError;
use crate::grid::Grid;
use crate::job::Job;
use crate::march::Steering;
use crate::room::Room;
use geom::Vec2;
use planar::Region;

/// Cells of the grid in a cutter's radius.
const CELLS: f64 = 20.0;
/// A step over the cutter's radius.
const STEP: f64 = 0.08;
/// Most that the longer side may be over the cutter's radius.
const MOST_RADII: f64 = 400.0;
/// Rounding of hollow corners of the path over the cutter's radius, if the machine likes less.
const ROUNDING: f64 = 0.2;

/// Grid, border and room.
#[derive(Debug)]
pub(crate) struct Site {
    pub(crate) grid: Grid,
    pub(crate) edges: Vec<(Vec2, Vec2)>,
    pub(crate) room: Room,
}

impl Site {
    /// Checks the job and measures its shape.
    pub(crate) fn new(job: &Job<'_>) -> Result<Self, ClearingError> {
        check(job)?;
        let radius = job.cutter_radius_mm;
        if job.inside.and(job.stock).area_mm2() <= 1e-6 {
            return Err(ClearingError::Nothing);
        }
        if job.inside.grown(-(radius + planar::ARC_MM)).is_empty() {
            let would_do_mm = 2.0 * widest(job.inside, radius);
            return Err(ClearingError::TooWide { diameter_mm: 2.0 * radius, would_do_mm });
        }
        let edges = edges(job.inside);
        let all = || edges.iter().flat_map(|e| [e.0, e.1]);
        let lo = all().fold(Vec2::INFINITY, Vec2::min);
        let hi = all().fold(Vec2::NEG_INFINITY, Vec2::max);
        let cell = radius / CELLS;
        let span_mm = (hi - lo).max_element();
        if span_mm > MOST_RADII * radius {
            let ratio = span_mm / radius;
            return Err(ClearingError::TooLarge { span_mm, ratio, most: MOST_RADII });
        }
        let grid = Grid::over(lo - 3.37 * cell, hi + 3.0 * cell, cell);
        let rounding = job.least_corner_radius_mm.max(ROUNDING * radius).min(0.5 * radius);
        let room = Room::new(job.inside, grid, radius, rounding);
        Ok(Self { grid, edges, room })
    }

    pub(crate) fn steering(&self, job: &Job<'_>) -> Steering {
        let radius = job.cutter_radius_mm;
        let turn_mm = job.least_corner_radius_mm.max(0.5 * radius).min(radius);
        // the grid takes its share
        let chord_mm = 0.8 * job.chord_mm;
        let step_mm = (STEP * radius).min((8.0 * radius * chord_mm).sqrt());
        Steering { arc_rad: job.arc_rad, step_mm, chord_mm, turn_mm, kink_rad: 0.08 }
    }

    /// Material thinner than this is left for the last round, mm.
    pub(crate) fn left_mm(&self, job: &Job<'_>) -> f64 {
        let width = job.cutter_radius_mm * (1.0 - job.arc_rad.cos());
        (0.05 * width).max(0.002 * job.cutter_radius_mm)
    }

    /// The error of a level that no allowed entry gets into.
    pub(crate) fn no_entry(&self, job: &Job<'_>) -> ClearingError {
        let mut wanted = Vec::new();
        let mut needs = f64::INFINITY;
        if let Some(helix) = job.entry.helix {
            let least = helix.least_radius_mm;
            wanted.push(format!("a helix needs {least:.2} mm of radius for its centre"));
            needs = least;
        }
        if let Some(length) = job.entry.ramp_mm {
            wanted.push(format!("a ramp needs {length:.2} mm straight"));
        }
        if wanted.is_empty() {
            wanted.push("no ground is clear and neither helix, ramp nor plunge is allowed".into());
        }
        let widest = widest(job.inside, job.cutter_radius_mm);
        let would = if needs.is_finite() { (widest - needs).max(0.0) } else { 0.0 };
        ClearingError::NoEntry {
            diameter_mm: 2.0 * job.cutter_radius_mm,
            wanted: wanted.join(", "),
            would_do_mm: 2.0 * would,
        }
    }
}

/// Radius of the largest disk that fits, mm, to 0.1 %.
pub(crate) fn widest(inside: &Region, guess_mm: f64) -> f64 {
    let fits = |r: f64| !inside.grown(-r).is_empty();
    let (mut lo, mut hi) = (0.0, guess_mm);
    while fits(hi) {
        (lo, hi) = (hi, 2.0 * hi);
    }
    while hi - lo > 1e-3 * hi && hi > 1e-4 {
        let middle = 0.5 * (lo + hi);
        if fits(middle) { lo = middle } else { hi = middle }
    }
    lo
}

fn check(job: &Job<'_>) -> Result<(), ClearingError> {
    let need = |ok: bool, quantity, value, expected| match ok {
        true => Ok(()),
        false => Err(ClearingError::Input { quantity, value, expected }),
    };
    let (r, arc) = (job.cutter_radius_mm, job.arc_rad);
    need(r > 0.0 && r.is_finite(), "cutter_radius_mm", r, "more than 0")?;
    need(arc > 0.05 && arc <= 2.4, "arc_rad", arc, "0.05 to 2.4 (3° to 137°)")?;
    let chord = job.chord_mm;
    need(chord > 0.0 && chord <= 0.1 * r, "chord_mm", chord, "more than 0, at most 0.1 radii")?;
    let least = job.least_corner_radius_mm;
    need(least >= 0.0 && least.is_finite(), "least_corner_radius_mm", least, "0 or more")?;
    if let Some(helix) = job.entry.helix {
        let (wanted, least) = (helix.radius_mm, helix.least_radius_mm);
        need(wanted > 0.0 && wanted.is_finite(), "helix radius_mm", wanted, "more than 0")?;
        need(least >= 0.0 && least <= wanted, "helix least_radius_mm", least, "0 to radius_mm")?;
    }
    let ramp = job.entry.ramp_mm.unwrap_or(1.0);
    need(ramp > 0.0 && ramp.is_finite(), "ramp_mm", ramp, "more than 0")
}
