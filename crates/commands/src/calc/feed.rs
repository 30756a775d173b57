//! `calc feed`: the feed whose chip is as thick as wanted.

use super::{Calculation, number, optional, words};
use crate::failure::Failure;
use mechanics::chip;
use mechanics::engagement::peripheral::{Arc, Way};
use units::RangeCheck;
use units::convert::um_to_mm;

/// A cut and the chip that is wanted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Request {
    /// Diameter, mm.
    pub diameter_mm: f64,
    /// Number of teeth.
    pub teeth: u32,
    /// Spindle speed, rev/min.
    pub rpm: f64,
    /// Width of cut across the axis, mm.
    pub ae_mm: f64,
    /// Largest chip thickness, µm.
    pub chip_max_um: f64,
    /// Angle between the edge's normal and the axis, degrees; left out: 90.
    pub kappa_deg: Option<f64>,
}

/// Runs the calculation.
///
/// # Errors
/// A value out of range.
pub fn run(request: &Request) -> Result<Calculation, Failure> {
    let teeth = f64::from(request.teeth).positive("--teeth")?;
    let rpm = request.rpm.positive("--rpm")?;
    let arc = Arc::beside(request.diameter_mm, request.ae_mm, Way::Up)?;
    let kappa_rad = request.kappa_deg.unwrap_or(90.0).to_radians();
    let feed = chip::feed_for(arc, um_to_mm(request.chip_max_um), kappa_rad)?;
    let far = feed > chip::CIRCULAR_UP_TO * request.diameter_mm;
    let warning = "the cut is so narrow that the chip stays thin at any usual feed: cap the feed by \
                   what edge, runout and machine stand";
    Ok(Calculation {
        inputs: vec![
            number("diameter_mm", "diameter", request.diameter_mm, "mm"),
            number("teeth", "teeth", teeth, ""),
            number("rpm", "spindle", rpm, "1/min"),
            number("ae_mm", "width of cut", request.ae_mm, "mm"),
            number("chip_max_um", "largest chip thickness", request.chip_max_um, "µm"),
            optional("kappa_deg", "contact angle", request.kappa_deg, "°"),
        ],
        results: vec![
            number("feed_per_tooth_mm", "feed per tooth", feed, "mm"),
            number("feed_mm_min", "feed", feed * teeth * rpm, "mm/min"),
            words("warnings", "note", far.then(|| warning.to_owned()).into_iter().collect()),
        ],
    })
}
