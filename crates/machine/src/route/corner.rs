//! Corners of a programmed path that a control may round by a tolerance.
//!
//! A corner is a jump δ of dq/ds. The path is rounded by letting dq/ds change over a length h on
//! both sides while d²q/ds² rises and falls in a straight line to δ/h: the corner is then missed by
//! δ h/6, acceleration does not jump, and neighbouring corners of a fine polyline add up to the
//! curvature of the curve that it stands for. Crawling through is never slower than stopping: with
//! jerk J it takes 2 (δ h/J)^⅓ against 2 (6 h/J)^⅓, with acceleration a 2 √(δ h/a) against
//! 2 √(2 h/a), and δ is at most 2. Only a path that turns back on itself stops, or one that turns by
//! more than the control has it.

/// Length on both sides of a corner over which it may be rounded: h = 6 e/δ.
pub(crate) fn reach(jump: f64, tolerance: f64) -> f64 {
    6.0 * tolerance / jump
}

/// Angle of a corner at which a unit tangent jumps by `jump`, rad.
pub(crate) fn angle(jump: f64) -> f64 {
    2.0 * (0.5 * jump).min(1.0).asin()
}

/// The circular arc that rounds a corner by a tolerance: the textbook corner to compare with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arc {
    /// Radius, mm.
    pub radius_mm: f64,
    /// Length cut off both legs, mm.
    pub trim_mm: f64,
}

impl Arc {
    /// The arc tangent to both legs of a corner that turns by `turn_rad` (above 0, below π) and
    /// passes it at `tolerance_mm`, but trims no more than `trim_most_mm` (half the shorter leg).
    ///
    /// From r/cos(φ/2) − r = e: r = e cos(φ/2)/(1 − cos(φ/2)), trim r tan(φ/2). Derived.
    pub fn new(turn_rad: f64, tolerance_mm: f64, trim_most_mm: f64) -> Self {
        let half = 0.5 * turn_rad;
        // 1 − cos x = 2 sin²(x/2), which keeps its digits for small turns
        let radius = tolerance_mm * half.cos() / (2.0 * (0.5 * half).sin().powi(2));
        let trim = radius * half.tan();
        if trim <= trim_most_mm {
            return Self { radius_mm: radius, trim_mm: trim };
        }
        Self { radius_mm: trim_most_mm / half.tan(), trim_mm: trim_most_mm }
    }

    /// Fastest steady speed on the arc: √(a r) and ∛(J r²), mm/s. On a full turn every axis meets
    /// the whole acceleration v²/r and the whole jerk v³/r². Derived.
    pub fn speed_mm_s(&self, accel_mm_s2: f64, jerk_mm_s3: f64) -> f64 {
        let r = self.radius_mm;
        (accel_mm_s2 * r).sqrt().min((jerk_mm_s3 * r * r).cbrt())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn arcs_of_ten_micrometres_and_their_speeds() {
        // derived: e 0.01 mm, 4 m/s2, 60 m/s3; radius, mm/min by acceleration alone, by both
        for (turn, radius, by_accel, by_both) in [
            (90.0f64, 0.024_142_14, 589.6, 196.2),
            (30.0, 0.283_477_4, 2020.0, 1014.0),
            (5.0, 10.496_65, 12_294.0, 11_261.0),
        ] {
            let arc = Arc::new(turn.to_radians(), 0.01, f64::INFINITY);
            assert!((arc.radius_mm / radius - 1.0).abs() < 1e-6, "{arc:?}");
            assert!((arc.speed_mm_s(4000.0, f64::INFINITY) * 60.0 / by_accel - 1.0).abs() < 5e-4);
            assert!((arc.speed_mm_s(4000.0, 60_000.0) * 60.0 / by_both - 1.0).abs() < 5e-4);
        }
        // derived: r 5 mm, 3 m/s2, 50 m/s3
        let arc = Arc { radius_mm: 5.0, trim_mm: 0.0 };
        assert!((arc.speed_mm_s(3000.0, f64::INFINITY) * 60.0 - 7348.469).abs() < 1e-2);
        assert!((arc.speed_mm_s(3000.0, 50_000.0) * 60.0 - 6463.304).abs() < 1e-2);
    }

    #[test]
    fn short_legs_bound_the_arc() {
        // a circle of radius 20 in chords of 0.2 mm: arcs from middle to middle give 20 back
        let turn = 2.0 * (0.1f64 / 20.0).asin();
        let arc = Arc::new(turn, 0.01, 0.1);
        assert!((arc.radius_mm - 20.0).abs() < 1e-3, "{arc:?}");
        assert_eq!(arc.trim_mm, 0.1);
    }
}
