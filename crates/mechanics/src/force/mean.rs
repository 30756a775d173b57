//! Means over a revolution in closed form; of a power law, in closed form over a chain of lines.

use super::chain::BY_MEAN;
use super::harmonic::Element;
use super::passage::Passages;
use super::ring::rings;
use super::{Cut, Load};
use crate::engagement::peripheral::Arc;
use material::Coefficients;
use std::f64::consts::{PI, TAU};

impl Cut<'_> {
    /// Signed mean over a revolution; the helix has no part in it.
    pub fn mean(&self) -> Load {
        let mut sum = [0.0; 4];
        let rings = rings(self);
        let chain = self.chain(&rings, BY_MEAN);
        let mut passages = Passages::new(self);
        let mut pieces = Vec::new();
        for ring in &rings {
            let slice = &ring.slice;
            let even = slice.entry_span_rad == 0.0 && slice.exit_span_rad == 0.0;
            let places: &[f64] = if even { &[0.0] } else { &GAUSS };
            let share = slice.width_mm / (TAU * places.len() as f64);
            for tooth in 0..self.teeth {
                pieces.clear();
                passages.pieces(&chain, tooth, ring, &mut pieces);
                for p in &pieces {
                    let element = Element::new(&p.law, ring, p.slope_mm, p.base_mm);
                    for (from, to) in places.iter().filter_map(|u| p.cut_at(slice, *u)) {
                        let part = element.integral(from, to);
                        sum.iter_mut().zip(part).for_each(|(s, v)| *s += v * share);
                    }
                }
            }
        }
        Load::of(sum)
    }
}

/// Places of a slice at which the two-point rule of Gauss takes its values.
const GAUSS: [f64; 2] = [-0.288_675_134_594_812_9, 0.288_675_134_594_812_9];

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
