//! What the cutter's own tolerances do to the surface: arc radius and length.

use crate::draws::normal_quantile;
use crate::response::{END_Z, factor_at};
use cutter::Cutter;
use study::outcome::Assumed;
use units::Interval;

/// Radius of a ground arc against its nominal, as a factor: common practice, no source.
pub(crate) const ARC_RADIUS: Interval = Interval { low: 0.995, high: 1.005 };
/// Length of a cutter measured in the machine, against the truth, mm: common practice, no source.
pub(crate) const LENGTH_MM: f64 = 0.01;

/// The ranges that claims of the surface rest on, for the reader.
pub(crate) fn ranges() -> [Assumed; 2] {
    let because = "grinding and measuring of cutters; common practice, no source".to_owned();
    [
        Assumed {
            key: "factor on a cutter's arc radius".to_owned(),
            value: 1.0,
            range: ARC_RADIUS,
            because: because.clone(),
        },
        Assumed {
            key: "error of a cutter's length, mm".to_owned(),
            value: 0.0,
            range: Interval::new(-LENGTH_MM, LENGTH_MM),
            because,
        },
    ]
}

/// Interval of the largest cusp when the arc's radius is off: the curvature left between passes is
/// `k = 8 h / s²`, of which the arc contributes `1/R`.
pub(crate) fn cusp_interval(
    cusp_um: f64,
    stepover_mm: f64,
    arc_radius_mm: f64,
    simulated_to_um: f64,
    confidence: f64,
) -> Interval {
    let z = ends_at(confidence);
    let factor = |z| factor_at(ARC_RADIUS.low, ARC_RADIUS.high, z);
    let residual = 8.0 * cusp_um * 1e-3 / (stepover_mm * stepover_mm);
    let share = if residual > 0.0 { 1.0 / (arc_radius_mm * residual) } else { 0.0 };
    let at = |factor: f64| cusp_um * (1.0 + share * (1.0 / factor - 1.0)).max(0.0);
    let ends = Interval::new(at(factor(-z)), at(factor(z)));
    Interval::new((ends.low - simulated_to_um).max(0.0), ends.high + simulated_to_um)
}

/// How far the finished surface may lie off nominal, along its normal, µm: the cutter's length
/// shifts it by `cos κ`, the arc's radius by the change of its support at `κ`.
pub(crate) fn surface_offset_um(cutter: &Cutter, kappa_rad: f64, confidence: f64) -> f64 {
    let by_length = LENGTH_MM * kappa_rad.cos().abs();
    let by_radius = offset_by_radius_mm(cutter, kappa_rad).unwrap_or(0.0);
    1000.0 * by_length.hypot(by_radius) * ends_at(confidence) / END_Z
}

/// Standard deviations at the ends of an interval of that confidence.
fn ends_at(confidence: f64) -> f64 {
    normal_quantile(0.5 + 0.5 * confidence)
}

fn offset_by_radius_mm(cutter: &Cutter, kappa_rad: f64) -> Option<f64> {
    let mut spec = cutter.spec().clone();
    spec.arc_radius_mm = Some(spec.arc_radius_mm? * ARC_RADIUS.high);
    let larger = Cutter::new(&spec).ok()?;
    let change = larger.profile().support(kappa_rad) - cutter.profile().support(kappa_rad);
    Some(change.abs())
}

#[cfg(test)]
mod tests {
    use super::*;
    use cutter::{CutterSpec, Form};

    #[test]
    fn on_a_flat_the_cusp_follows_the_arc_alone() {
        // arc 250, 5 µm at 3.162262 mm on a flat: h ~ 1/R, so half a per cent each way
        let i = cusp_interval(5.0, 3.162_262, 250.0, 0.0, 0.9);
        assert!((i.high / 5.0 - 1.005).abs() < 1e-4 && (i.low / 5.0 - 0.995).abs() < 1e-4);
    }

    #[test]
    fn on_a_convex_face_the_part_holds_part_of_the_cusp() {
        // the same arc on a convex radius of 250 leaves twice the cusp; half of it is the part's
        let i = cusp_interval(10.0, 3.162_262, 250.0, 0.0, 0.9);
        assert!((i.high / 10.0 - 1.0025).abs() < 1e-4);
    }

    #[test]
    fn a_leaning_cutter_feels_its_length_less() {
        let ball = Cutter::new(&CutterSpec::new(Form::Ball, 12.0)).expect("a ball");
        assert!(surface_offset_um(&ball, 0.0, 0.9) > surface_offset_um(&ball, 1.0, 0.9));
    }

    #[test]
    fn more_confidence_is_a_wider_interval() {
        let at = |confidence| cusp_interval(5.0, 3.162_262, 250.0, 0.0, confidence).width();
        assert!(at(0.5) < at(0.9) && at(0.9) < at(0.99));
    }
}
