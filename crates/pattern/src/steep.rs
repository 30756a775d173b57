//! What of a feature gets lines at constant height: places steeper than a share of its steepest. The
//! rest is gone round from its own border.

use clearance::fitting::Station;
use geom::{Site, Vec3};

/// Share of the steepest slope (sine) from which a place gets lines at constant height: lines that
/// hold the step where it is flatter would crowd where it is steep.
const SHARE: f64 = 0.3;
/// Share of the places that may be steeper than what counts as the steepest.
const STEEPEST: f64 = 0.05;
/// Slope below which nothing has a height worth a line (sine).
const LEVEL: f64 = 1e-4;
/// Smallest slope beside what is steep that still gets lines, as a share of the least.
const BESIDE: f64 = 0.5;

/// The least slope of what is steep.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Steep {
    up: Vec3,
    /// Sine of the angle between surface and plan.
    least: f64,
}

impl Steep {
    /// By places all over a feature.
    pub(crate) fn of(places: &[Station], up: Vec3) -> Self {
        let mut slopes: Vec<f64> = places.iter().map(|p| slope(&p.site, up)).collect();
        slopes.sort_by(f64::total_cmp);
        let at = ((1.0 - STEEPEST) * slopes.len() as f64) as usize;
        let steepest = slopes.get(at.min(slopes.len().saturating_sub(1))).copied().unwrap_or(0.0);
        Self { up, least: (SHARE * steepest).max(LEVEL) }
    }

    /// Everything is steep.
    pub(crate) fn all(up: Vec3) -> Self {
        Self { up, least: 0.0 }
    }

    /// Sine of the angle between surface and plan.
    pub(crate) fn slope(&self, site: &Site) -> f64 {
        slope(site, self.up)
    }

    /// Whether a place is steep.
    pub(crate) fn holds(&self, site: &Site) -> bool {
        self.slope(site) >= self.least
    }

    /// Whether a place gets lines: it is steep, or less than `half_mm` up or down from what is.
    pub(crate) fn near(&self, site: &Site, half_mm: f64) -> bool {
        let here = self.slope(site);
        let ascent = self.up - site.normal * self.up.dot(site.normal);
        let bend = ascent.try_normalize().map_or(0.0, |a| site.curvature.along(a).abs());
        here >= self.least || here + half_mm * bend >= self.least && here >= BESIDE * self.least
    }
}

fn slope(site: &Site, up: Vec3) -> f64 {
    site.normal.cross(up).length()
}

#[cfg(test)]
mod tests {
    use super::*;
    use geom::{Sym2, TangentTensor};

    fn site(angle: f64, bend: f64) -> Site {
        let normal = Vec3::new(angle.sin(), 0.0, angle.cos());
        let e1 = Vec3::new(angle.cos(), 0.0, -angle.sin());
        let curvature = TangentTensor { e1, e2: Vec3::Y, entries: Sym2::diagonal(-bend, 0.0) };
        Site { point: Vec3::ZERO, normal, curvature }
    }

    #[test]
    fn a_tenth_of_the_slope_is_flat_unless_steep_is_near() {
        let places: Vec<Station> = (0..100)
            .map(|k| Station { site: site(f64::from(k) * 0.01, 0.0), feed: Vec3::Y })
            .collect();
        let steep = Steep::of(&places, Vec3::Z);
        let least = 0.3 * 0.95_f64.sin();
        assert!((steep.least - least).abs() < 1e-12);
        assert!(steep.holds(&site(least.asin() + 1e-9, 0.0)));
        let before = site((0.9 * least).asin(), 0.1);
        assert!(!steep.holds(&before));
        assert!(!steep.near(&before, 0.09 * least / 0.1));
        assert!(steep.near(&before, 0.11 * least / 0.1));
        assert!(!steep.near(&site((0.4 * least).asin(), 0.1), 100.0));
    }

    #[test]
    fn a_plane_has_nothing_steep() {
        let flat = Steep::of(&[Station { site: site(0.0, 0.0), feed: Vec3::Y }], Vec3::Z);
        assert!(!flat.holds(&site(0.0, 0.0)));
        assert!(Steep::all(Vec3::Z).holds(&site(0.0, 0.0)));
    }
}
