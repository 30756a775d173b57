//! Exact circle geometry of two neighbouring passes in the plane across the feed.
//!
//! The tool shows an arc, the part a circle (or a line); neighbouring contact points are a step
//! apart along the part, and the two arcs cross half-way in between. Every formula is in the form
//! that neither cancels for a small step nor needs a case for a flat part.

use thiserror::Error;

/// Why two neighbouring arcs have no finite cusp or step-over.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum CircleError {
    /// A length that must be positive and finite is not.
    #[error("{what} is {value}, expected a finite number greater than 0")]
    NotPositive {
        /// The length's name, with its unit.
        what: &'static str,
        /// Its value.
        value: f64,
    },
    /// A surface radius of zero or not a number.
    #[error(
        "the surface radius is {value} mm, expected a number other than 0 (positive convex, negative concave, left out for flat)"
    )]
    NoSurface {
        /// Its value, mm.
        value: f64,
    },
    /// The arc is larger than the hollow that it is to touch.
    #[error(
        "an arc of radius {arc_radius_mm} mm gouges a concave surface of radius {surface_radius_mm} mm: the arc must be smaller than the hollow"
    )]
    Gouges {
        /// Radius of the tool's arc, mm.
        arc_radius_mm: f64,
        /// Radius of the hollow, mm, positive.
        surface_radius_mm: f64,
    },
    /// The relative curvature across the feed is not positive: the tool digs in beside the contact.
    #[error(
        "the tool gouges beside the contact: the curvature left across the feed is {relative_per_mm} per mm, expected more than 0"
    )]
    GougesBeside {
        /// Relative curvature across the feed, 1/mm.
        relative_per_mm: f64,
    },
    /// The step is so wide that the neighbouring arcs do not cross.
    #[error(
        "at a step-over of {stepover_mm} mm the neighbouring arcs do not meet; the widest step at which they do is {widest_mm} mm"
    )]
    DoNotMeet {
        /// Step along the surface, mm.
        stepover_mm: f64,
        /// Widest step at which the arcs still cross, mm.
        widest_mm: f64,
    },
    /// The cusp is higher than the arcs can leave.
    #[error(
        "a cusp of {cusp_mm} mm is higher than these arcs can leave; the highest is {highest_mm} mm"
    )]
    TooHigh {
        /// Cusp that was asked for, mm.
        cusp_mm: f64,
        /// Highest cusp between arcs that still cross, mm.
        highest_mm: f64,
    },
    /// The arc fills the hollow: no step-over is the largest.
    #[error(
        "the arc's radius equals the hollow's, so that no step-over leaves a cusp: there is no largest step-over"
    )]
    NoCusp,
}

/// The tool's arc against the surface, both as circles in the plane across the feed.
///
/// Made from radii or from curvatures; the tool's own curvature may be zero or negative (a swept
/// tool can be hollow across the feed), the relative curvature may not.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    /// Curvature of the tool's arc, 1/mm.
    tool: f64,
    /// Curvature of the surface, 1/mm, positive **convex** (so that `relative = tool + surface`).
    surface: f64,
    /// Relative curvature, 1/mm, never negative.
    relative: f64,
}

fn positive(what: &'static str, value: f64) -> Result<f64, CircleError> {
    if value > 0.0 && value.is_finite() {
        Ok(value)
    } else {
        Err(CircleError::NotPositive { what, value })
    }
}

/// `sin x / x`.
fn sinc(x: f64) -> f64 {
    if x.abs() < 1e-4 { 1.0 - x * x / 6.0 } else { x.sin() / x }
}

impl Section {
    /// From the radius of the tool's arc and that of the surface, mm: positive convex, negative
    /// concave, infinite flat.
    pub fn from_radii(arc_radius_mm: f64, surface_radius_mm: f64) -> Result<Self, CircleError> {
        let r = positive("the arc's radius in mm", arc_radius_mm)?;
        if surface_radius_mm == 0.0 || surface_radius_mm.is_nan() {
            return Err(CircleError::NoSurface { value: surface_radius_mm });
        }
        if surface_radius_mm < 0.0 && r > -surface_radius_mm {
            return Err(CircleError::Gouges {
                arc_radius_mm,
                surface_radius_mm: -surface_radius_mm,
            });
        }
        let tool = 1.0 / r;
        let surface = 1.0 / surface_radius_mm;
        let relative = if surface_radius_mm.is_infinite() {
            tool
        } else {
            // the sum of the radii cancels exactly where they nearly match, 1/r + 1/rho does not
            (surface_radius_mm + r) / surface_radius_mm / r
        };
        Ok(Self { tool, surface, relative })
    }

    /// From the relative curvature that a pass leaves across the feed and the curvature of the
    /// surface there, 1/mm, positive where it **rises towards the tool**: the arc is then
    /// `R = 1/(k + S)`, the surface `rho = -1/S`, and their curvatures add up to `k`.
    pub fn from_curvatures(relative_per_mm: f64, rises_per_mm: f64) -> Result<Self, CircleError> {
        if relative_per_mm > 0.0 && relative_per_mm.is_finite() && rises_per_mm.is_finite() {
            return Ok(Self {
                tool: relative_per_mm + rises_per_mm,
                surface: -rises_per_mm,
                relative: relative_per_mm,
            });
        }
        Err(CircleError::GougesBeside { relative_per_mm })
    }

    /// Relative curvature, 1/mm.
    pub fn relative_per_mm(&self) -> f64 {
        self.relative
    }

    /// Cusp height along the surface normal half-way between contact points that are
    /// `stepover_mm` apart along the surface, mm.
    pub fn cusp_mm(&self, stepover_mm: f64) -> Result<f64, CircleError> {
        let s = positive("the step-over in mm", stepover_mm)?;
        let widest_mm = self.widest_stepover_mm();
        if s > widest_mm {
            return Err(CircleError::DoNotMeet { stepover_mm, widest_mm });
        }
        Ok(self.gap_mm(0.5 * s))
    }

    /// Mean over the arc length of the height along the normal that passes `stepover_mm` apart
    /// leave, mm.
    pub fn cusp_mean_mm(&self, stepover_mm: f64) -> Result<f64, CircleError> {
        self.cusp_mm(stepover_mm)?;
        let half = 0.5 * stepover_mm;
        // beyond a quarter turn inside a hollow the gap has a knee: integrate the parts apart
        let quarter = std::f64::consts::FRAC_PI_2 / self.surface.abs();
        let knee = half.min(quarter);
        let integral = integrate(|t| self.gap_mm(t), 0.0, knee)
            + if half > knee { integrate(|t| self.gap_mm(t), knee, half) } else { 0.0 };
        Ok(integral / half)
    }

    /// Step-over along the surface that leaves a cusp of `cusp_mm`, mm: the inverse of
    /// [`Section::cusp_mm`].
    pub fn stepover_mm(&self, cusp_mm: f64) -> Result<f64, CircleError> {
        let h = positive("the cusp in mm", cusp_mm)?;
        if self.relative == 0.0 {
            return Err(CircleError::NoCusp);
        }
        let highest_mm = self.highest_cusp_mm();
        if h > highest_mm {
            return Err(CircleError::TooHigh { cusp_mm, highest_mm });
        }
        let c = self.surface.abs();
        // chord between the contact and the foot of the peak, as if both lay at mid-step
        let w = (h * (2.0 - self.tool * h) / (self.relative * (1.0 + self.surface * h))).sqrt();
        let x = (0.5 * w * c).min(1.0);
        let widest = self.widest_stepover_mm();
        let s = if x < 1e-4 { 2.0 * w * (1.0 + x * x / 6.0) } else { 4.0 * x.asin() / c };
        Ok(s.min(widest))
    }

    /// Gap along the surface normal at arc length `t_mm` from the contact, mm; `t_mm` within
    /// half the widest step.
    pub fn gap_mm(&self, t_mm: f64) -> f64 {
        let half_turn = 0.5 * t_mm * self.surface;
        let w = t_mm * sinc(half_turn);
        let a = w * w * self.relative;
        let b = 1.0 - 0.5 * a * self.surface;
        let y = self.relative * t_mm * sinc(t_mm * self.surface);
        let root = ((1.0 - y) * (1.0 + y)).max(0.0).sqrt();
        a / (b + root)
    }

    /// Widest step at which neighbouring arcs still cross, mm; infinite where the arc fills the
    /// hollow.
    pub fn widest_stepover_mm(&self) -> f64 {
        use std::f64::consts::PI;
        if self.surface == 0.0 {
            return 2.0 / self.relative;
        }
        let c = self.surface.abs();
        if self.relative >= c {
            return 2.0 * (c / self.relative).asin() / c;
        }
        if self.surface > 0.0 { PI / c } else { 2.0 * PI / c }
    }

    /// Highest cusp that two arcs which still cross can leave, mm.
    pub fn highest_cusp_mm(&self) -> f64 {
        self.gap_mm(0.5 * self.widest_stepover_mm())
    }

    /// Widest step-over for which the peak still lies on an arc of which `side_mm` is left on the
    /// shorter side of the contact, measured along the arc, mm.
    pub fn band_stepover_mm(&self, side_mm: f64) -> f64 {
        // phi: angle at the arc's centre between the normal and the end of the arc
        let phi = side_mm * self.tool;
        if phi.abs() >= std::f64::consts::FRAC_PI_2 {
            return self.widest_stepover_mm();
        }
        let across = side_mm * sinc(phi);
        let half = 0.5 * side_mm * sinc(0.5 * phi);
        let up = 2.0 * half * half * self.tool;
        let x = self.surface * across / (1.0 + self.surface * up);
        let s = if x.abs() < 1e-8 { 2.0 * across } else { 2.0 * x.atan() / self.surface };
        if s > 0.0 { s.min(self.widest_stepover_mm()) } else { self.widest_stepover_mm() }
    }
}

/// Integral of a function that is smooth inside and may have a root-like edge at either end, by
/// the double-exponential rule (Takahasi and Mori 1974).
fn integrate(f: impl Fn(f64) -> f64, lo: f64, hi: f64) -> f64 {
    const STEPS: i32 = 56;
    const STEP: f64 = 3.6 / STEPS as f64;
    let (mid, half) = (0.5 * (lo + hi), 0.5 * (hi - lo));
    let mut sum = 0.0;
    for i in -STEPS..=STEPS {
        let t = f64::from(i) * STEP;
        let u = std::f64::consts::FRAC_PI_2 * t.sinh();
        let weight = std::f64::consts::FRAC_PI_2 * t.cosh() / (u.cosh() * u.cosh());
        sum += weight * f(mid + half * u.tanh());
    }
    sum * STEP * half
}

/// Cusp of an arc of `arc_radius_mm` on a surface of `surface_radius_mm` (positive convex, negative
/// concave, infinite flat) at a step along the surface, mm.
pub fn cusp_mm(
    arc_radius_mm: f64,
    surface_radius_mm: f64,
    stepover_mm: f64,
) -> Result<f64, CircleError> {
    Section::from_radii(arc_radius_mm, surface_radius_mm)?.cusp_mm(stepover_mm)
}

/// Arc-length mean of the cusp's height along the normal, mm; arguments as [`cusp_mm`].
pub fn cusp_mean_mm(
    arc_radius_mm: f64,
    surface_radius_mm: f64,
    stepover_mm: f64,
) -> Result<f64, CircleError> {
    Section::from_radii(arc_radius_mm, surface_radius_mm)?.cusp_mean_mm(stepover_mm)
}

/// Step along the surface that leaves a cusp, mm; the inverse of [`cusp_mm`].
pub fn stepover_mm(
    arc_radius_mm: f64,
    surface_radius_mm: f64,
    cusp_mm: f64,
) -> Result<f64, CircleError> {
    Section::from_radii(arc_radius_mm, surface_radius_mm)?.stepover_mm(cusp_mm)
}

#[cfg(test)]
mod tests {
    use super::*;

    const FLAT: f64 = f64::INFINITY;

    fn close(got: f64, want: f64, relative: f64) {
        assert!((got / want - 1.0).abs() <= relative, "{got} against {want}");
    }

    /// Radius, surface radius, step, cusp in µm. Derived: two-circle intersection, confirmed by
    /// casting rays at the two neighbouring tool circles.
    const CUSPS_UM: [(f64, f64, f64, f64); 19] = [
        (3.0, FLAT, 0.3, 3.752_346_7),
        (5.0, FLAT, 0.5, 6.253_911_1),
        (8.0, FLAT, 1.0, 15.640_289),
        (5.0, FLAT, 2.0, 101.020_51),
        (50.0, FLAT, 2.0, 10.001),
        (85.0, FLAT, 3.0, 13.236_325),
        (1000.0, FLAT, 5.0, 3.125_004_9),
        (5.0, 20.0, 0.5, 7.821_571_2),
        (5.0, 50.0, 0.5, 6.880_666_1),
        (5.0, 100.0, 1.0, 26.326_163),
        (5.0, -8.0, 0.5, 2.343_421_9),
        (5.0, -20.0, 0.5, 4.688_538_3),
        (5.0, -100.0, 1.0, 23.800_946),
        (85.0, 100.0, 2.0, 10.884_144),
        (250.0, 150.0, 2.0, 5.333_560_1),
        (250.0, 500.0, 3.0, 6.750_177_2),
        (85.0, -100.0, 2.0, 0.882_342_38),
        (85.0, -300.0, 3.0, 9.485_503_7),
        (250.0, -500.0, 4.0, 3.999_994_7),
    ];

    #[test]
    fn cusps_of_two_circles() {
        for (r, rho, s, um) in CUSPS_UM {
            close(cusp_mm(r, rho, s).expect("arcs meet") * 1e3, um, 6e-8);
        }
        // derived: half-angle cosine rule
        close(cusp_mm(6.0, 75.0, 0.4).expect("meets") * 1e3, 3.601_251, 2e-7);
        close(cusp_mm(6.0, -75.0, 0.4).expect("meets") * 1e3, 3.067_323, 2e-7);
        close(cusp_mm(250.0, 500.0, 3.7).expect("meets") * 1e3, 10.267_91, 5e-7);
        close(cusp_mm(250.0, -900.0, 3.7).expect("meets") * 1e3, 4.943_631, 2e-7);
    }

    #[test]
    fn the_textbook_form_agrees_where_it_does_not_cancel() {
        for (r, rho, s) in [(6.0, 9.0, 5.0), (30.0, 40.0, 30.0), (2.0, 100.0, 3.5)] {
            let theta: f64 = s / (2.0 * rho);
            let d = rho + r;
            let exact = d * theta.cos() - (r * r - (d * theta.sin()).powi(2)).sqrt() - rho;
            close(cusp_mm(r, rho, s).expect("meets"), exact, 1e-12);
        }
        for (r, rho, s) in [(6.0, 9.0, 20.0), (30.0, 40.0, 100.0), (2.0, 10.0, 4.0)] {
            let theta: f64 = s / (2.0 * rho);
            let d: f64 = rho - r;
            let exact = rho - (d * theta.cos() + (r * r - (d * theta.sin()).powi(2)).sqrt());
            close(cusp_mm(r, -rho, s).expect("meets"), exact, 1e-12);
        }
    }

    #[test]
    fn steps_for_a_cusp() {
        // derived: algebraic inverse
        for (r, um, s) in [
            (5.0, 2.0, 0.282_814_43),
            (85.0, 5.0, 1.843_881_8),
            (250.0, 5.0, 3.162_261_8),
            (1000.0, 10.0, 8.944_249_5),
        ] {
            close(stepover_mm(r, FLAT, um * 1e-3).expect("finite"), s, 3e-8);
        }
        close(stepover_mm(250.0, 500.0, 5e-3).expect("finite"), 2.581_964, 2e-7);
        close(stepover_mm(250.0, -900.0, 5e-3).expect("finite"), 3.721_034, 2e-7);
    }

    #[test]
    fn step_and_cusp_are_inverse_to_each_other() {
        for (r, rho, s, _) in CUSPS_UM {
            for scale in [1e-3, 0.1, 1.0, 1.3] {
                let h = cusp_mm(r, rho, s * scale).expect("meets");
                close(stepover_mm(r, rho, h).expect("finite"), s * scale, 1e-12);
            }
        }
        // deep inside a hollow, beyond a quarter turn
        let h = cusp_mm(9.0, -10.0, 40.0).expect("meets");
        close(stepover_mm(9.0, -10.0, h).expect("finite"), 40.0, 1e-9);
    }

    #[test]
    fn small_steps_do_not_cancel() {
        // leading order s²/8 (1/R + 1/rho), exact to 1e-12 at this step
        for (r, rho) in [(1000.0, FLAT), (1000.0, 300.0), (300.0, -1000.0), (999.0, -1000.0)] {
            let s = 1e-4;
            let inverse = if f64::is_infinite(rho) { 0.0 } else { 1.0 / rho };
            let leading = s * s / 8.0 * (1.0 / r + inverse);
            close(cusp_mm(r, rho, s).expect("meets"), leading, 1e-12);
        }
    }

    #[test]
    fn the_mean_matches_the_closed_form_on_a_plane() {
        for (r, s) in [(5.0, 6.0), (5.0, 9.9), (5.0, 10.0), (40.0, 35.0)] {
            let a: f64 = 0.5 * s;
            let area = 0.5 * (a * (r * r - a * a).max(0.0).sqrt() + r * r * (a / r).asin());
            close(cusp_mean_mm(r, FLAT, s).expect("meets"), r - area / a, 1e-11);
        }
        // a shallow cusp is a parabola: the mean is a third
        let h = cusp_mm(250.0, 500.0, 0.01).expect("meets");
        close(cusp_mean_mm(250.0, 500.0, 0.01).expect("meets"), h / 3.0, 1e-9);
    }

    #[test]
    fn the_mean_matches_a_fine_sum_on_curved_parts() {
        for (r, rho, s) in [(6.0, 9.0, 5.0), (6.0, -9.0, 30.0), (30.0, -40.0, 100.0)] {
            let section = Section::from_radii(r, rho).expect("no gouge");
            let n = 200_000;
            let sum: f64 =
                (0..n).map(|i| section.gap_mm((f64::from(i) + 0.5) / f64::from(n) * s / 2.0)).sum();
            close(section.cusp_mean_mm(s).expect("meets"), sum / f64::from(n), 1e-9);
        }
    }

    #[test]
    fn what_has_no_finite_answer_is_refused() {
        assert!(matches!(cusp_mm(9.0, -8.0, 0.5), Err(CircleError::Gouges { .. })));
        assert_eq!(cusp_mm(8.0, -8.0, 0.5), Ok(0.0));
        assert_eq!(stepover_mm(8.0, -8.0, 0.01), Err(CircleError::NoCusp));
        assert!(matches!(cusp_mm(5.0, FLAT, 10.001), Err(CircleError::DoNotMeet { .. })));
        close(cusp_mm(5.0, FLAT, 10.0).expect("just meets"), 5.0, 1e-9);
        assert!(matches!(cusp_mm(5.0, 20.0, 8.2), Err(CircleError::DoNotMeet { .. })));
        assert!(matches!(stepover_mm(5.0, FLAT, 5.1), Err(CircleError::TooHigh { .. })));
        assert!(matches!(cusp_mm(0.0, FLAT, 1.0), Err(CircleError::NotPositive { .. })));
        assert!(matches!(cusp_mm(1.0, 0.0, 1.0), Err(CircleError::NoSurface { .. })));
        assert!(matches!(cusp_mm(1.0, f64::NAN, 1.0), Err(CircleError::NoSurface { .. })));
        assert!(matches!(cusp_mm(1.0, FLAT, f64::NAN), Err(CircleError::NotPositive { .. })));
    }

    #[test]
    fn the_band_bounds_the_step() {
        // derived: the line from the arc's centre to the peak; 1.2 mm of arc 250 left
        for (rho, want) in [(FLAT, 2.399_991), (500.0, 2.399_972), (-900.0, 2.399_997)] {
            let section = Section::from_radii(250.0, rho).expect("no gouge");
            close(section.band_stepover_mm(1.2), want, 3e-7);
        }
    }

    #[test]
    fn curvatures_and_radii_say_the_same() {
        let a = Section::from_radii(250.0, 500.0).expect("no gouge");
        let b = Section::from_curvatures(1.0 / 250.0 + 1.0 / 500.0, -1.0 / 500.0).expect("free");
        close(a.cusp_mm(3.7).expect("meets"), b.cusp_mm(3.7).expect("meets"), 1e-14);
        assert!(Section::from_curvatures(-1e-3, 0.0).is_err());
        // a swept tool that is itself hollow across the feed still leaves a cusp on a convex part
        let hollow = Section::from_curvatures(0.004, -0.01).expect("free");
        let h = hollow.cusp_mm(2.0).expect("meets");
        close(h, 0.004 * 4.0 / 8.0, 1e-3);
        close(hollow.stepover_mm(h).expect("finite"), 2.0, 1e-12);
    }
}
