//! Chips too thin to be cut, and the runout that chip and cusp allow.

use super::Engaged;
use crate::job::Prepared;
use crate::scene::Scene;
use crate::surface::feed_marks;
use mechanics::chip;
use pattern::FacePasses;
use study::Finish;
use units::convert::mm_to_um;

/// Warns of chips below what an edge cuts.
pub(super) fn warn(scene: &Scene<'_>, engaged: &Engaged, warnings: &mut Vec<String>) {
    let Some(thickness) = engaged.chip() else { return };
    let habits = &scene.study.part.material.chip;
    // the cutter's coating is not known: from the sharpest usual edge to the bluntest
    let (bright, coated) = (habits.bright_edge_radius_mm.value, habits.coated_edge_radius_mm.value);
    let low = habits.least_thickness_mm(bright.min(coated)).low;
    let high = habits.least_thickness_mm(bright.max(coated)).high;
    let max = thickness.max_mm;
    if max < high {
        let does = if max < low { "rubs" } else { "may rub" };
        warnings.push(format!(
            "the thickest chip is {:.2} µm: an edge of {:.0} to {:.0} µm radius {does} below {:.2} to {:.2} µm \
             ({}); raise the feed per tooth",
            mm_to_um(max),
            mm_to_um(bright.min(coated)),
            mm_to_um(bright.max(coated)),
            mm_to_um(low),
            mm_to_um(high),
            habits.least_over_edge_radius.source
        ));
    }
}

/// The largest runout at which every tooth cuts and the marks along the feed stay below the cusp, in
/// words; a warning where the cutter's is larger or not known.
pub(super) fn runout(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    passes: &FacePasses,
    engaged: &Engaged,
    warnings: &mut Vec<String>,
) -> Option<String> {
    let teeth = prepared.cutter.teeth.max(1) as usize;
    let by_chip = chip::largest_runout_mm(teeth, engaged.chip()?.max_mm, 0.0);
    let cusp_mm = match scene.study.feature_of(prepared.operation).finish {
        Some(Finish::Cusp { limit_mm }) => Some(limit_mm),
        _ => None,
    };
    let marks = feed_marks(scene, prepared, passes);
    let by_cusp = marks.zip(cusp_mm).map(|(m, limit)| m.runout_for_mm(limit));
    let shown = |mm: f64| {
        if mm.is_finite() { format!("{:.1} µm", mm_to_um(mm)) } else { "any".to_owned() }
    };
    let cusp = match by_cusp {
        None => String::new(),
        Some(None) => ", the cusp none: even teeth leave higher marks along the feed".to_owned(),
        Some(Some(mm)) => format!(", the cusp {}", shown(mm)),
    };
    let words = format!("of runout, the chip allows {} (every tooth cuts){cusp}", shown(by_chip));
    let least = by_cusp.map_or(by_chip, |c| by_chip.min(c.unwrap_or(0.0)));
    match prepared.cutter.runout_mm {
        Some(mm) if mm <= least => {}
        Some(mm) => {
            warnings.push(format!("{words}; the cutter's is {:.1} µm", mm_to_um(mm)));
        }
        None if least.is_finite() => {
            warnings.push(format!("{words}; runout_um is not given: measure it"));
        }
        None => {}
    }
    Some(words)
}
