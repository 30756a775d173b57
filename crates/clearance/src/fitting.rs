//! The largest arc that fits: over a set of surface points by curvature, and by any further test.

use cutter::axis::{ContactFrame, Side};
use cutter::{Contact, Cutter, CutterSpec, Relative};
use geom::{Site, Vec3};
use thiserror::Error;

/// Smallest and largest arc radius that is looked for, mm.
const RANGE_MM: (f64, f64) = (0.5, 20_000.0);
/// Arc radii tried per decade before the bisection.
const PER_DECADE: f64 = 24.0;
/// The bisection ends at this share of the radius.
const RESOLVED: f64 = 1e-4;

/// A surface point with the direction of feed over it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Station {
    /// The surface point.
    pub site: Site,
    /// Direction of feed.
    pub feed: Vec3,
}

/// How the cutter is to lie on the surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lie {
    /// Contact angle, rad; the cutter's own default where left out.
    pub kappa_rad: Option<f64>,
    /// Lead towards the feed, rad.
    pub lead_rad: f64,
    /// Side to which the axis leans.
    pub side: Side,
}

/// The largest arc found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fit {
    /// Largest arc radius that fits, mm.
    pub arc_radius_mm: f64,
    /// Whether a larger one was tried and did not fit; otherwise the search ended at its range.
    pub bounded: bool,
}

/// Why no arc fits.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum FitError {
    /// None of the radii that the form can have fits.
    #[error(
        "no arc radius from {smallest_mm} mm to {largest_mm} mm fits with this form and diameter"
    )]
    None {
        /// Smallest radius tried, mm.
        smallest_mm: f64,
        /// Largest radius tried, mm.
        largest_mm: f64,
    },
}

/// Whether the cutter's arc touches every station and is free of the surface beside it; else the
/// number of the first station where it is not.
pub fn fits_locally(cutter: &Cutter, stations: &[Station], lie: &Lie) -> Result<(), usize> {
    let kappa = lie.kappa_rad.unwrap_or_else(|| cutter.default_kappa_rad());
    let contact = cutter.profile().arc_contact(kappa).map_err(|_| 0_usize)?;
    let bad = stations.iter().position(|s| !is_free(s, &contact, lie));
    bad.map_or(Ok(()), Err)
}

fn is_free(station: &Station, contact: &Contact, lie: &Lie) -> bool {
    ContactFrame::new(station.site.normal, station.feed)
        .and_then(|f| f.axis_at(contact.kappa_rad, lie.lead_rad, lie.side))
        .and_then(|axis| Relative::at(&station.site, axis, contact))
        .is_some_and(|r| r.is_free())
}

/// The largest arc radius of the form in `spec` with which the cutter exists and `fits`, resolved to
/// a ten-thousandth. Radii are tried from the largest down, so that a larger one is never missed
/// below a smaller one that fails, then bisected.
///
/// # Errors
/// [`FitError::None`] where no radius fits.
pub fn largest_fitting_arc(
    spec: &CutterSpec,
    fits: impl Fn(&Cutter) -> bool,
) -> Result<Fit, FitError> {
    let test = |r: f64| {
        let spec = CutterSpec { arc_radius_mm: Some(r), ..spec.clone() };
        Cutter::new(&spec).is_ok_and(|c| fits(&c))
    };
    let steps = ((RANGE_MM.1 / RANGE_MM.0).log10() * PER_DECADE).ceil() as i32;
    let radius =
        |i: i32| RANGE_MM.0 * (RANGE_MM.1 / RANGE_MM.0).powf(f64::from(i) / f64::from(steps));
    let Some(first) = (0..=steps).rev().find(|&i| test(radius(i))) else {
        return Err(FitError::None { smallest_mm: RANGE_MM.0, largest_mm: RANGE_MM.1 });
    };
    if first == steps {
        return Ok(Fit { arc_radius_mm: radius(steps), bounded: false });
    }
    let (mut good, mut bad) = (radius(first), radius(first + 1));
    while bad - good > RESOLVED * good {
        let middle = 0.5 * (good + bad);
        if test(middle) { good = middle } else { bad = middle }
    }
    Ok(Fit { arc_radius_mm: good, bounded: true })
}

#[cfg(test)]
mod tests {
    use super::*;
    use cutter::Form;
    use geom::{Sym2, TangentTensor};

    #[test]
    fn a_hollow_bounds_the_arc_by_its_own_radius() {
        let curvature = TangentTensor {
            e1: Vec3::X,
            e2: Vec3::Y,
            entries: Sym2::diagonal(1.0 / 200.0, 1.0 / 200.0),
        };
        let site = Site { point: Vec3::ZERO, normal: Vec3::Z, curvature };
        let stations = [Station { site, feed: Vec3::X }];
        let lie = Lie { kappa_rad: None, lead_rad: 0.0, side: Side::Left };
        let spec = CutterSpec { corner_radius_mm: Some(1.0), ..CutterSpec::new(Form::Lens, 12.0) };
        let fit = largest_fitting_arc(&spec, |c| fits_locally(c, &stations, &lie).is_ok());
        let fit = fit.expect("some arc fits");
        assert!(fit.bounded && (fit.arc_radius_mm / 200.0 - 1.0).abs() < 1e-3, "{fit:?}");
    }
}
