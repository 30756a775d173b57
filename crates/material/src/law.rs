//! Force per edge length over the thickness of the chip: straight lines, or a power of it.

use crate::force::Coefficients;
use crate::kienzle::{Kienzle, least_squares};
use units::Interval;

/// How the force on an edge grows with the chip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CuttingLaw {
    /// A straight line in each direction.
    Line(Coefficients),
    /// Kienzle's power of the thickness, the same in each direction.
    Power(PowerLaw),
}

/// Kienzle's law with the other directions in proportion to the tangential force.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PowerLaw {
    /// Specific cutting force at 1 mm chip thickness and 1 mm width, N/mm².
    pub kc11_n_mm2: f64,
    /// Exponent: force per edge length `kc1.1 · h^(1 − mc)`; 0 ≤ mc < 1.
    pub mc: f64,
    /// Radial over tangential force.
    pub radial_ratio: f64,
    /// Axial over tangential force.
    pub axial_ratio: f64,
}

impl PowerLaw {
    /// Of a law of the tangential force and two ratios.
    pub fn new(kienzle: &Kienzle, radial_ratio: f64, axial_ratio: f64) -> Self {
        Self { kc11_n_mm2: kienzle.kc11_n_mm2, mc: kienzle.mc, radial_ratio, axial_ratio }
    }

    /// Six coefficients of the lines that replace the law over a stretch of chip thickness that
    /// starts at 0 or above and has a length, by least squares.
    pub fn line(&self, over_mm: Interval) -> Coefficients {
        let line = least_squares(self.kc11_n_mm2, self.mc, over_mm);
        Coefficients {
            ktc_n_mm2: line.ktc_n_mm2,
            krc_n_mm2: self.radial_ratio * line.ktc_n_mm2,
            kac_n_mm2: self.axial_ratio * line.ktc_n_mm2,
            kte_n_mm: line.kte_n_mm,
            kre_n_mm: self.radial_ratio * line.kte_n_mm,
            kae_n_mm: self.axial_ratio * line.kte_n_mm,
        }
    }
}

impl CuttingLaw {
    /// Force per edge length at a chip thickness, tangential, radial and axial, N/mm.
    pub fn force_n_mm(&self, chip_mm: f64) -> [f64; 3] {
        match self {
            Self::Line(k) => [
                k.ktc_n_mm2 * chip_mm + k.kte_n_mm,
                k.krc_n_mm2 * chip_mm + k.kre_n_mm,
                k.kac_n_mm2 * chip_mm + k.kae_n_mm,
            ],
            Self::Power(p) => {
                let tangential = p.kc11_n_mm2 * chip_mm.max(0.0).powf(1.0 - p.mc);
                [tangential, p.radial_ratio * tangential, p.axial_ratio * tangential]
            }
        }
    }
}

impl From<Coefficients> for CuttingLaw {
    fn from(coefficients: Coefficients) -> Self {
        Self::Line(coefficients)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_short_line_lies_on_the_power() {
        let law = PowerLaw { kc11_n_mm2: 1700.0, mc: 0.25, radial_ratio: 0.4, axial_ratio: 0.2 };
        let line = CuttingLaw::Line(law.line(Interval::new(0.049, 0.051)));
        // derived: 1700 · 0.05^0.75 in decimal arithmetic
        let right = [179.753_11, 71.901_25, 35.950_62];
        for (found, right) in line.force_n_mm(0.05).iter().zip(right) {
            assert!((found / right - 1.0).abs() < 1e-4, "{found} {right}");
        }
        let exact = CuttingLaw::Power(law).force_n_mm(0.05)[0];
        assert!((exact / 179.753_11 - 1.0).abs() < 1e-6, "{exact}");
        // from no chip on
        let first = law.line(Interval::new(0.0, 0.01));
        assert!(first.kte_n_mm > 0.0 && first.ktc_n_mm2 > 0.0);
    }
}
