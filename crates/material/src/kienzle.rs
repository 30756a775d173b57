//! Kienzle's law of the tangential force, and straight lines in its place.
//!
//! Force per mm of edge width: `F/b = kc1.1 · h^(1 − mc)` with h in mm (O. Kienzle, Die Bestimmung
//! von Kräften und Leistungen an spanenden Werkzeugen und Werkzeugmaschinen, VDI-Z 94 (1952); from
//! memory). The curve is concave; a mechanistic law `Ktc · h + Kte` replaces it by a line. Derived:
//! the tangent lies above the curve everywhere, the secant below it between its two points and
//! above it outside.

use units::{Interval, OutOfRange, RangeCheck};

use crate::validity::Validity;

/// Constants of Kienzle's law.
#[derive(Debug, Clone, PartialEq)]
pub struct Kienzle {
    /// Specific cutting force at 1 mm chip thickness and 1 mm width, N/mm².
    pub kc11_n_mm2: f64,
    /// Exponent: `kc = kc1.1 · h^−mc`.
    pub mc: f64,
    /// Rake angle that the constants stand for, rad; `None` where the source does not say.
    pub rake_rad: Option<f64>,
    /// Range they were found over.
    pub validity: Validity,
}

/// A straight line in place of Kienzle's curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Linear {
    /// Slope, N/mm².
    pub ktc_n_mm2: f64,
    /// Force per edge length at no chip, N/mm.
    pub kte_n_mm: f64,
}

/// How the line is laid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Linearisation {
    /// Touches the curve at this chip thickness.
    Tangent {
        /// Chip thickness, mm.
        at_mm: f64,
    },
    /// Meets the curve at both ends.
    Secant {
        /// Chip thicknesses, mm.
        over_mm: Interval,
    },
    /// Least squares of the difference, every chip thickness of the interval alike.
    LeastSquares {
        /// Chip thicknesses, mm.
        over_mm: Interval,
    },
}

impl Linear {
    /// Force per edge length at a chip thickness, N/mm.
    pub fn force_n_mm(&self, chip_mm: f64) -> f64 {
        self.ktc_n_mm2 * chip_mm + self.kte_n_mm
    }
}

impl Kienzle {
    /// Specific cutting force at a chip thickness, N/mm².
    pub fn specific_n_mm2(&self, chip_mm: f64) -> f64 {
        self.kc11_n_mm2 * chip_mm.powf(-self.mc)
    }

    /// Force per edge length at a chip thickness, N/mm.
    pub fn force_n_mm(&self, chip_mm: f64) -> f64 {
        self.kc11_n_mm2 * chip_mm.powf(1.0 - self.mc)
    }

    /// The line that replaces the curve.
    ///
    /// # Errors
    /// A chip thickness that is not positive, or an interval without length.
    pub fn linear(&self, how: Linearisation) -> Result<Linear, OutOfRange> {
        match how {
            Linearisation::Tangent { at_mm } => Ok(self.tangent(at_mm.positive("chip_mm")?)),
            Linearisation::Secant { over_mm } => Ok(self.secant(long(over_mm)?)),
            Linearisation::LeastSquares { over_mm } => {
                Ok(least_squares(self.kc11_n_mm2, self.mc, long(over_mm)?))
            }
        }
    }

    fn tangent(&self, at_mm: f64) -> Linear {
        let force = self.force_n_mm(at_mm);
        Linear { ktc_n_mm2: (1.0 - self.mc) * force / at_mm, kte_n_mm: self.mc * force }
    }

    fn secant(&self, over_mm: Interval) -> Linear {
        let (low, high) = (self.force_n_mm(over_mm.low), self.force_n_mm(over_mm.high));
        let slope = (high - low) / over_mm.width();
        Linear { ktc_n_mm2: slope, kte_n_mm: low - slope * over_mm.low }
    }

    /// Largest relative difference of a line from the curve over an interval, line over curve − 1,
    /// with its sign. The ratio has one turning point, where the elasticity of the line is 1 − mc.
    pub fn worst_error(&self, line: &Linear, over_mm: Interval) -> f64 {
        let error = |chip_mm: f64| line.force_n_mm(chip_mm) / self.force_n_mm(chip_mm) - 1.0;
        let turning = line.kte_n_mm * (1.0 - self.mc) / (line.ktc_n_mm2 * self.mc);
        let mut worst = error(over_mm.high);
        for chip_mm in [over_mm.low, turning] {
            if over_mm.contains(chip_mm) && error(chip_mm).abs() > worst.abs() {
                worst = error(chip_mm);
            }
        }
        worst
    }
}

/// Normal equations of ∫ (a h + b − kc1.1 h^(1−mc))² dh, about the middle of the interval.
pub(crate) fn least_squares(kc11_n_mm2: f64, mc: f64, over_mm: Interval) -> Linear {
    let (middle, width) = (over_mm.middle(), over_mm.width());
    let moment = |power: f64| {
        let e = power + 2.0 - mc;
        (over_mm.high.powf(e) - over_mm.low.powf(e)) / e
    };
    let zeroth = kc11_n_mm2 * moment(0.0);
    let first = kc11_n_mm2 * moment(1.0) - middle * zeroth;
    let slope = first * 12.0 / width.powi(3);
    Linear { ktc_n_mm2: slope, kte_n_mm: zeroth / width - slope * middle }
}

fn long(over_mm: Interval) -> Result<Interval, OutOfRange> {
    let low = over_mm.low.positive("low chip_mm")?;
    (over_mm.high - low).positive("length of the chip thickness interval in mm")?;
    Ok(over_mm)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn law() -> Kienzle {
        Kienzle { kc11_n_mm2: 1700.0, mc: 0.25, rake_rad: None, validity: Validity::default() }
    }

    /// Derived with independent arithmetic in decimal numbers: 1700 · 0.05^−0.25 and its parts.
    #[test]
    fn the_tangent_touches() {
        let line = law().linear(Linearisation::Tangent { at_mm: 0.05 }).unwrap();
        assert!((line.ktc_n_mm2 - 2696.297).abs() < 1e-3);
        assert!((line.kte_n_mm - 44.938_28).abs() < 1e-5);
        assert!((line.force_n_mm(0.02) - 98.864_21).abs() < 1e-5);
        assert!((law().force_n_mm(0.02) - 90.411_03).abs() < 1e-5);
    }

    #[test]
    fn the_secant_meets_both_ends_and_lies_below_between() {
        let over_mm = Interval::new(0.02, 0.1);
        let line = law().linear(Linearisation::Secant { over_mm }).unwrap();
        for h in [0.02, 0.1] {
            assert!((line.force_n_mm(h) / law().force_n_mm(h) - 1.0).abs() < 1e-12);
        }
        assert!(line.force_n_mm(0.05) < law().force_n_mm(0.05));
        assert!(line.force_n_mm(0.005) > law().force_n_mm(0.005));
    }

    /// Against least squares on a fine grid of midpoints.
    #[test]
    fn least_squares_agree_with_a_fine_grid() {
        let over_mm = Interval::new(0.01, 0.1);
        let line = law().linear(Linearisation::LeastSquares { over_mm }).unwrap();
        let (n, mut s) = (200_000, [0.0; 4]);
        for i in 0..n {
            let h = 0.01 + 0.09 * (f64::from(i) + 0.5) / f64::from(n);
            let f = law().force_n_mm(h);
            for (sum, term) in s.iter_mut().zip([h, h * h, f, h * f]) {
                *sum += term / f64::from(n);
            }
        }
        let slope = (s[3] - s[0] * s[2]) / (s[1] - s[0] * s[0]);
        assert!((line.ktc_n_mm2 / slope - 1.0).abs() < 1e-8);
        assert!((line.kte_n_mm / (s[2] - slope * s[0]) - 1.0).abs() < 1e-8);
        let worst = law().worst_error(&line, over_mm);
        assert!((worst - 0.2453).abs() < 1e-3, "{worst}");
    }

    #[test]
    fn no_line_without_a_chip() {
        let law = law();
        assert!(law.linear(Linearisation::Tangent { at_mm: 0.0 }).is_err());
        assert!(law.linear(Linearisation::Tangent { at_mm: f64::NAN }).is_err());
        let over_mm = Interval::point(0.1);
        assert!(law.linear(Linearisation::Secant { over_mm }).is_err());
        let over_mm = Interval::new(-0.1, 0.1);
        assert!(law.linear(Linearisation::LeastSquares { over_mm }).is_err());
    }
}
