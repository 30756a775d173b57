//! The chip of one tooth: how thick it is, and the feed that makes it so.
//!
//! On a circular tooth path the chip is `h = fz sin κ sin φ` thick (form: Martellotti 1941; the
//! true trochoid differs by less than 1 % while the feed is below about a twentieth of the
//! diameter).

use crate::engagement::Slice;
use crate::engagement::peripheral::Arc;
use std::f64::consts::{FRAC_PI_2, TAU};
use units::{OutOfRange, RangeCheck};

/// Largest and mean thickness of a chip, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thickness {
    /// Largest, mm.
    pub max_mm: f64,
    /// Mean over the angle in the cut, mm.
    pub mean_mm: f64,
}

/// Feed over diameter from which the circular path is off by more than about 1 %.
/// Derived: the second-order term of the trochoid is `fz/D`.
pub const CIRCULAR_UP_TO: f64 = 0.05;

/// Thickness over the feed per tooth: largest and mean, for a contact angle `kappa_rad`.
fn factors(arc: Arc, kappa_rad: f64) -> (f64, f64) {
    let sin_k = kappa_rad.sin();
    let thickest = if arc.entry_rad <= FRAC_PI_2 && arc.exit_rad >= FRAC_PI_2 {
        1.0
    } else {
        arc.entry_rad.sin().max(arc.exit_rad.sin())
    };
    // cos a - cos b as a product: exact for thin cuts too
    let half = 0.5 * arc.angle_rad();
    let middle = 0.5 * (arc.entry_rad + arc.exit_rad);
    let mean = if half > 0.0 { middle.sin() * half.sin() / half } else { middle.sin() };
    (sin_k * thickest, sin_k * mean)
}

/// The chip of a cut with straight stock.
///
/// # Errors
/// A feed that is not positive; a contact angle that is not above 0 and at most 90°.
pub fn thickness(
    arc: Arc,
    feed_per_tooth_mm: f64,
    kappa_rad: f64,
) -> Result<Thickness, OutOfRange> {
    let feed = feed_per_tooth_mm.positive("the feed per tooth in mm")?;
    let (max, mean) = factors(arc, contact_angle(kappa_rad)?);
    Ok(Thickness { max_mm: feed * max, mean_mm: feed * mean })
}

/// The feed per tooth whose largest chip is `chip_max_mm` thick, mm.
///
/// # Errors
/// A thickness that is not positive; a contact angle that is not above 0 and at most 90°.
pub fn feed_for(arc: Arc, chip_max_mm: f64, kappa_rad: f64) -> Result<f64, OutOfRange> {
    let chip = chip_max_mm.positive("the chip thickness in mm")?;
    Ok(chip / factors(arc, contact_angle(kappa_rad)?).0)
}

fn contact_angle(kappa_rad: f64) -> Result<f64, OutOfRange> {
    let degrees = kappa_rad.to_degrees().positive("the contact angle in degrees")?;
    degrees.within("the contact angle in degrees", 0.0, 90.0)?;
    Ok(kappa_rad.min(FRAC_PI_2))
}

/// The chip over all slices of an engagement: the thickest anywhere, and the mean over the area
/// that the edges sweep.
pub fn over(slices: &[Slice], feed_per_tooth_mm: f64) -> Option<Thickness> {
    over_sloping(slices, feed_per_tooth_mm, 0.0)
}

/// As [`over`], of a feed that also runs along the axis, by `axial_mm` per tooth towards the spindle:
/// `h = fz sin κ sin φ − fa cos κ`.
pub fn over_sloping(slices: &[Slice], feed_per_tooth_mm: f64, axial_mm: f64) -> Option<Thickness> {
    let swept: f64 = slices.iter().map(|s| s.width_mm * s.arc_rad()).sum();
    if swept.is_nan() || swept <= 0.0 {
        return None;
    }
    let area = |s: &Slice| s.width_mm * s.arc_rad();
    let mean: f64 = slices
        .iter()
        .map(|s| {
            let arc = Arc { entry_rad: s.entry_rad, exit_rad: s.exit_rad };
            factors(arc, s.kappa_rad).1 * s.width_mm * s.arc_rad()
        })
        .sum();
    let along: f64 = slices.iter().map(|s| s.kappa_rad.cos() * area(s)).sum();
    let thickest = |s: &Slice| {
        let across = feed_per_tooth_mm * (s.kappa_rad.sin() * s.largest_sine());
        across - axial_mm * s.kappa_rad.cos()
    };
    let cut = slices.iter().filter(|s| s.arc_rad() > 0.0);
    Some(Thickness {
        max_mm: cut.map(thickest).fold(0.0, f64::max),
        mean_mm: feed_per_tooth_mm * mean / swept - axial_mm * along / swept,
    })
}

/// Angle after entry of an up-milling tooth over which it rubs instead of cutting, rad; `None`
/// where it never cuts.
pub fn rubbing_rad(least_chip_mm: f64, feed_per_tooth_mm: f64) -> Option<f64> {
    let sine = least_chip_mm / feed_per_tooth_mm;
    (sine <= 1.0).then(|| sine.asin())
}

/// How far the axis of the teeth runs off the axis of rotation.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Runout {
    /// Distance of the axes, mm.
    pub offset_mm: f64,
    /// Angle from the first tooth to the offset, rad.
    pub angle_rad: f64,
}

impl Runout {
    /// How much farther out than the mean a tooth stands where it lags by `lag_rad`, mm.
    pub fn radius_mm(&self, tooth: usize, teeth: usize, lag_rad: f64) -> f64 {
        let pitch = TAU / teeth as f64;
        self.offset_mm * (self.angle_rad + pitch * tooth as f64 + lag_rad).cos()
    }

    /// Chip of every tooth at an angle with the sine `sine`, mm, where the edge stands at
    /// `kappa_rad`: the least over the teeth before it, not below 0.
    pub fn chips_mm(
        &self,
        teeth: usize,
        feed_per_tooth_mm: f64,
        sine: f64,
        kappa_rad: f64,
    ) -> Vec<f64> {
        let radius = |j: usize| self.radius_mm(j % teeth, teeth, 0.0);
        let of = |j: usize| {
            let after = |m: usize| {
                let before = (j + teeth - m % teeth) % teeth;
                m as f64 * feed_per_tooth_mm * sine + radius(j) - radius(before)
            };
            kappa_rad.sin() * (1..=teeth).map(after).fold(f64::INFINITY, f64::min).max(0.0)
        };
        (0..teeth).map(of).collect()
    }
}

/// The largest offset at which every tooth still cuts at least `share` of the mean chip that is
/// `chip_mm` thick at its thickest, mm: neighbouring teeth differ most by `2 q sin(π/N)`.
/// Derived from `r_j = q cos(λ + 2πj/N)`; infinite for a single tooth.
pub fn largest_runout_mm(teeth: usize, chip_mm: f64, share: f64) -> f64 {
    let step = 2.0 * (std::f64::consts::PI / teeth.max(1) as f64).sin().abs();
    if teeth < 2 { f64::INFINITY } else { chip_mm * (1.0 - share) / step }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engagement::peripheral::Way;

    #[test]
    fn thickness_and_mean_of_handbook_cuts() {
        // derived: closed form against quadrature; D, ae, fz, max, mean in mm
        for (d, ae, fz, max, mean) in [
            (10.0, 0.5, 0.1, 0.043_588_989, 0.022_171_631),
            (10.0, 1.0, 0.1, 0.06, 0.031_079_978),
            (10.0, 2.5, 0.1, 0.086_602_54, 0.047_746_483),
            (16.0, 12.0, 0.08, 0.08, 0.057_295_78),
            (10.0, 10.0, 0.1, 0.1, 0.063_661_977),
        ] {
            for way in [Way::Up, Way::Down] {
                let t = thickness(Arc::beside(d, ae, way).unwrap(), fz, FRAC_PI_2).unwrap();
                assert!((t.max_mm / max - 1.0).abs() < 5e-8, "{d} {ae}: {t:?}");
                assert!((t.mean_mm / mean - 1.0).abs() < 5e-8, "{d} {ae}: {t:?}");
            }
        }
    }

    #[test]
    fn the_feed_gives_back_its_chip() {
        let arc = Arc::beside(12.0, 1.3, Way::Down).unwrap();
        let feed = feed_for(arc, 0.05, FRAC_PI_2).unwrap();
        assert!((feed - 0.080_437_34).abs() < 1e-8); // derived
        assert!((thickness(arc, feed, FRAC_PI_2).unwrap().max_mm - 0.05).abs() < 1e-15);
        assert!(feed_for(arc, 0.05, 0.0).is_err() && thickness(arc, -0.1, 1.0).is_err());
    }

    #[test]
    fn runout_shares_the_chip_unevenly() {
        // derived: N 4, q 6 µm, λ 20°, exit of ae 1.3 on D 12
        let runout = Runout { offset_mm: 0.006, angle_rad: 20f64.to_radians() };
        let sine = Arc::beside(12.0, 1.3, Way::Up).unwrap().exit_rad.sin();
        let um = |feed: f64| runout.chips_mm(4, feed, sine, FRAC_PI_2).map_um();
        for (found, right) in um(0.08).iter().zip([53.314_18, 42.037_87, 46.142_12, 57.418_43]) {
            assert!((found - right).abs() < 6e-6, "{found} {right}");
        }
        for (found, right) in um(0.02).iter().zip([16.018_07, 4.741_761, 8.846_003, 20.122_31]) {
            assert!((found - right).abs() < 6e-6, "{found} {right}");
        }
        let least = largest_runout_mm(4, 0.05, 0.0);
        let worst = Runout { offset_mm: least, angle_rad: 0.25 * std::f64::consts::PI };
        let chips = worst.chips_mm(4, 0.05, 1.0, FRAC_PI_2);
        assert!(chips.iter().any(|c| *c < 1e-12) && chips.iter().all(|c| *c >= 0.0));
    }

    #[test]
    fn rubbing_at_the_start_of_an_up_cut() {
        // derived: asin(2.4 / 80) and asin(2.4 / 20)
        assert!((rubbing_rad(0.0024, 0.08).unwrap().to_degrees() - 1.719_131).abs() < 1e-6);
        assert!((rubbing_rad(0.0024, 0.02).unwrap().to_degrees() - 6.892_103).abs() < 1e-6);
        assert!(rubbing_rad(0.03, 0.02).is_none());
    }

    trait MapUm {
        fn map_um(self) -> Vec<f64>;
    }
    impl MapUm for Vec<f64> {
        fn map_um(self) -> Vec<f64> {
            self.into_iter().map(|v| 1000.0 * v).collect()
        }
    }
}
