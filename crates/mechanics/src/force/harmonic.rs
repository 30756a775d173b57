//! The force of an edge element as a sum of harmonics of its angle.
//!
//! With `h = s sin φ + d` an element is pushed outward by `O = o1 + o0 sin φ` and against the cut by
//! `T = t1 + t0 sin φ`. As `y + i x` that is `(O − iT) e^{iφ} = A e^{iφ} + H (e^{2iφ} − 1)` with
//! `A = o1 − i t1` and `H = −(t0 + i o0)/2` (derived); along the axis, and as torque, `u1 + u0 sin φ`.
//! A mean over a span of lag turns and shrinks each harmonic, and is of the same kind.

use super::ring::Ring;
use material::Coefficients;

/// The force of an element of unit width over its own angle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Element {
    /// `A`: real, imaginary.
    once: [f64; 2],
    /// `H`: real, imaginary.
    twice: [f64; 2],
    /// Along the axis: steady, by sin φ.
    up: [f64; 2],
    /// About the axis: steady, by sin φ.
    about: [f64; 2],
}

/// Coefficients over the angle of the tip. `y + i x`: steady, of `e^{iφ}`, of `e^{2iφ}`, each real and
/// imaginary; along and about the axis: steady, of sin φ, of cos φ.
pub(super) type Wave = [f64; 12];

impl Element {
    /// The edge of a ring where the chip is `slope_mm sin φ + base_mm` thick.
    pub(super) fn new(law: &Coefficients, ring: &Ring, slope_mm: f64, base_mm: f64) -> Self {
        let (sin_k, cos_k) = (ring.sin_k, ring.cos_k);
        // by sin φ and steady
        let tangential = [law.ktc_n_mm2 * slope_mm, law.ktc_n_mm2 * base_mm + law.kte_n_mm];
        let radial = [law.krc_n_mm2 * slope_mm, law.krc_n_mm2 * base_mm + law.kre_n_mm];
        let axial = [law.kac_n_mm2 * slope_mm, law.kac_n_mm2 * base_mm + law.kae_n_mm];
        let outward = |i: usize| axial[i] * cos_k - radial[i] * sin_k;
        let up = |i: usize| radial[i] * cos_k + axial[i] * sin_k;
        let radius = ring.slice.radius_mm;
        Self {
            once: [outward(1), -tangential[1]],
            twice: [-0.5 * tangential[0], -0.5 * outward(0)],
            up: [up(1), up(0)],
            about: [radius * tangential[1], radius * tangential[0]],
        }
    }

    /// Of `width_mm`, seen from an angle that is ahead by a lag with this sine and cosine: the mean over
    /// a span of lag about it.
    pub(super) fn wave(&self, width_mm: f64, (sin, cos): (f64, f64), span_rad: f64) -> Wave {
        let (once, twice) = (width_mm * sinc(0.5 * span_rad), width_mm * sinc(span_rad));
        let (s, c) = (once * sin, once * cos);
        let (s2, c2) = (twice * 2.0 * sin * cos, twice * (cos * cos - sin * sin));
        let ([a, b], [g, h]) = (self.once, self.twice);
        [
            -width_mm * g,
            -width_mm * h,
            a * c + b * s,
            b * c - a * s,
            g * c2 + h * s2,
            h * c2 - g * s2,
            width_mm * self.up[0],
            self.up[1] * c,
            -self.up[1] * s,
            width_mm * self.about[0],
            self.about[1] * c,
            -self.about[1] * s,
        ]
    }

    /// Value of every component at an angle, for unit width: x, y, z, torque.
    #[cfg(test)]
    fn at(&self, angle_rad: f64) -> [f64; 4] {
        value(&self.wave(1.0, (0.0, 1.0), 0.0), &Turn::of(angle_rad))
    }

    /// Integral of every component between two angles.
    pub(super) fn integral(&self, from_rad: f64, to_rad: f64) -> [f64; 4] {
        let span = to_rad - from_rad;
        value(&self.wave(span, (0.0, 1.0), span), &Turn::of(0.5 * (to_rad + from_rad)))
    }
}

/// Sine and cosine of an angle and of twice the angle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Turn {
    pub(super) sin: f64,
    pub(super) cos: f64,
    sin_twice: f64,
    cos_twice: f64,
}

impl Turn {
    pub(super) fn of(angle_rad: f64) -> Self {
        let (sin, cos) = angle_rad.sin_cos();
        Self { sin, cos, sin_twice: 2.0 * sin * cos, cos_twice: cos * cos - sin * sin }
    }
}

/// Value of every component at an angle: x, y, z, torque.
pub(super) fn value(w: &Wave, t: &Turn) -> [f64; 4] {
    [
        w[1] + w[2] * t.sin + w[3] * t.cos + w[4] * t.sin_twice + w[5] * t.cos_twice,
        w[0] + w[2] * t.cos - w[3] * t.sin + w[4] * t.cos_twice - w[5] * t.sin_twice,
        w[6] + w[7] * t.sin + w[8] * t.cos,
        w[9] + w[10] * t.sin + w[11] * t.cos,
    ]
}

/// Angles up to which a short series is exact to rounding, rad.
const SMALL_RAD: f64 = 0.1;

/// `sin x / x`.
fn sinc(x: f64) -> f64 {
    if x.abs() > SMALL_RAD {
        return x.sin() / x;
    }
    let q = x * x;
    1.0 - q / 6.0 * (1.0 - q / 20.0 * (1.0 - q / 42.0 * (1.0 - q / 72.0)))
}

/// Sine and cosine, fast for small angles.
pub(super) fn sin_cos(x: f64) -> (f64, f64) {
    if x.abs() > SMALL_RAD {
        return x.sin_cos();
    }
    let q = x * x;
    let cos = 1.0 - q / 2.0 * (1.0 - q / 12.0 * (1.0 - q / 30.0 * (1.0 - q / 56.0)));
    (x * sinc(x), cos)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engagement::Slice;

    const LAW: Coefficients = Coefficients {
        ktc_n_mm2: 0.0,
        krc_n_mm2: 0.0,
        kac_n_mm2: 0.0,
        kte_n_mm: 250.0,
        kre_n_mm: 100.0,
        kae_n_mm: 30.0,
    };

    fn ring(kappa_rad: f64) -> Ring {
        let slice = Slice {
            z_mm: 0.0,
            radius_mm: 5.0,
            kappa_rad,
            width_mm: 1.0,
            lag_rad: 0.0,
            lag_span_rad: 0.0,
            entry_rad: 0.0,
            exit_rad: 3.0,
            entry_span_rad: 0.0,
            exit_span_rad: 0.0,
        };
        Ring::new(slice)
    }

    #[test]
    fn an_edge_at_an_angle_is_resolved() {
        // derived: κ 40°, φ 30°, radial 100, tangential 250, axial 30 N
        let found = Element::new(&LAW, &ring(40f64.to_radians()), 0.0, 0.0).at(30f64.to_radians());
        for (a, b) in found.iter().zip([-237.1551, 89.235_38, 95.888_07, 1250.0]) {
            assert!((a - b).abs() < 5e-5, "{found:?}");
        }
    }

    #[test]
    fn an_element_is_its_forces_resolved_one_by_one() {
        let law = Coefficients { ktc_n_mm2: 800.0, krc_n_mm2: 260.0, kac_n_mm2: 120.0, ..LAW };
        let (kappa, slope, base) = (1.1_f64, 0.07, 0.004);
        let element = Element::new(&law, &ring(kappa), slope, base);
        for phi in [0.0_f64, 0.4, 1.7, 3.0] {
            let chip = slope * phi.sin() + base;
            let t = law.ktc_n_mm2 * chip + law.kte_n_mm;
            let r = law.krc_n_mm2 * chip + law.kre_n_mm;
            let a = law.kac_n_mm2 * chip + law.kae_n_mm;
            let outward = a * kappa.cos() - r * kappa.sin();
            let right = [
                outward * phi.sin() - t * phi.cos(),
                outward * phi.cos() + t * phi.sin(),
                r * kappa.cos() + a * kappa.sin(),
                5.0 * t,
            ];
            for (found, right) in element.at(phi).iter().zip(right) {
                assert!((found - right).abs() < 1e-11 * right.abs().max(1.0), "{found} {right}");
            }
        }
    }

    #[test]
    fn averages_and_integrals_agree() {
        let law = Coefficients { ktc_n_mm2: 800.0, krc_n_mm2: 260.0, kac_n_mm2: 120.0, ..LAW };
        let element = Element::new(&law, &ring(1.1), 0.07, 0.004);
        for (angle, lag, span) in [(1.3, 0.4_f64, 0.6), (2.0, 0.03, 0.05)] {
            let wave = element.wave(1.0, sin_cos(lag), span);
            let mean = value(&wave, &Turn::of(angle));
            // by Simpson's rule
            let n = 200;
            let mut sum = [0.0; 4];
            for i in 0..=n {
                let weight = if i == 0 || i == n { 1.0 } else { f64::from(2 + 2 * (i % 2)) };
                let at = angle - lag + span * (f64::from(i) / f64::from(n) - 0.5);
                let v = element.at(at);
                (0..4).for_each(|k| sum[k] += weight * v[k] / f64::from(3 * n));
            }
            let whole = element.integral(angle - lag - 0.5 * span, angle - lag + 0.5 * span);
            for k in 0..4 {
                assert!((mean[k] - sum[k]).abs() < 1e-9 * sum[k].abs().max(1.0));
                assert!((mean[k] - whole[k] / span).abs() < 1e-10 * mean[k].abs().max(1.0));
            }
        }
    }

    #[test]
    fn small_angles_are_exact_to_rounding() {
        for x in [0.0, 1e-9, -0.03, 0.0999, 0.1, -0.1001] {
            let (s, c) = sin_cos(x);
            assert!((s - f64::sin(x)).abs() < 1e-16 && (c - f64::cos(x)).abs() < 3e-16, "{x}");
        }
    }
}
