//! A straight edge of stock beside a cylinder: peripheral cuts, slots and face milling.

use super::{Slice, lag_rad};
use std::f64::consts::{FRAC_PI_2, PI};
use units::{OutOfRange, RangeCheck};

/// Which way the teeth move against the feed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// The chip starts thin: the tooth moves against the feed.
    Up,
    /// The chip ends thin: the tooth moves with the feed.
    Down,
}

/// Angles of entry and exit, rad.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arc {
    /// Entry, rad.
    pub entry_rad: f64,
    /// Exit, rad.
    pub exit_rad: f64,
}

impl Arc {
    /// A cut of width `ae` beside a cutter of diameter `diameter_mm`: `cos φ = 1 − 2 ae / D`
    /// (derived from the circle).
    ///
    /// # Errors
    /// A diameter that is not positive; a width that is not between 0 and the diameter.
    pub fn beside(diameter_mm: f64, width_mm: f64, way: Way) -> Result<Self, OutOfRange> {
        let diameter = diameter_mm.positive("the diameter in mm")?;
        let width = width_mm.positive("the width of cut in mm")?;
        let width = width.within("the width of cut in mm", 0.0, diameter)?;
        // half-angle form: exact for thin cuts too
        let angle = 2.0 * (width / diameter).sqrt().clamp(0.0, 1.0).asin();
        Ok(match way {
            Way::Up => Self { entry_rad: 0.0, exit_rad: angle },
            Way::Down => Self { entry_rad: PI - angle, exit_rad: PI },
        })
    }

    /// Face milling: stock of `width_mm` whose middle lies `offset_mm` off the axis towards +y
    /// (angle 0).
    ///
    /// # Errors
    /// As [`Arc::beside`]; stock that reaches past the cutter on neither side in part.
    pub fn across(diameter_mm: f64, width_mm: f64, offset_mm: f64) -> Result<Self, OutOfRange> {
        let diameter = diameter_mm.positive("the diameter in mm")?;
        let width = width_mm.positive("the width of cut in mm")?;
        let reach = 0.5 * (diameter + width);
        let offset = offset_mm.within("the offset of the stock in mm", -reach, reach)?;
        let cosine = |y: f64| (2.0 * y / diameter).clamp(-1.0, 1.0).acos();
        Ok(Self { entry_rad: cosine(offset + 0.5 * width), exit_rad: cosine(offset - 0.5 * width) })
    }

    /// Angle in the cut, rad.
    pub fn angle_rad(&self) -> f64 {
        self.exit_rad - self.entry_rad
    }
}

/// The engaged cylinder as one slice of depth `depth_mm`.
pub fn cylinder(diameter_mm: f64, depth_mm: f64, helix_rad: f64, arc: Arc) -> Slice {
    let radius_mm = 0.5 * diameter_mm;
    let span = lag_rad(depth_mm, helix_rad, radius_mm);
    Slice {
        z_mm: 0.5 * depth_mm,
        radius_mm,
        kappa_rad: FRAC_PI_2,
        width_mm: depth_mm,
        lag_rad: 0.5 * span,
        lag_span_rad: span,
        entry_rad: arc.entry_rad,
        exit_rad: arc.exit_rad,
        entry_span_rad: 0.0,
        exit_span_rad: 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn arcs_of_straight_stock() {
        // derived: acos(1 - 2 ae/D)
        let up = Arc::beside(12.0, 1.3, Way::Up).unwrap();
        assert!((up.exit_rad.to_degrees() - 38.433_21).abs() < 5e-6);
        let down = Arc::beside(12.0, 1.3, Way::Down).unwrap();
        assert!((down.entry_rad.to_degrees() - 141.566_8).abs() < 5e-5);
        let slot = Arc::beside(10.0, 10.0, Way::Down).unwrap();
        assert!((slot.angle_rad() - PI).abs() < 1e-12);
        let face = Arc::across(50.0, 32.0, 6.0).unwrap();
        assert!((face.entry_rad.to_degrees() - 28.357_64).abs() < 5e-6);
        assert!((face.exit_rad.to_degrees() - 113.578_2).abs() < 5e-5);
    }

    #[test]
    fn a_cut_wider_than_the_cutter_is_refused() {
        assert!(Arc::beside(10.0, 10.1, Way::Up).is_err());
        assert!(Arc::beside(10.0, 0.0, Way::Up).is_err());
        assert!(Arc::beside(f64::NAN, 1.0, Way::Up).is_err());
    }
}
