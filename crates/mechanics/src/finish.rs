//! The finish that is to be expected: cusps across the lay, feed marks along it, runout and scatter.
//!
//! Geometry gives the floor. What vibration, built-up edge and wear add is not modelled: a scatter
//! term stands for it.

use units::Interval;

/// Ra over height of a row of parabolic cusps, 4 / (9 √3). Derived.
pub const RA_PER_HEIGHT: f64 = 0.256_600_119_7;

/// What scatter adds to Ra and to Rz at most, µm, with a sharp edge and a stable cut. Common
/// practice, no source.
pub const SCATTER_RA_UM: f64 = 0.2;
/// The same for Rz, µm.
pub const SCATTER_RZ_UM: f64 = 1.0;

/// What makes the marks along the feed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FeedMarks {
    /// Feed per tooth, mm.
    pub feed_per_tooth_mm: f64,
    /// Number of teeth.
    pub teeth: usize,
    /// Radius of the cutter along the feed at the contact (contact radius over sin κ), mm.
    pub radius_mm: f64,
    /// Curvature of the surface along the feed, 1/mm, positive where it is concave.
    pub surface_per_mm: f64,
    /// Offset of the cutter's axis, mm; `None` where nobody gave it.
    pub runout_mm: Option<f64>,
}

/// Runout that is taken as the upper end where none is given, mm. Common practice, no source.
const USUAL_RUNOUT_MM: f64 = 0.01;

impl FeedMarks {
    /// Height of the marks of a feed, mm: `f²/8 (1/ρ − S)`.
    fn height_mm(&self, feed_mm: f64) -> f64 {
        (0.125 * feed_mm * feed_mm * (1.0 / self.radius_mm - self.surface_per_mm)).max(0.0)
    }

    /// Height of the marks, mm: from even teeth to what the runout makes of them. With runout the
    /// tooth that stands out farthest marks alone once its neighbours stay above its cusps, so that
    /// the marks are a revolution apart.
    pub fn heights_mm(&self) -> Interval {
        let even = self.height_mm(self.feed_per_tooth_mm);
        let alone = self.height_mm(self.feed_per_tooth_mm * self.teeth as f64);
        let runout = self.runout_mm.unwrap_or(USUAL_RUNOUT_MM);
        Interval::new(even, alone.min(even + 2.0 * runout))
    }

    /// Largest runout at which the marks stay below a height, mm; infinite where even a single
    /// tooth keeps it; `None` where even teeth do not.
    pub fn runout_for_mm(&self, limit_mm: f64) -> Option<f64> {
        let even = self.height_mm(self.feed_per_tooth_mm);
        if even > limit_mm {
            return None;
        }
        let alone = self.height_mm(self.feed_per_tooth_mm * self.teeth as f64);
        Some(if alone <= limit_mm { f64::INFINITY } else { 0.5 * (limit_mm - even) })
    }
}

/// A roughness parameter, as a range in µm: geometry from `low` to `high`, and scatter on top.
pub fn with_scatter(geometry_um: Interval, scatter_um: f64) -> Interval {
    Interval::new(geometry_um.low, geometry_um.high + scatter_um)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_of_even_teeth_are_those_of_the_textbook() {
        // derived: f²/8r and 4/(9√3) of it; f 0.2, r 0.8: 6.25 µm and 1.6037507 µm
        let marks = FeedMarks {
            feed_per_tooth_mm: 0.2,
            teeth: 1,
            radius_mm: 0.8,
            surface_per_mm: 0.0,
            runout_mm: Some(0.0),
        };
        let height = marks.heights_mm();
        assert!((height.low - 0.006_25).abs() < 1e-12 && height.low == height.high);
        assert!((1000.0 * RA_PER_HEIGHT * height.low - 1.603_750_7).abs() < 1e-6);
    }

    #[test]
    fn runout_makes_marks_a_revolution_apart_and_no_farther() {
        let marks = FeedMarks {
            feed_per_tooth_mm: 0.1,
            teeth: 3,
            radius_mm: 5.0,
            surface_per_mm: -0.01,
            runout_mm: Some(0.05),
        };
        let height = marks.heights_mm();
        assert!((height.high / height.low - 9.0).abs() < 1e-12);
        let little = FeedMarks { runout_mm: Some(1e-4), ..marks };
        assert!((little.heights_mm().high - height.low - 2e-4).abs() < 1e-12);
        assert_eq!(marks.runout_for_mm(0.1), Some(f64::INFINITY));
        assert!(marks.runout_for_mm(1e-5).is_none());
    }
}
