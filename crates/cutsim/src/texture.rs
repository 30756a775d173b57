//! Roughness of a profile: Gaussian filter and parameters after ISO 21920.
//!
//! The long-wave filter has the weight `w(x) = exp(−π (x / (α Nic))²) / (α Nic)` with
//! `α = √(ln 2 / π)` (ISO 16610-21), so that a wave as long as the nesting index Nic keeps half its
//! height. Half a nesting index is lost at each end. Lengths along the profile are mm, heights µm.

use std::f64::consts::{LN_2, PI};

/// Section length for the default setting, mm (ISO 21920-3, from memory).
const CUTOFFS_BY_RA: [(f64, f64); 5] =
    [(0.02, 0.08), (0.1, 0.25), (2.0, 0.8), (10.0, 2.5), (80.0, 8.0)];
/// Section lengths in an evaluation length by default.
const SECTIONS: usize = 5;

/// A profile sampled at even steps.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    /// Step between samples, mm.
    pub step_mm: f64,
    /// Heights, µm.
    pub heights_um: Vec<f64>,
}

/// Parameters of a profile, µm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Parameters {
    /// Arithmetic mean height about the mean line.
    pub ra_um: f64,
    /// Root mean square height.
    pub rq_um: f64,
    /// Mean over the section lengths of highest plus deepest.
    pub rz_um: f64,
    /// Highest plus deepest over the whole length.
    pub rt_um: f64,
}

/// The default nesting index (cut-off) for a profile of that Ra, mm.
pub fn default_cutoff_mm(ra_um: f64) -> f64 {
    let row = CUTOFFS_BY_RA.iter().find(|(to, _)| ra_um <= *to);
    row.map_or(8.0, |(_, cutoff)| *cutoff)
}

/// Share of a wave's height that the filter keeps as roughness.
pub fn kept_share(wavelength_mm: f64, cutoff_mm: f64) -> f64 {
    1.0 - 2f64.powf(-(cutoff_mm / wavelength_mm).powi(2))
}

impl Profile {
    /// Parameters without any filter, about the mean of the whole profile; `None` without samples.
    pub fn unfiltered(&self) -> Option<Parameters> {
        parameters(&self.heights_um, self.heights_um.len().div_ceil(SECTIONS))
    }

    /// Parameters of the roughness that a long-wave filter of that nesting index leaves; `None`
    /// where the profile is too short for one section length.
    pub fn filtered(&self, cutoff_mm: f64) -> Option<Parameters> {
        let half = (0.5 * cutoff_mm / self.step_mm).ceil() as usize;
        let section = (cutoff_mm / self.step_mm).round() as usize;
        let usable = self.heights_um.len().checked_sub(2 * half)?;
        if section == 0 || usable < section {
            return None;
        }
        let waviness = self.long_waves(cutoff_mm);
        let rough: Vec<f64> =
            (half..half + usable).map(|i| self.heights_um[i] - waviness[i]).collect();
        parameters(&rough, section)
    }

    /// The long waves at every sample; near the ends the weights are taken over what is there.
    fn long_waves(&self, cutoff_mm: f64) -> Vec<f64> {
        let alpha = (LN_2 / PI).sqrt();
        let reach = (cutoff_mm / self.step_mm).ceil() as usize;
        let weight = |k: usize| {
            let x = k as f64 * self.step_mm / (alpha * cutoff_mm);
            (-PI * x * x).exp()
        };
        let weights: Vec<f64> = (0..=reach).map(weight).collect();
        let n = self.heights_um.len();
        (0..n)
            .map(|i| {
                let (from, to) = (i.saturating_sub(reach), (i + reach).min(n - 1));
                let (mut sum, mut total) = (0.0, 0.0);
                for (j, height) in self.heights_um[from..=to].iter().enumerate() {
                    let w = weights[i.abs_diff(from + j)];
                    sum += w * height;
                    total += w;
                }
                sum / total
            })
            .collect()
    }
}

fn parameters(heights: &[f64], section: usize) -> Option<Parameters> {
    if heights.is_empty() || section == 0 {
        return None;
    }
    let n = heights.len() as f64;
    let mean = heights.iter().sum::<f64>() / n;
    let spread = |part: &[f64]| {
        let (low, high) = part
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(*v), h.max(*v)));
        high - low
    };
    let whole: Vec<f64> = heights.chunks_exact(section).map(spread).collect();
    let rz = if whole.is_empty() {
        spread(heights)
    } else {
        whole.iter().sum::<f64>() / whole.len() as f64
    };
    Some(Parameters {
        ra_um: heights.iter().map(|h| (h - mean).abs()).sum::<f64>() / n,
        rq_um: (heights.iter().map(|h| (h - mean).powi(2)).sum::<f64>() / n).sqrt(),
        rz_um: rz,
        rt_um: spread(heights),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A row of parabolic cusps of height `h`, `s` apart.
    fn row(h: f64, s: f64, length: f64) -> Profile {
        let step_mm = s / 400.0;
        let n = (length / step_mm) as usize;
        let at = |i: usize| {
            let x = (i as f64 * step_mm / s).fract() - 0.5;
            h * (2.0 * x).powi(2)
        };
        Profile { step_mm, heights_um: (0..n).map(at).collect() }
    }

    #[test]
    fn an_ideal_row_of_cusps() {
        // derived: parabola of height h has Ra = 4h/(9√3), Rq = √(4/45) h, Rz = h
        let p = row(1.0, 0.4, 20.0).unfiltered().expect("samples");
        assert!((p.ra_um - 0.256_600_1).abs() < 1e-4, "{p:?}");
        assert!((p.rq_um - 0.298_142_4).abs() < 1e-4);
        assert!((p.rz_um - 1.0).abs() < 1e-3 && (p.rt_um - 1.0).abs() < 1e-3);
    }

    #[test]
    fn the_filter_keeps_half_of_a_wave_as_long_as_itself() {
        // derived: 1 − 2^−(Nic/λ)²
        for (ratio, kept) in [(0.5, 0.9375), (1.0, 0.5), (2.0, 0.159_103_6), (4.0, 0.042_396_72)] {
            assert!((kept_share(0.8 * ratio, 0.8) - kept).abs() < 1e-6);
            let wave = 0.8 * ratio;
            let step_mm = 0.01;
            let heights_um =
                (0..8000).map(|i| (2.0 * PI * f64::from(i) * step_mm / wave).sin()).collect();
            let p = Profile { step_mm, heights_um }.filtered(0.8).expect("long enough");
            assert!((p.rq_um * 2f64.sqrt() - kept).abs() < 2e-3, "{ratio}: {p:?}");
        }
    }

    #[test]
    fn a_wide_row_reads_several_grades_too_good() {
        // derived (Fourier series of the row times the filter's share), 5 µm cusps:
        // 0.447102 mm apart with 0.8 mm: Ra 1.1474; 3.162262 mm apart: Ra 0.07309; unfiltered 1.2830
        let narrow = row(5.0, 0.447_102, 12.0).filtered(0.8).expect("long enough");
        assert!((narrow.ra_um - 1.147_427_9).abs() < 0.01, "{narrow:?}");
        let wide = row(5.0, 3.162_262, 0.8 + 19.0 * 3.162_262); // 19 waves are left
        let kept = wide.filtered(0.8).expect("long enough");
        assert!((kept.ra_um - 0.073_09).abs() < 1e-3, "{kept:?}");
        assert!((wide.unfiltered().expect("samples").ra_um - 1.283).abs() < 2e-2);
    }

    #[test]
    fn a_short_profile_is_not_filtered() {
        assert!(row(1.0, 0.2, 1.0).filtered(0.8).is_none());
    }
}
