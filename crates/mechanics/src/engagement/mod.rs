//! Where on the cutter metal is cut: the angles between which a tooth is in the cut, by height.
//!
//! The angle of a tooth runs from +y towards +x, with x along the feed and z along the axis towards
//! the spindle (clockwise seen from the spindle). An up-milling tooth enters at 0; a down-milling
//! tooth leaves at π.

pub mod face;
pub mod peripheral;

/// A thin ring of the cutter with the angles between which its teeth are in the cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slice {
    /// Height of its middle over the tip, mm.
    pub z_mm: f64,
    /// Radius there, mm.
    pub radius_mm: f64,
    /// Angle between the profile's normal and the axis (downwards), rad: the cutting-edge angle.
    pub kappa_rad: f64,
    /// Length along the profile, mm: the width of the chip.
    pub width_mm: f64,
    /// How far a tooth lags behind its tip at the middle, rad.
    pub lag_rad: f64,
    /// How much the lag grows over the slice, rad.
    pub lag_span_rad: f64,
    /// Angle at which a tooth enters at the middle, rad.
    pub entry_rad: f64,
    /// Angle at which it leaves there, rad.
    pub exit_rad: f64,
    /// How much the entry grows over the slice, from its lower end to its upper, rad.
    pub entry_span_rad: f64,
    /// How much the exit grows over it, rad.
    pub exit_span_rad: f64,
}

impl Slice {
    /// Angle over which a tooth is in the cut, rad.
    pub fn arc_rad(&self) -> f64 {
        (self.exit_rad - self.entry_rad).max(0.0)
    }

    /// Largest sine of the angle while in the cut: where the chip is thickest.
    pub fn largest_sine(&self) -> f64 {
        let half = std::f64::consts::FRAC_PI_2;
        if self.entry_rad <= half && self.exit_rad >= half {
            return 1.0;
        }
        self.entry_rad.sin().max(self.exit_rad.sin())
    }
}

/// Lag of a tooth behind its tip over a height on a radius, rad (theory of the helix:
/// `dz tan(helix) / r`).
pub fn lag_rad(dz_mm: f64, helix_rad: f64, radius_mm: f64) -> f64 {
    if radius_mm > 0.0 { dz_mm * helix_rad.tan() / radius_mm } else { 0.0 }
}
