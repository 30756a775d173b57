//! `calc stepover`: the step-over that leaves a cusp.

use super::cusp::{refused, section};
use super::{Calculation, number, optional};
use crate::failure::Failure;
use units::convert::um_to_mm;

/// An arc on a surface, and the cusp.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Request {
    /// Radius of the cutter's arc, mm.
    pub radius_mm: f64,
    /// Cusp along the surface normal, µm.
    pub cusp_um: f64,
    /// Radius of the surface across the feed, mm: convex positive, concave negative; `None`: flat.
    pub surface_radius_mm: Option<f64>,
}

/// Runs the calculation.
///
/// # Errors
/// The arc gouges, or no step-over leaves so high a cusp.
pub fn run(request: &Request) -> Result<Calculation, Failure> {
    let section = section(request.radius_mm, request.surface_radius_mm)?;
    let stepover_mm = section.stepover_mm(um_to_mm(request.cusp_um)).map_err(refused)?;
    Ok(Calculation {
        inputs: vec![
            number("radius_mm", "radius of the arc", request.radius_mm, "mm"),
            number("cusp_um", "cusp", request.cusp_um, "µm"),
            optional("surface_radius_mm", "radius of the surface", request.surface_radius_mm, "mm"),
        ],
        results: vec![number("stepover_mm", "step-over", stepover_mm, "mm")],
    })
}
