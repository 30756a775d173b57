//! Chip and force of an operation against what stands them.

use super::stiffness::Stiffness;
use super::{Engaged, Loads, deflection, spindle};
use crate::draws::normal_quantile;
use crate::job::Prepared;
use crate::scene::Scene;
use material::{Conditions, ForceLaw};
use mechanics::chip::Runout;
use mechanics::engagement::Slice;
use mechanics::force::{ChipBreaker, Cut, Peaks, Revolution};
use rayon::prelude::*;
use study::outcome::{Load, LoadKind};
use units::Interval;
use units::convert::mm_to_um;

/// Share of the pitch that the groove of a chip breaker takes. Common practice, no source.
const GROOVE_SHARE: f64 = 0.2;
/// Runout that is taken as the worst where none is given, mm. Common practice, no source.
const USUAL_RUNOUT_MM: f64 = 0.01;
/// The scatter of a material stands for an interval of this confidence.
const SCATTER_CONFIDENCE: f64 = 0.90;

/// A load with how it answers to the feed.
pub(super) struct Answering {
    pub(super) load: Load,
    /// The peak at twice the feed per tooth.
    pub(super) at_twice: Option<f64>,
    /// The root mean square at twice the feed per tooth.
    pub(super) rms_at_twice: Option<f64>,
}

/// Every load as missing for the same reason.
pub(super) fn missing(because: &str) -> Vec<Load> {
    LoadKind::ALL.iter().map(|kind| Load::missing(*kind, because)).collect()
}

/// What a revolution asks for at the worst place.
#[derive(Clone, Copy, Default)]
pub(crate) struct Worst {
    pub(crate) peaks: Peaks,
    mean_across_n: f64,
    mean_torque_n_mm: f64,
    /// Mean of the square, N² mm².
    square_torque: f64,
}

impl Worst {
    pub(super) fn mean_torque_nm(&self) -> f64 {
        1e-3 * self.mean_torque_n_mm
    }

    pub(crate) fn peak_torque_nm(&self) -> f64 {
        1e-3 * self.peaks.load.torque_n_mm
    }

    pub(super) fn rms_torque_nm(&self) -> f64 {
        1e-3 * self.square_torque.sqrt()
    }
}

/// The loads, in the order of [`LoadKind::ALL`].
pub(super) fn loads(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    engaged: &Engaged,
    law: &Result<ForceLaw, String>,
    stiffness: &Result<Stiffness, String>,
    out: &mut Loads,
) -> Vec<Answering> {
    let law = match law {
        Ok(law) => law,
        Err(reason) => {
            let chip_alone = chip_load(scene, engaged, None);
            let mut list: Vec<Answering> = missing(reason)
                .into_iter()
                .filter(|l| l.kind != LoadKind::ChipThickness)
                .map(|load| Answering { load, at_twice: None, rms_at_twice: None })
                .collect();
            list.push(chip_alone);
            return list;
        }
    };
    out.warnings.extend(law.warnings.iter().cloned());
    let feed = engaged.feed_per_tooth_mm;
    let runout = prepared.cutter.runout_mm;
    let now = worst(prepared, engaged, law, feed, runout.unwrap_or(0.0));
    let high = worst(prepared, engaged, law, feed, runout.unwrap_or(USUAL_RUNOUT_MM));
    let twice = worst(prepared, engaged, law, 2.0 * feed, runout.unwrap_or(0.0));
    first_pass(prepared, engaged, law, &now, out);
    let place = deflection::Place { scene, prepared, engaged };
    let spread = Spread::of(scene, prepared, law);
    vec![
        force_load(engaged, stiffness.as_ref().ok(), [&now, &high, &twice], &spread),
        spindle::torque(scene, prepared, [&now, &high, &twice], &spread),
        spindle::power(scene, prepared, [&now, &high, &twice], &spread),
        deflection::load(&place, law, stiffness, &now, &spread, runout.unwrap_or(USUAL_RUNOUT_MM)),
        chip_load(scene, engaged, Some(high.peaks.chip_mm)),
    ]
}

/// How far a peak may be off.
pub(super) struct Spread {
    factor: f64,
    from: String,
}

impl Spread {
    pub(super) fn of(scene: &Scene<'_>, prepared: &Prepared<'_>, law: &ForceLaw) -> Self {
        Self::new(law, scene.study.confidence, prepared.cutter.runout_mm.is_none())
    }

    fn new(law: &ForceLaw, confidence: f64, runout_open: bool) -> Self {
        let wide = |c: f64| normal_quantile(0.5 * (1.0 + c));
        let factor = (law.scatter.ln_1p() * wide(confidence) / wide(SCATTER_CONFIDENCE)).exp();
        let open = if runout_open {
            "; runout is not given: up to 10 µm is in the interval (common practice, no source)"
        } else {
            ""
        };
        Self { factor, from: format!("force law: {}{open}", law.source) }
    }

    pub(super) fn range(&self, low: f64, high: f64) -> Interval {
        Interval::new(low / self.factor, high * self.factor)
    }
}

pub(crate) fn law(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    engaged: &Engaged,
) -> Result<ForceLaw, String> {
    let diameter = 2.0 * engaged.largest_radius_mm();
    let conditions = Conditions {
        chip_mm: engaged.chip().map(|t| t.max_mm),
        speed_m_min: Some(units::convert::cutting_speed_m_min(diameter, 60.0 * prepared.rev_s)),
        feed_per_tooth_mm: Some(engaged.feed_per_tooth_mm),
        depth_mm: Some(engaged.depth_mm()),
        width_mm: None,
        width_over_diameter: None,
    };
    scene.study.part.material.force_law(&conditions).map_err(|missing| missing.to_string())
}

fn worst(
    prepared: &Prepared<'_>,
    engaged: &Engaged,
    law: &ForceLaw,
    feed_mm: f64,
    runout_mm: f64,
) -> Worst {
    let each: Vec<Worst> = engaged
        .stations
        .par_iter()
        .map(|s| worst_of(prepared, &s.slices, law, [s.feed_factor * feed_mm, runout_mm]))
        .collect();
    let mut out = Worst::default();
    let n = each.len() as f64;
    for w in &each {
        out.mean_across_n += w.mean_across_n / n;
        out.mean_torque_n_mm += w.mean_torque_n_mm / n;
        out.square_torque += w.square_torque / n;
        let (a, b) = (&mut out.peaks, &w.peaks);
        a.across_n = a.across_n.max(b.across_n);
        a.load.torque_n_mm = a.load.torque_n_mm.max(b.load.torque_n_mm);
        a.tooth_n = a.tooth_n.max(b.tooth_n);
        a.chip_mm = a.chip_mm.max(b.chip_mm);
    }
    out
}

/// What a revolution asks for at one place, at a feed per tooth and a runout.
pub(crate) fn worst_of(
    prepared: &Prepared<'_>,
    slices: &[Slice],
    law: &ForceLaw,
    at: [f64; 2],
) -> Worst {
    revolution(&cut(prepared, slices, law, at))
}

fn revolution(cut: &Cut<'_>) -> Worst {
    let peaks = Revolution::new(cut).peaks();
    Worst {
        peaks,
        mean_across_n: peaks.mean_across_n,
        mean_torque_n_mm: cut.mean().torque_n_mm,
        square_torque: peaks.rms_torque_n_mm * peaks.rms_torque_n_mm,
    }
}

pub(super) fn cut<'a>(
    prepared: &Prepared<'_>,
    slices: &'a [Slice],
    law: &ForceLaw,
    [feed_per_tooth_mm, offset_mm]: [f64; 2],
) -> Cut<'a> {
    let pitch = prepared.cutter.chip_breaker_pitch_mm;
    Cut {
        slices,
        teeth: prepared.cutter.teeth.max(1) as usize,
        feed_per_tooth_mm,
        law: law.law,
        runout: Runout { offset_mm, angle_rad: 0.0 },
        axial_feed_mm: 0.0,
        breaker: pitch.map(|pitch_mm| ChipBreaker { pitch_mm, groove_share: GROOVE_SHARE }),
    }
}

/// The first pass has stock on both sides.
fn first_pass(
    prepared: &Prepared<'_>,
    engaged: &Engaged,
    law: &ForceLaw,
    now: &Worst,
    out: &mut Loads,
) {
    let runout_mm = prepared.cutter.runout_mm.unwrap_or(0.0);
    let feed_mm = engaged.feed_per_tooth_mm;
    let first = revolution(&cut(prepared, &engaged.first, law, [feed_mm, runout_mm]));
    let (alone, beside) = (first.peaks.across_n, now.peaks.across_n);
    if alone > 1.05 * beside {
        out.warnings.push(format!(
            "the first pass has no cleared neighbour: its force peaks at {alone:.0} N, those after it \
             at {beside:.0} N"
        ));
    }
}

/// Bending stress that a carbide cutter is taken to stand in a steady cut, N/mm²: a third of the
/// usual rupture strength of 3000 N/mm². Common practice, no source.
const CARBIDE_STANDS_N_MM2: f64 = 1000.0;

fn force_load(
    engaged: &Engaged,
    stiffness: Option<&Stiffness>,
    [now, high, twice]: [&Worst; 3],
    spread: &Spread,
) -> Answering {
    let peak = now.peaks.across_n;
    // the softest values are the thinnest core
    let stress = stiffness.map(|s| s.soft.stress_per_n(engaged.lowest_mm()));
    let stress = stress.filter(|(per_n, _)| *per_n > 0.0);
    Answering {
        load: Load {
            kind: LoadKind::Force,
            mean: Some(now.mean_across_n),
            peak: Some(peak),
            peak_range: Some(spread.range(peak, high.peaks.across_n.max(peak))),
            limit: stress.map(|(per_n, _)| CARBIDE_STANDS_N_MM2 / per_n),
            limit_from: match stress {
                Some((_, z)) => format!(
                    "bending {z:.0} mm over the tip at {CARBIDE_STANDS_N_MM2:.0} N/mm² (a third of the \
                     usual strength of carbide; common practice, no source); {}",
                    spread.from
                ),
                None => format!("no limit of the cutter is known; {}", spread.from),
            },
            rms: None,
            rms_limit: None,
            surface: None,
            missing: None,
        },
        at_twice: Some(twice.peaks.across_n),
        rms_at_twice: None,
    }
}

fn chip_load(scene: &Scene<'_>, engaged: &Engaged, with_runout_mm: Option<f64>) -> Answering {
    let Some(chip) = engaged.chip() else {
        let load = Load::missing(LoadKind::ChipThickness, "nothing is cut");
        return Answering { load, at_twice: None, rms_at_twice: None };
    };
    let peak = mm_to_um(chip.max_mm);
    let high = with_runout_mm.map_or(peak, mm_to_um).max(peak);
    let usual = &scene.study.part.material.chip.usual_thickness_mm;
    Answering {
        load: Load {
            kind: LoadKind::ChipThickness,
            mean: Some(mm_to_um(chip.mean_mm)),
            peak: Some(peak),
            peak_range: Some(Interval::new(peak, high)),
            limit: Some(mm_to_um(usual.value.high)),
            limit_from: format!("usual for the material ({})", usual.source),
            rms: None,
            rms_limit: None,
            surface: None,
            missing: None,
        },
        at_twice: Some(2.0 * peak),
        rms_at_twice: None,
    }
}
