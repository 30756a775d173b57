//! The force of an edge element as a sum of harmonics of its angle.
//!
//! With `h = s sin φ + d` every component is `c0 + c1 sin φ + c2 cos φ + c3 sin 2φ + c4 cos 2φ`.

use material::Coefficients;

/// Coefficients of 1, sin φ, cos φ, sin 2φ, cos 2φ for Fx, Fy, Fz and torque.
pub(super) type Harmonics = [[f64; 5]; 4];

/// What an element of unit width does: the edge stands at `kappa_rad` on `radius_mm`; the chip is
/// `slope_mm sin φ + base_mm` thick.
pub(super) fn element(
    law: &Coefficients,
    kappa_rad: f64,
    radius_mm: f64,
    slope_mm: f64,
    base_mm: f64,
) -> Harmonics {
    let (sin_k, cos_k) = kappa_rad.sin_cos();
    // forces along v, ν, τ: by sin φ and steady
    let tangential = [law.ktc_n_mm2 * slope_mm, law.ktc_n_mm2 * base_mm + law.kte_n_mm];
    let radial = [law.krc_n_mm2 * slope_mm, law.krc_n_mm2 * base_mm + law.kre_n_mm];
    let axial = [law.kac_n_mm2 * slope_mm, law.kac_n_mm2 * base_mm + law.kae_n_mm];
    // outward in the plane across the axis, and along the axis
    let outward = [axial[0] * cos_k - radial[0] * sin_k, axial[1] * cos_k - radial[1] * sin_k];
    let up = [radial[0] * cos_k + axial[0] * sin_k, radial[1] * cos_k + axial[1] * sin_k];
    let (o, t) = (outward, tangential);
    [
        // outward sin φ − tangential cos φ
        [0.5 * o[0], o[1], -t[1], -0.5 * t[0], -0.5 * o[0]],
        // outward cos φ + tangential sin φ
        [0.5 * t[0], t[1], o[1], 0.5 * o[0], -0.5 * t[0]],
        [up[1], up[0], 0.0, 0.0, 0.0],
        [radius_mm * t[1], radius_mm * t[0], 0.0, 0.0, 0.0],
    ]
}

/// Value of every component at an angle.
pub(super) fn at(h: &Harmonics, angle_rad: f64) -> [f64; 4] {
    let (s, c) = angle_rad.sin_cos();
    let terms = [1.0, s, c, 2.0 * s * c, c * c - s * s];
    h.map(|row| dot(&row, &terms))
}

/// Integral of every component between two angles.
pub(super) fn integral(h: &Harmonics, from_rad: f64, to_rad: f64) -> [f64; 4] {
    let half = 0.5 * (to_rad - from_rad);
    let middle = 0.5 * (to_rad + from_rad);
    let ((s, c), (sh, ch)) = (middle.sin_cos(), half.sin_cos());
    // ∫ over the span = twice the sine of the half span times the value at the middle
    let (once, twice) = (2.0 * sh, 2.0 * sh * ch);
    let terms = [2.0 * half, once * s, once * c, twice * 2.0 * s * c, twice * (c * c - s * s)];
    h.map(|row| dot(&row, &terms))
}

/// The harmonics of the mean over a span of lag, seen from an angle ahead of its middle by
/// `lag_rad`, as long as all of the span is in the cut.
pub(super) fn averaged(h: &Harmonics, lag_rad: f64, span_rad: f64) -> Harmonics {
    let sinc = |x: f64| if x.abs() < 1e-4 { 1.0 - x * x / 6.0 } else { x.sin() / x };
    let (once, twice) = (sinc(0.5 * span_rad), sinc(span_rad));
    let ((s1, c1), (s2, c2)) = (lag_rad.sin_cos(), (2.0 * lag_rad).sin_cos());
    h.map(|[c0, a, b, p, q]| {
        // sin(φ − ψ) = sin φ cos ψ − cos φ sin ψ, cos(φ − ψ) = cos φ cos ψ + sin φ sin ψ
        [
            c0,
            once * (a * c1 + b * s1),
            once * (b * c1 - a * s1),
            twice * (p * c2 + q * s2),
            twice * (q * c2 - p * s2),
        ]
    })
}

fn dot(a: &[f64; 5], b: &[f64; 5]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2] + a[3] * b[3] + a[4] * b[4]
}

#[cfg(test)]
mod tests {
    use super::*;

    const LAW: Coefficients = Coefficients {
        ktc_n_mm2: 0.0,
        krc_n_mm2: 0.0,
        kac_n_mm2: 0.0,
        kte_n_mm: 250.0,
        kre_n_mm: 100.0,
        kae_n_mm: 30.0,
    };

    #[test]
    fn an_edge_at_an_angle_is_resolved() {
        // derived: κ 40°, φ 30°, radial 100, tangential 250, axial 30 N
        let h = element(&LAW, 40f64.to_radians(), 5.0, 0.0, 0.0);
        let found = at(&h, 30f64.to_radians());
        for (a, b) in found.iter().zip([-237.1551, 89.235_38, 95.888_07, 1250.0]) {
            assert!((a - b).abs() < 5e-5, "{found:?}");
        }
    }

    #[test]
    fn averages_and_integrals_agree() {
        let law = Coefficients { ktc_n_mm2: 800.0, krc_n_mm2: 260.0, kac_n_mm2: 120.0, ..LAW };
        let h = element(&law, 1.1, 5.0, 0.07, 0.004);
        let (angle, lag, span) = (1.3, 0.4, 0.6);
        let mean = at(&averaged(&h, lag, span), angle);
        let whole = integral(&h, angle - lag - 0.5 * span, angle - lag + 0.5 * span);
        for (a, b) in mean.iter().zip(whole) {
            assert!((a - b / span).abs() < 1e-10 * a.abs().max(1.0));
        }
    }
}
