//! A thin wall that gives way under a cutter: a plate clamped along its foot, free along its rim, far
//! longer than it is high, pushed at one place of the rim.
//!
//! Along the wall the push is a sum of waves; each bends the strip by
//! `w = f(y) cos αx`, `D ∇⁴w = 0`, `f = f' = 0` at the foot, no moment at the rim. Derived; Jaramillo
//! 1950 gives 0.168 for ν = 0.3 (from memory), the sum 0.1665.

use std::f64::consts::PI;

/// Waves are summed up to this `α h`; beyond it they hold less than 1e-4 of the whole.
const MOST: f64 = 80.0;
/// Pieces of the sum, even.
const PIECES: usize = 1600;

/// Height over thickness from which bending tells nearly all, and shear little.
pub const THIN_FROM: f64 = 4.0;

/// How far the rim of a wall gives way at a force across it, mm/N. The wall is `height_mm` high over its
/// foot and `thickness_mm` thick; thick walls (below [`THIN_FROM`] times) give way a little more.
///
/// Source: plate theory of Kirchhoff, derived; Jaramillo, J. Appl. Mech. 17 (1950), for the factor.
pub fn rim_mm_n(height_mm: f64, thickness_mm: f64, modulus_n_mm2: f64, poisson: f64) -> f64 {
    let stiffness = modulus_n_mm2 * thickness_mm.powi(3) / (12.0 * (1.0 - poisson * poisson));
    factor(poisson) * height_mm * height_mm / stiffness
}

/// Deflection under the force over `P h² / D`.
pub fn factor(poisson: f64) -> f64 {
    let step = MOST / PIECES as f64;
    let weight = |k: usize| match k {
        0 | PIECES => 1.0,
        _ if k % 2 == 1 => 4.0,
        _ => 2.0,
    };
    let sum: f64 = (0..=PIECES).map(|k| weight(k) * wave(k as f64 * step, poisson)).sum();
    sum * step / 3.0 / PI
}

/// Deflection of the rim under a unit wave along it, `a = α h`, over `h³ / D`.
fn wave(a: f64, poisson: f64) -> f64 {
    if a < 1e-3 {
        return 1.0 / 3.0;
    }
    // all divided by cosh a
    let (cosh, sinh) = (1.0, a.tanh());
    // f = b (sinh αy − αy cosh αy) + e αy sinh αy, and its derivatives by αy, at the rim
    let b = [sinh - a * cosh, -a * sinh, -sinh - a * cosh, -2.0 * cosh - a * sinh];
    let e = [a * sinh, sinh + a * cosh, 2.0 * cosh + a * sinh, 3.0 * sinh + a * cosh];
    let moment = |f: &[f64; 4]| f[2] - poisson * f[0];
    let shear = |f: &[f64; 4]| f[3] - (2.0 - poisson) * f[1];
    // no moment: b = −e · m_e / m_b
    let ratio = -moment(&e) / moment(&b);
    let deflection = ratio * b[0] + e[0];
    let force = -(ratio * shear(&b) + shear(&e));
    deflection / (force * a.powi(3))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_wall_gives_way_as_published() {
        // Jaramillo 1950, quoted by textbooks on plates: 0.168 P c² / D at ν = 0.3; from memory, summed by
        // hand at the time: 1 %
        assert!((factor(0.3) / 0.168 - 1.0).abs() < 0.01, "{}", factor(0.3));
    }

    #[test]
    fn long_waves_bend_it_like_a_beam() {
        // derived: a cantilever under a line load gives way by h³ / 3 D
        assert!((wave(2e-3, 0.3) - 1.0 / 3.0).abs() < 1e-5, "{}", wave(2e-3, 0.3));
        // short waves feel the foot no more: w = 2 / ((1 − ν)(3 + ν) a³), derived for a half plane
        let far = 2.0 / (0.7 * 3.3 * 30.0_f64.powi(3));
        assert!((wave(30.0, 0.3) / far - 1.0).abs() < 1e-6);
    }

    #[test]
    fn twice_as_thick_is_eight_times_as_stiff() {
        let soft = rim_mm_n(20.0, 1.0, 70_000.0, 0.33);
        assert!((soft / rim_mm_n(20.0, 2.0, 70_000.0, 0.33) - 8.0).abs() < 1e-12);
    }
}
