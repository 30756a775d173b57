//! How deep the operation may cut before it chatters.
//!
//! Modes estimated from the stick-out: the tip's stiffness by the beam, its frequency by Rayleigh's
//! quotient, alike along and across the feed. The limit holds at the study's confidence: it is a
//! quantile over draws of frequency, stiffness, damping and cutting force. A shaped cutter is taken
//! by its height in the cut; its radial force acts across the axis by sin κ.

use super::Engaged;
use super::stiffness::{GROUND, Stiffness};
use crate::draws::Draws;
use crate::job::Prepared;
use crate::scene::Scene;
use material::ForceLaw;
use mechanics::deflection::CARBIDE_T_MM3;
use stability::cut::Immersion;
use stability::limit::{Method, limits};
use stability::{Axis, Cut, Mode, Structure};
use std::f64::consts::PI;
use study::outcome::Chatter;

/// Damping ratio of a cutter in its holder: best, and the factor of its 90 % range. Common practice,
/// no source: 0.01 to 0.04.
const DAMPING: (f64, f64) = (0.02, 2.0);
/// Factor of the 90 % range of the estimated frequency. Common practice, no source.
const FREQUENCY_FACTOR: f64 = 1.25;
/// Draws.
const DRAWS: usize = 48;
/// Speeds of the plot.
const SPEEDS: usize = 72;
/// The plot runs from this share of the speed on.
const FROM_SHARE: f64 = 0.5;
/// Depth beyond which a cut counts as free of chatter, mm.
const DEEPEST_MM: f64 = 200.0;
/// A speed is better where it takes this much more depth.
const BETTER: f64 = 1.3;
/// Standard deviations to the end of a 90 % range.
const END_Z: f64 = 1.644_853_627;

/// The limit of the operation at the place that cuts highest along the axis.
pub(super) fn of(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    engaged: &Engaged,
    law: &ForceLaw,
    stiffness: &Stiffness,
) -> Chatter {
    let none = |why: &str| Chatter { rests_on: why.to_owned(), ..Chatter::default() };
    let Some(estimate) = Estimate::of(prepared, engaged, law, stiffness) else {
        return none("the engagement of the operation has no angle in the cut");
    };
    let rpm = 60.0 * prepared.rev_s;
    let mut stable: Vec<f64> = estimate.draws(law).iter().map(|d| d.limit_mm(rpm)).collect();
    stable.sort_by(f64::total_cmp);
    let tail = 1.0 - scene.study.confidence;
    let limit = stable[((tail * DRAWS as f64).floor() as usize).min(DRAWS - 1)];
    let fastest =
        [scene.study.machine.spindle.max_rpm, prepared.cutter.max_rev_s.map(|v| 60.0 * v)]
            .into_iter()
            .flatten()
            .fold(f64::INFINITY, f64::min);
    let last = if fastest.is_finite() { fastest.max(rpm) } else { 1.5 * rpm };
    let first = FROM_SHARE * rpm;
    let speeds: Vec<f64> =
        (0..SPEEDS).map(|i| first + (last - first) * i as f64 / (SPEEDS - 1) as f64).collect();
    let lobes: Vec<[f64; 2]> =
        speeds.iter().zip(estimate.best.over(&speeds)).map(|(n, a)| [*n, a]).collect();
    let here = estimate.best.limit_mm(rpm);
    let better = lobes
        .iter()
        .filter(|p| p[1] > BETTER * here && p[0] <= fastest)
        .min_by(|a, b| (a[0] - rpm).abs().total_cmp(&(b[0] - rpm).abs()))
        .map(|p| (p[0], p[1]));
    Chatter {
        ap_limit_mm: Some(limit),
        ap_mm: Some(estimate.depth_mm),
        margin: Some(limit / estimate.depth_mm),
        better,
        lobes,
        rests_on: format!(
            "modes estimated from the stick-out, {:.0} Hz, {:.1} N/µm, damping {}: {GROUND}; a measured \
             frequency response replaces the estimate",
            estimate.best.frequency_hz,
            1e-3 * estimate.best.stiffness_n_mm,
            DAMPING.0
        ),
    }
}

/// A cutter and its cut.
#[derive(Clone, Copy)]
struct Tip {
    frequency_hz: f64,
    damping: f64,
    stiffness_n_mm: f64,
    cut: Cut,
}

impl Tip {
    /// Stable depth at every speed, mm.
    fn over(&self, speeds_rpm: &[f64]) -> Vec<f64> {
        let mode = Mode::new(self.frequency_hz, self.damping, self.stiffness_n_mm);
        let Ok(mode) = mode else { return vec![0.0; speeds_rpm.len()] };
        let structure = Structure { x: Axis::mode(mode), y: Axis::mode(mode) };
        let method = Method::SemiDiscretisation;
        let found = limits(&structure, &self.cut, speeds_rpm, method, DEEPEST_MM);
        let depth = |l: Option<stability::Limit>| l.map_or(DEEPEST_MM, |l| l.depth_mm);
        found.map_or_else(|_| vec![0.0; speeds_rpm.len()], |l| l.into_iter().map(depth).collect())
    }

    fn limit_mm(&self, rpm: f64) -> f64 {
        self.over(&[rpm])[0]
    }
}

struct Estimate {
    best: Tip,
    /// Factor to the end of the range of the stiffness.
    stiffness_factor: f64,
    depth_mm: f64,
}

impl Estimate {
    fn of(
        prepared: &Prepared<'_>,
        engaged: &Engaged,
        law: &ForceLaw,
        stiffness: &Stiffness,
    ) -> Option<Self> {
        let height = |s: &super::engaged::Station| -> f64 {
            s.slices.iter().map(|p| p.width_mm * p.kappa_rad.sin()).sum()
        };
        let deepest = engaged.stations.iter().max_by(|a, b| height(a).total_cmp(&height(b)))?;
        let slices = &deepest.slices;
        let width: f64 = slices.iter().map(|s| s.width_mm).sum();
        let mean = |f: &dyn Fn(&mechanics::engagement::Slice) -> f64| -> f64 {
            slices.iter().map(|s| s.width_mm * f(s)).sum::<f64>() / width
        };
        let entry_rad = mean(&|s| s.entry_rad).clamp(0.0, PI);
        let exit_rad = mean(&|s| s.exit_rad).clamp(0.0, PI);
        let kr = law.coefficients.krc_n_mm2 / law.coefficients.ktc_n_mm2;
        let cut = Cut::new(
            prepared.cutter.teeth.max(1),
            law.coefficients.ktc_n_mm2,
            kr * mean(&|s| s.kappa_rad.sin()),
            Immersion { entry_rad, exit_rad },
        );
        let z = mean(&|s| s.z_mm);
        let tip = |beam: &mechanics::deflection::Beam| 1.0 / beam.compliance_mm_n(z, z);
        let best = tip(&stiffness.best);
        Some(Self {
            best: Tip {
                frequency_hz: stiffness.best.natural_hz(CARBIDE_T_MM3),
                damping: DAMPING.0,
                stiffness_n_mm: best,
                cut: cut.ok()?,
            },
            stiffness_factor: (tip(&stiffness.stiff) / tip(&stiffness.soft)).sqrt(),
            depth_mm: height(deepest),
        })
    }

    /// Draws of everything that is uncertain, log-normal.
    fn draws(&self, law: &ForceLaw) -> Vec<Tip> {
        let draws = Draws::new(DRAWS, 4);
        let factor = |dimension: usize, i: usize, end: f64| -> f64 {
            (draws.of(dimension)[i] / END_Z * end.ln()).exp()
        };
        let one = |i: usize| {
            let mut cut = self.best.cut;
            cut.kt_n_mm2 *= factor(3, i, 1.0 + law.scatter);
            Tip {
                frequency_hz: self.best.frequency_hz * factor(0, i, FREQUENCY_FACTOR),
                damping: (self.best.damping * factor(1, i, DAMPING.1)).min(0.3),
                stiffness_n_mm: self.best.stiffness_n_mm * factor(2, i, self.stiffness_factor),
                cut,
            }
        };
        (0..DRAWS).map(one).collect()
    }
}
