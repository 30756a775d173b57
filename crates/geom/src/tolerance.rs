//! The one tolerance policy: what counts as coincident, parallel or solved.
//!
//! Two kinds are kept apart. *Resolution* is numerical: it grows with the size of the part and is
//! never set by a person. An *allowance* is what a person permits (cusp, chord, form); it is data,
//! travels as an argument, and must not be smaller than the resolution.

/// Points closer than this are the same point, mm.
pub const COINCIDENT_MM: f64 = 1e-6;
/// Directions closer than this are parallel, rad.
pub const PARALLEL_RAD: f64 = 1e-9;
/// A tool axis counts as reached by a machine when it is this close, rad (0.2 arc seconds).
pub const REACHED_RAD: f64 = 1e-6;
/// A surface that bends less than this counts as flat, 1/mm (radius 10 km).
pub const FLAT_PER_MM: f64 = 1e-7;
/// Largest residual that a root on a signed distance may leave, mm.
pub const SOLVED_MM: f64 = 1e-10;
/// Tessellation: largest deviation of a part's mesh from its exact faces that is asked for, mm.
pub const TESSELLATION_MM: f64 = 0.01;
/// A border of a face may lie this far off the face's surface in a file, mm: exporters write edges
/// to their modelling tolerance, a few µm to a few hundredths (common practice, no source).
pub const BORDER_GAP_MM: f64 = 0.05;

/// Smallest length that means something on a part of this size, mm: a few units in the last place
/// of its largest coordinate, and never below [`COINCIDENT_MM`] / 1000.
pub fn resolution_mm(largest_coordinate_mm: f64) -> f64 {
    (largest_coordinate_mm.abs() * f64::EPSILON * 64.0).max(COINCIDENT_MM * 1e-3)
}
