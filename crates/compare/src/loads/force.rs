//! Chip, force, torque and power of an operation against what stands them.

use super::stiffness::Stiffness;
use super::{Engaged, Loads};
use crate::draws::normal_quantile;
use crate::job::Prepared;
use crate::scene::Scene;
use material::{Conditions, ForceLaw};
use mechanics::chip::{self, Runout};
use mechanics::deflection::Beam;
use mechanics::engagement::Slice;
use mechanics::force::{ChipBreaker, Cut, Peaks, Revolution, power_kw};
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
}

/// Every load as missing for the same reason.
pub(super) fn missing(because: &str) -> Vec<Load> {
    LoadKind::ALL.iter().map(|kind| Load::missing(*kind, because)).collect()
}

/// What a revolution asks for at the worst place.
#[derive(Clone, Copy, Default)]
struct Worst {
    peaks: Peaks,
    mean_across_n: f64,
    mean_torque_n_mm: f64,
    /// Across the axis in the plane of the normal, at the instants that make the surface.
    generating_n: f64,
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
            let chip_alone = chip_load(scene, engaged, None, prepared);
            let mut list: Vec<Answering> = missing(reason)
                .into_iter()
                .filter(|l| l.kind != LoadKind::ChipThickness)
                .map(|load| Answering { load, at_twice: None })
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
    let spread = Spread::new(law, scene.study.confidence, runout.is_none());
    vec![
        force_load(engaged, stiffness.as_ref().ok(), [&now, &high, &twice], &spread),
        torque_load(scene, prepared, [&now, &high, &twice], &spread),
        power_load(scene, prepared, [&now, &high, &twice], &spread),
        deflection_load(scene, prepared, engaged, stiffness, [&now, &high, &twice], &spread),
        chip_load(scene, engaged, Some(high.peaks.chip_mm), prepared),
    ]
}

/// How far a peak may be off.
struct Spread {
    factor: f64,
    from: String,
}

impl Spread {
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

    fn range(&self, low: f64, high: f64) -> Interval {
        Interval::new(low / self.factor, high * self.factor)
    }
}

pub(super) fn law(
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
        .map(|s| revolution(prepared, &s.slices, s.contact(), law, [feed_mm, runout_mm]))
        .collect();
    let mut out = Worst::default();
    let n = each.len() as f64;
    for w in &each {
        out.mean_across_n += w.mean_across_n / n;
        out.mean_torque_n_mm += w.mean_torque_n_mm / n;
        out.generating_n += w.generating_n / n;
        let (a, b) = (&mut out.peaks, &w.peaks);
        a.across_n = a.across_n.max(b.across_n);
        a.load.torque_n_mm = a.load.torque_n_mm.max(b.load.torque_n_mm);
        a.tooth_n = a.tooth_n.max(b.tooth_n);
        a.chip_mm = a.chip_mm.max(b.chip_mm);
    }
    out
}

fn revolution(
    prepared: &Prepared<'_>,
    slices: &[Slice],
    (contact_rad, contact_lag_rad): (f64, f64),
    law: &ForceLaw,
    [feed_per_tooth_mm, offset_mm]: [f64; 2],
) -> Worst {
    let pitch = prepared.cutter.chip_breaker_pitch_mm;
    let cut = Cut {
        slices,
        teeth: prepared.cutter.teeth.max(1) as usize,
        feed_per_tooth_mm,
        law: law.law,
        runout: Runout { offset_mm, angle_rad: 0.0 },
        breaker: pitch.map(|pitch_mm| ChipBreaker { pitch_mm, groove_share: GROOVE_SHARE }),
    };
    let revolution = Revolution::new(&cut);
    let peaks = revolution.peaks();
    let generating_n = revolution.at(contact_rad + contact_lag_rad).y_n.abs();
    let mean_torque_n_mm = cut.mean().torque_n_mm;
    Worst { peaks, mean_across_n: peaks.mean_across_n, mean_torque_n_mm, generating_n }
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
    let first = revolution(prepared, &engaged.first, (0.0, 0.0), law, [feed_mm, runout_mm]);
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
            missing: None,
        },
        at_twice: Some(twice.peaks.across_n),
    }
}

fn torque_load(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    [now, high, twice]: [&Worst; 3],
    spread: &Spread,
) -> Answering {
    let nm = |w: &Worst| 1e-3 * w.peaks.load.torque_n_mm;
    let spindle = &scene.study.machine.spindle;
    let rpm = 60.0 * prepared.rev_s;
    // a peak within a revolution is no thermal load: the strongest curve counts
    let most = spindle.curves.iter().filter_map(|c| Some((c.at(rpm)?.torque_nm, &c.duty)));
    let most = most.max_by(|a, b| a.0.total_cmp(&b.0));
    Answering {
        load: Load {
            kind: LoadKind::Torque,
            mean: Some(1e-3 * now.mean_torque_n_mm),
            peak: Some(nm(now)),
            peak_range: Some(spread.range(nm(now), nm(high).max(nm(now)))),
            limit: most.map(|m| m.0),
            limit_from: most.map_or_else(
                || "the spindle's curve is not given at this speed".to_owned(),
                |m| format!("spindle at {rpm:.0} rev/min, duty {}", m.1),
            ),
            missing: None,
        },
        at_twice: Some(nm(twice)),
    }
}

fn power_load(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    [now, high, twice]: [&Worst; 3],
    spread: &Spread,
) -> Answering {
    let rev_s = prepared.rev_s;
    let kw = |w: &Worst| power_kw(w.peaks.load.torque_n_mm, rev_s);
    let spindle = &scene.study.machine.spindle;
    let main = spindle.available(60.0 * rev_s);
    let duty = spindle.curves.first().map(|c| c.duty.as_str()).unwrap_or_default();
    Answering {
        load: Load {
            kind: LoadKind::Power,
            mean: Some(power_kw(now.mean_torque_n_mm, rev_s)),
            peak: Some(kw(now)),
            peak_range: Some(spread.range(kw(now), kw(high).max(kw(now)))),
            limit: main.map(|m| m.power_kw),
            limit_from: match main {
                Some(_) => {
                    format!("spindle at this speed, duty {duty}; at the cutter, losses apart")
                }
                None => "the spindle's curve is not given at this speed".to_owned(),
            },
            missing: None,
        },
        at_twice: Some(kw(twice)),
    }
}

/// Along the surface normal: mean, at the instants at which teeth make the surface; peak, at the
/// largest force.
fn deflection_load(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    engaged: &Engaged,
    stiffness: &Result<Stiffness, String>,
    [now, high, twice]: [&Worst; 3],
    spread: &Spread,
) -> Answering {
    let stiffness = match stiffness {
        Ok(stiffness) => stiffness,
        Err(why) => {
            let load = Load::missing(LoadKind::Deflection, why.clone());
            return Answering { load, at_twice: None };
        }
    };
    let z = engaged.contact_mm();
    let tilt = engaged.stations.iter().map(|s| s.kappa_rad.sin()).fold(0.0, f64::max);
    let um = |n: f64, beam: &Beam| mm_to_um(n * tilt * beam.compliance_mm_n(z, z));
    let limit = scene.study.feature_of(prepared.operation).tolerance_mm;
    let peak = um(now.peaks.across_n, &stiffness.best);
    let low = um(now.peaks.across_n, &stiffness.stiff);
    let most = um(high.peaks.across_n.max(now.peaks.across_n), &stiffness.soft);
    let rests = super::stiffness::GROUND;
    Answering {
        load: Load {
            kind: LoadKind::Deflection,
            mean: Some(um(now.generating_n, &stiffness.best)),
            peak: Some(peak),
            peak_range: Some(spread.range(low, most)),
            limit: limit.map(mm_to_um),
            limit_from: match limit {
                Some(_) => format!("form tolerance of the feature; {rests}"),
                None => format!("the feature has no tolerance_um; {rests}"),
            },
            missing: None,
        },
        at_twice: Some(um(twice.peaks.across_n, &stiffness.best)),
    }
}

fn chip_load(
    scene: &Scene<'_>,
    engaged: &Engaged,
    with_runout_mm: Option<f64>,
    prepared: &Prepared<'_>,
) -> Answering {
    let Some(chip) = engaged.chip() else {
        let load = Load::missing(LoadKind::ChipThickness, "nothing is cut");
        return Answering { load, at_twice: None };
    };
    let peak = mm_to_um(chip.max_mm);
    let high = with_runout_mm.map_or(peak, mm_to_um).max(peak);
    let usual = &scene.study.part.material.chip.usual_thickness_mm;
    let teeth = prepared.cutter.teeth.max(1) as usize;
    let runout = chip::largest_runout_mm(teeth, chip.max_mm, 0.0);
    let allows = if runout.is_finite() {
        format!("; every tooth cuts up to a runout of {:.1} µm", mm_to_um(runout))
    } else {
        String::new()
    };
    Answering {
        load: Load {
            kind: LoadKind::ChipThickness,
            mean: Some(mm_to_um(chip.mean_mm)),
            peak: Some(peak),
            peak_range: Some(Interval::new(peak, high)),
            limit: Some(mm_to_um(usual.value.high)),
            limit_from: format!("usual for the material ({}){allows}", usual.source),
            missing: None,
        },
        at_twice: Some(2.0 * peak),
    }
}
