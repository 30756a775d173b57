//! `calc cusp`: what neighbouring passes of an arc leave.

use super::{Calculation, number, optional};
use crate::failure::Failure;
use geom::circle::{CircleError, Section};
use units::convert::mm_to_um;

/// An arc on a surface, and the step-over.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Request {
    /// Radius of the cutter's arc, mm.
    pub radius_mm: f64,
    /// Step-over along the surface, mm.
    pub stepover_mm: f64,
    /// Radius of the surface across the feed, mm: convex positive, concave negative; `None`: flat.
    pub surface_radius_mm: Option<f64>,
}

/// Runs the calculation.
///
/// # Errors
/// The arc gouges, or the arcs do not meet.
pub fn run(request: &Request) -> Result<Calculation, Failure> {
    let section = section(request.radius_mm, request.surface_radius_mm)?;
    let cusp_mm = section.cusp_mm(request.stepover_mm).map_err(refused)?;
    let mean_mm = section.cusp_mean_mm(request.stepover_mm).map_err(refused)?;
    Ok(Calculation {
        inputs: vec![
            number("radius_mm", "radius of the arc", request.radius_mm, "mm"),
            number("stepover_mm", "step-over", request.stepover_mm, "mm"),
            optional("surface_radius_mm", "radius of the surface", request.surface_radius_mm, "mm"),
        ],
        results: vec![
            number("cusp_um", "cusp", mm_to_um(cusp_mm), "µm"),
            number("cusp_mean_um", "mean height", mm_to_um(mean_mm), "µm"),
        ],
    })
}

/// The plane across the feed, for an arc on a surface.
pub(super) fn section(radius_mm: f64, surface_radius_mm: Option<f64>) -> Result<Section, Failure> {
    Section::from_radii(radius_mm, surface_radius_mm.unwrap_or(f64::INFINITY)).map_err(refused)
}

/// Why circles have no finite answer, as a failure of the call.
pub(super) fn refused(error: CircleError) -> Failure {
    let (expected, remedy) = match error {
        CircleError::NotPositive { .. } => ("a length greater than 0", "correct the value"),
        CircleError::NoSurface { .. } => ("a radius", "leave --surface-radius out for flat"),
        CircleError::Gouges { .. } | CircleError::GougesBeside { .. } => {
            ("an arc that fits the surface", "take a smaller arc radius")
        }
        CircleError::DoNotMeet { .. } => ("a smaller step-over", "reduce --stepover"),
        CircleError::TooHigh { .. } => ("a lower cusp", "reduce --cusp-um"),
        CircleError::NoCusp => ("an arc smaller than the hollow", "take a smaller arc radius"),
    };
    Failure::call(error.to_string(), expected, remedy)
}
