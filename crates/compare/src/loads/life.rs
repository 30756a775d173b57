//! How long an edge lasts in an operation.

use super::Engaged;
use crate::economics::EdgeLife;
use crate::job::Prepared;
use crate::scene::Scene;
use mechanics::life::{EdgeUse, edge_life, effective_speed_m_min, iso_8688_2};
use study::outcome::Life;

/// The life at the fastest point that cuts, for an operation that cuts for `cutting_s`.
pub(super) fn of(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    engaged: &Engaged,
    cutting_s: f64,
    warnings: &mut Vec<String>,
) -> Life {
    let uses = |life: &Life| Some(cutting_s / 60.0 / EdgeLife::from(life).minutes);
    let none = |why: String| {
        let life = Life { missing: Some(why), ..Life::default() };
        Life { cutters_per_part: uses(&life), ..life }
    };
    let speed = match effective_speed_m_min(engaged.largest_radius_mm(), prepared.rev_s) {
        Ok(speed) => speed,
        Err(missing) => return none(missing.to_string()),
    };
    if engaged.stations.iter().any(|s| s.kappa_rad < geom::tolerance::PARALLEL_RAD) {
        warnings.push(
            "the cutter touches at its tip, where the cutting speed is 0: it pushes there; lean the \
             axis"
            .to_owned(),
        );
    }
    let edge = EdgeUse {
        speed_m_min: speed,
        feed_per_tooth_mm: engaged.feed_per_tooth_mm,
        depth_mm: Some(engaged.depth_mm()),
        width_mm: None,
        diameter_mm: Some(2.0 * prepared.assembly.cutter.profile().largest_radius_mm()),
    };
    match edge_life(&scene.study.part.material, None, &edge) {
        Err(missing) => none(missing.to_string()),
        Ok(life) => {
            warnings.extend(life.warnings.iter().cloned());
            let found = Life {
                minutes: Some(life.minutes),
                range_min: Some(life.interval_min),
                criterion: format!(
                    "{} at {speed:.0} m/min, the effective speed of the fastest point that cuts ({}); for \
                     comparison: {}",
                    life.criterion,
                    life.source,
                    iso_8688_2::CRITERION
                ),
                upper_bound: life.upper_bound,
                cutters_per_part: None,
                missing: None,
            };
            Life { cutters_per_part: uses(&found), ..found }
        }
    }
}
