//! What becomes of the chips of a layer: room, rate, breakers, and what carries them off.

use super::lay::Laid;
use crate::job::Prepared;
use crate::loads::Bin;
use study::{Coolant, Study};

/// Share of the spacing of two teeth that a chip may take to leave the flute. Common practice, no
/// source.
const GAP_SHARE: f64 = 0.5;

/// Volume and room of the chips of an operation.
pub(crate) fn bin(prepared: &Prepared<'_>, laid: &Laid) -> Bin {
    let spacing = std::f64::consts::PI * prepared.cutter.spec.diameter_mm
        / f64::from(prepared.cutter.teeth.max(1));
    let depth = laid.shape.rim_mm - laid.shape.floor_mm;
    let open = 1e-3 * laid.shape.domain.area_mm2() * depth;
    Bin {
        volume_cm3: 1e-3 * laid.volume_mm3(),
        open_cm3: laid.shape.shut_in.then_some(open),
        gap_mm: Some(GAP_SHARE * spacing),
    }
}

/// Sentences on breakers, rate and coolant, each with what it assumes.
pub(crate) fn verdict(
    study: &Study,
    prepared: &Prepared<'_>,
    laid: &Laid,
    cutting_s: f64,
) -> Vec<String> {
    let helix = prepared.cutter.spec.helix_rad.unwrap_or(crate::loads::HELIX_RAD);
    let depth = laid.layers.iter().map(|l| l.layer.depth_mm()).fold(0.0, f64::max);
    let whole = depth / helix.cos();
    let mut out = Vec::new();
    out.push(match prepared.cutter.chip_breaker_pitch_mm {
        Some(pitch) if pitch / helix.cos() < whole => format!(
            "chip breakers {pitch} mm apart split chips of {whole:.1} mm along the edge into {:.1} mm",
            pitch / helix.cos()
        ),
        Some(_) => "the cut is not as deep as the chip breakers are apart: they split nothing".to_owned(),
        None => format!("without chip breakers a chip is {whole:.1} mm long along the edge"),
    });
    if cutting_s > 0.0 {
        let rate = 0.06 * laid.volume_mm3() / cutting_s;
        let bulk = &study.part.material.chip.bulk_ratio;
        out.push(format!(
            "{rate:.1} cm³/min of metal leave as {:.2} to {:.2} l/min of loose chips ({})",
            1e-3 * rate * bulk.value.low,
            1e-3 * rate * bulk.value.high,
            bulk.source
        ));
    }
    out.push(carried(prepared.operation.coolant, laid.shape.shut_in).to_owned());
    out
}

fn carried(coolant: Option<Coolant>, shut_in: bool) -> &'static str {
    match (coolant, shut_in) {
        (_, false) => "an open side lets chips out sideways",
        (None, true) => "coolant is not given: nothing is taken to lift chips out of the pocket",
        (Some(Coolant::Through | Coolant::Air), true) => {
            "a jet along the cutter is taken to lift chips out of the pocket; short chips follow it \
             (common practice, no source)"
        }
        (Some(Coolant::Flood), true) => {
            "flood from outside washes chips out while the pocket is shallow; below about one diameter \
             they gather (common practice, no source)"
        }
        (Some(Coolant::Mist | Coolant::Dry), true) => {
            "nothing lifts chips out of the pocket: they are cut again as it deepens (common practice, no \
             source)"
        }
    }
}
