//! How the cutter gives way: modes or a measured response for each axis.

use num_complex::Complex64;
use units::{OutOfRange, RangeCheck};

use crate::fit::Fit;
use crate::frf::MeasuredResponse;

/// One mode as seen at the tip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mode {
    /// Undamped natural frequency, Hz.
    pub frequency_hz: f64,
    /// Damping ratio, 0 to 1.
    pub damping: f64,
    /// Modal stiffness at the tip, N/mm.
    pub stiffness_n_mm: f64,
}

impl Mode {
    /// A mode.
    ///
    /// # Errors
    /// A value that no damped mode has.
    pub fn new(frequency_hz: f64, damping: f64, stiffness_n_mm: f64) -> Result<Self, OutOfRange> {
        frequency_hz.positive("frequency of the mode")?;
        damping.positive("damping ratio of the mode")?;
        damping.within("damping ratio of the mode", 0.0, 0.99)?;
        stiffness_n_mm.positive("stiffness of the mode")?;
        Ok(Self { frequency_hz, damping, stiffness_n_mm })
    }

    /// Undamped natural frequency, rad/s.
    pub fn omega_rad_s(&self) -> f64 {
        std::f64::consts::TAU * self.frequency_hz
    }

    /// Displacement over force, mm/N, at `omega_rad_s`.
    pub fn response(&self, omega_rad_s: f64) -> Complex64 {
        let ratio = omega_rad_s / self.omega_rad_s();
        let bracket = Complex64::new(1.0 - ratio * ratio, 2.0 * self.damping * ratio);
        bracket.inv() / self.stiffness_n_mm
    }

    /// Largest |displacement over force|, mm/N.
    pub fn peak_mm_n(&self) -> f64 {
        let zeta = self.damping;
        let rise = if zeta < std::f64::consts::FRAC_1_SQRT_2 {
            0.5 / (zeta * (1.0 - zeta * zeta).sqrt())
        } else {
            1.0
        };
        rise / self.stiffness_n_mm
    }
}

/// One axis of the structure.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Axis {
    /// Does not give way.
    #[default]
    Rigid,
    /// The sum of these modes.
    Modes(Vec<Mode>),
    /// As measured.
    Measured(MeasuredResponse),
    /// Modes fitted to what was measured, and a rest without mass.
    Fitted(Fit),
}

impl Axis {
    /// An axis with one mode.
    pub fn mode(mode: Mode) -> Self {
        Self::Modes(vec![mode])
    }

    /// Displacement over force, mm/N; `None` outside the band of a measured response.
    pub fn response(&self, omega_rad_s: f64) -> Option<Complex64> {
        match self {
            Self::Rigid => Some(Complex64::ZERO),
            Self::Modes(modes) => Some(modes.iter().map(|m| m.response(omega_rad_s)).sum()),
            Self::Measured(measured) => measured.response(omega_rad_s),
            Self::Fitted(fit) => Some(fit.response(omega_rad_s)),
        }
    }

    /// Whether the axis does not give way.
    pub fn is_rigid(&self) -> bool {
        match self {
            Self::Rigid => true,
            Self::Modes(modes) => modes.is_empty(),
            Self::Measured(_) | Self::Fitted(_) => false,
        }
    }

    /// The modes, where the axis is described by modes.
    pub fn modes(&self) -> Option<&[Mode]> {
        match self {
            Self::Rigid => Some(&[]),
            Self::Modes(modes) => Some(modes),
            Self::Measured(_) => None,
            Self::Fitted(fit) => Some(fit.modes()),
        }
    }

    /// Give without mass, mm/N.
    pub fn rest_mm_n(&self) -> f64 {
        if let Self::Fitted(fit) = self { fit.rest_mm_n() } else { 0.0 }
    }
}

/// The structure at the tip: x along the feed, y across it; no coupling between them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Structure {
    /// Along the feed.
    pub x: Axis,
    /// Across the feed.
    pub y: Axis,
}

impl Structure {
    /// Displacement over force of both axes, mm/N; `None` outside a measured band.
    pub fn response(&self, omega_rad_s: f64) -> Option<[Complex64; 2]> {
        Some([self.x.response(omega_rad_s)?, self.y.response(omega_rad_s)?])
    }

    /// Whether nothing gives way.
    pub fn is_rigid(&self) -> bool {
        self.x.is_rigid() && self.y.is_rigid()
    }

    /// Both axes.
    pub(crate) fn axes(&self) -> [&Axis; 2] {
        [&self.x, &self.y]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_peak_is_the_largest_of_a_fine_grid() {
        for damping in [0.011, 0.2, 0.69, 0.72] {
            let mode = Mode::new(922.0, damping, 1340.05).unwrap();
            let grid = (1..40_000).map(|i| mode.response(0.3 * f64::from(i)).norm());
            let largest = grid.fold(1.0 / mode.stiffness_n_mm, f64::max);
            assert!((largest / mode.peak_mm_n() - 1.0).abs() < 1e-5);
        }
    }

    #[test]
    fn the_real_part_has_its_extremes_where_the_closed_form_says() {
        // extreme of Re G = 1/(2k(2ζ ± 2ζ²))
        let mode = Mode::new(500.0, 0.03, 9000.0).unwrap();
        let at = |ratio: f64| mode.response(mode.omega_rad_s() * ratio).re;
        let low = at((1.0_f64 + 2.0 * 0.03).sqrt());
        assert!((low + 1.0 / (4.0 * 9000.0 * 0.03 * 1.03)).abs() < 1e-15);
        let high = at((1.0_f64 - 2.0 * 0.03).sqrt());
        assert!((high - 1.0 / (4.0 * 9000.0 * 0.03 * 0.97)).abs() < 1e-15);
    }
}
