//! Means over a revolution in closed form.

use super::passage::pieces;
use super::{Cut, Load, harmonic};
use crate::engagement::peripheral::Arc;
use material::Coefficients;
use std::f64::consts::{PI, TAU};

impl Cut<'_> {
    /// Signed mean over a revolution; the helix has no part in it.
    pub fn mean(&self) -> Load {
        let mut sum = [0.0; 4];
        for slice in &self.fine_slices() {
            for tooth in 0..self.teeth {
                for p in pieces(self, tooth, slice) {
                    let h = harmonic::element(
                        &self.law,
                        slice.kappa_rad,
                        slice.radius_mm,
                        p.slope_mm,
                        p.base_mm,
                    );
                    let part = harmonic::integral(&h, p.entry_rad, p.exit_rad);
                    for (s, v) in sum.iter_mut().zip(part) {
                        *s += v * slice.width_mm / TAU;
                    }
                }
            }
        }
        Load::of(sum)
    }
}

/// The textbook averages of a cylinder without runout, written out: an independent check of
/// [`Cut::mean`]. `depth_mm` is the depth along the axis.
pub fn cylinder_mean(
    law: &Coefficients,
    teeth: usize,
    feed_per_tooth_mm: f64,
    diameter_mm: f64,
    depth_mm: f64,
    arc: Arc,
) -> Load {
    let (f, n) = (feed_per_tooth_mm, teeth as f64);
    let (st, ex) = (arc.entry_rad, arc.exit_rad);
    let between = |g: &dyn Fn(f64) -> f64| g(ex) - g(st);
    let cos_2 = between(&|p: f64| (2.0 * p).cos());
    let swing = between(&|p: f64| 2.0 * p - (2.0 * p).sin());
    let (cos, sin, angle) = (between(&f64::cos), between(&f64::sin), ex - st);
    let scale = n * depth_mm / TAU;
    Load {
        x_n: scale
            * (0.25 * f * (law.ktc_n_mm2 * cos_2 - law.krc_n_mm2 * swing) - law.kte_n_mm * sin
                + law.kre_n_mm * cos),
        y_n: scale
            * (0.25 * f * (law.ktc_n_mm2 * swing + law.krc_n_mm2 * cos_2)
                - law.kte_n_mm * cos
                - law.kre_n_mm * sin),
        z_n: scale * (law.kae_n_mm * angle - law.kac_n_mm2 * f * cos),
        torque_n_mm: n * depth_mm * diameter_mm / (4.0 * PI)
            * (law.kte_n_mm * angle - law.ktc_n_mm2 * f * cos),
    }
}
