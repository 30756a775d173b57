//! `calc chip`: how thick the chip of a peripheral cut is.

use super::{Calculation, number, optional, words};
use crate::failure::Failure;
use mechanics::chip::{self, CIRCULAR_UP_TO};
use mechanics::engagement::peripheral::{Arc, Way};
use units::convert::mm_to_um;

/// Shown where the feed leaves the range of the circular tooth path.
const PATH: &str = "the feed is large against the diameter: the circular tooth path is off by more \
                    than 1 % here";

/// A cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Request {
    /// Diameter, mm.
    pub diameter_mm: f64,
    /// Width of cut across the axis, mm.
    pub ae_mm: f64,
    /// Feed per tooth, mm.
    pub feed_per_tooth_mm: f64,
    /// Angle between the edge's normal and the axis, degrees; left out: 90.
    pub kappa_deg: Option<f64>,
}

/// Runs the calculation.
///
/// # Errors
/// A value out of range.
pub fn run(request: &Request) -> Result<Calculation, Failure> {
    // the chip is as thick up as down
    let arc = Arc::beside(request.diameter_mm, request.ae_mm, Way::Up)?;
    let kappa_rad = request.kappa_deg.unwrap_or(90.0).to_radians();
    let found = chip::thickness(arc, request.feed_per_tooth_mm, kappa_rad)?;
    let leaves = request.feed_per_tooth_mm > CIRCULAR_UP_TO * request.diameter_mm;
    Ok(Calculation {
        inputs: vec![
            number("diameter_mm", "diameter", request.diameter_mm, "mm"),
            number("ae_mm", "width of cut", request.ae_mm, "mm"),
            number("feed_per_tooth_mm", "feed per tooth", request.feed_per_tooth_mm, "mm"),
            optional("kappa_deg", "contact angle", request.kappa_deg, "°"),
        ],
        results: vec![
            number("engagement_deg", "angle in the cut", arc.angle_rad().to_degrees(), "°"),
            number("chip_max_um", "largest chip thickness", mm_to_um(found.max_mm), "µm"),
            number("chip_mean_um", "mean chip thickness", mm_to_um(found.mean_mm), "µm"),
            words("warnings", "note", leaves.then(|| PATH.to_owned()).into_iter().collect()),
        ],
    })
}
