//! `calc move`: the time of a straight move from rest to rest.

use super::{Calculation, number};
use crate::failure::Failure;
use motion::profile::{Move, MoveLimits};
use units::RangeCheck;
use units::convert::{m_to_mm, mm_min_to_mm_s, mm_s_to_mm_min};

/// A distance and the limits of the axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Request {
    /// Distance, mm.
    pub distance_mm: f64,
    /// Fastest feed, mm/min.
    pub vmax_mm_min: f64,
    /// Acceleration, m/s².
    pub amax_m_s2: f64,
    /// Jerk, m/s³.
    pub jmax_m_s3: f64,
}

/// Runs the calculation.
///
/// # Errors
/// A value that is not positive.
pub fn run(request: &Request) -> Result<Calculation, Failure> {
    let distance_mm = request.distance_mm.positive("--distance")?;
    let limits = MoveLimits {
        speed: mm_min_to_mm_s(request.vmax_mm_min.positive("--vmax")?),
        acceleration: m_to_mm(request.amax_m_s2.positive("--amax")?),
        jerk: m_to_mm(request.jmax_m_s3.positive("--jmax")?),
    };
    let planned = Move::rest_to_rest(distance_mm, &limits).map_err(|error| {
        Failure::call(error.to_string(), "a move that can be made", "correct the value")
    })?;
    let peak_mm_min = mm_s_to_mm_min(planned.peak_speed());
    Ok(Calculation {
        inputs: vec![
            number("distance_mm", "distance", distance_mm, "mm"),
            number("vmax_mm_min", "fastest feed", request.vmax_mm_min, "mm/min"),
            number("amax_m_s2", "acceleration", request.amax_m_s2, "m/s²"),
            number("jmax_m_s3", "jerk", request.jmax_m_s3, "m/s³"),
        ],
        results: vec![
            number("time_s", "time", planned.time_s(), "s"),
            number("peak_feed_mm_min", "highest feed reached", peak_mm_min, "mm/min"),
        ],
    })
}
