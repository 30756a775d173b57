//! The depth of the layers of a wall: as few as leave it within its tolerance.

use super::fillet;
use super::lay::Ground;
use super::loads::slices;
use crate::loads::{self, Engaged, Station};
use mechanics::engagement::peripheral::{Arc, Way};
use study::Cut;
use study::outcome::FormError;

/// Walls lean from here on, rad.
const LEANS_RAD: f64 = 2e-3;
/// Layers that are tried at most.
const MOST: usize = 24;

/// Depth of the layers of a wall of a height, from which `width_mm` is cut; says why.
pub(super) fn choose(
    ground: &Ground<'_>,
    height_mm: f64,
    width_mm: f64,
    warnings: &mut Vec<String>,
) -> f64 {
    let cutter = ground.prepared.cutter;
    let flutes = [cutter.depth_max_mm, cutter.spec.flute_length_mm].into_iter().flatten();
    let longest = flutes.reduce(f64::min).unwrap_or(cutter.spec.diameter_mm);
    let least = (height_mm / longest - 1e-9).ceil().max(1.0) as usize;
    let depth = |count: usize| height_mm / count as f64;
    let tolerance = ground.scene.study.feature_of(ground.prepared.operation).tolerance_mm;
    let Some(limit_um) = tolerance.map(units::convert::mm_to_um) else {
        warnings.push(format!(
            "depth_per_pass_mm is not given: {least} × {:.2} mm, as deep as the flutes allow, since the \
             feature has no tolerance_um that would ask for less",
            depth(least)
        ));
        return depth(least);
    };
    let mut before: Option<(usize, f64)> = None;
    for count in least..least + MOST {
        let Some(error) = error(ground, depth(count), width_mm) else {
            warnings.push(format!(
                "depth_per_pass_mm is not given: {least} × {:.2} mm, as deep as the flutes allow; what \
                 the cutter gives way by is not known",
                depth(least)
            ));
            return depth(least);
        };
        let most = error.left_um.low.abs().max(error.left_um.high.abs());
        if most <= limit_um {
            let fewer = before.map_or_else(String::new, |(count, um)| {
                format!("; {count} would leave {um:.1} µm")
            });
            warnings.push(format!(
                "depth_per_pass_mm is not given: {count} × {:.2} mm leave {most:.1} µm on the wall, \
                 {limit_um:.1} µm are allowed{fewer}",
                depth(count)
            ));
            return depth(count);
        }
        before = Some((count, most));
    }
    warnings.push(format!(
        "depth_per_pass_mm is not given: not even {} layers keep the wall within {limit_um:.1} µm; {} are \
         taken: take a stiffer cutter, less stock on the wall, or a spring pass",
        least + MOST - 1,
        least
    ));
    depth(least)
}

/// The depth on a wall that leans: there the layers leave ridges, `d sin δ` high by a sharp corner and
/// `(d / cos δ)² / 8c` by one of radius `c` (derived). A depth that the study gives stays, with a word.
pub(super) fn on_draft(ground: &Ground<'_>, depth_mm: f64, warnings: &mut Vec<String>) -> f64 {
    let draft = ground.shape.draft_rad;
    if draft <= LEANS_RAD {
        return depth_mm;
    }
    let corner = ground.prepared.cutter.spec.corner_radius_mm.unwrap_or(0.0);
    let ridge = fillet::ridge_mm(ground);
    let stairs = |d: f64| d * draft.sin();
    let rounded = |d: f64| (d / draft.cos()).powi(2) / (8.0 * corner);
    let (left, most) = if corner > 0.0 && rounded(depth_mm) < stairs(depth_mm) {
        (rounded(depth_mm), (8.0 * corner * ridge).sqrt() * draft.cos())
    } else {
        (stairs(depth_mm), ridge / draft.sin())
    };
    if left <= ridge {
        return depth_mm;
    }
    let um = units::convert::mm_to_um;
    let leans = format!("the walls lean by {:.1}°", draft.to_degrees());
    if ground.prepared.operation.roughing.depth_per_pass_mm.is_some() {
        warnings.push(format!(
            "{leans}: layers of {depth_mm} mm leave ridges of {:.0} µm on them; {most:.3} mm would leave \
             {:.0} µm",
            um(left),
            um(ridge)
        ));
        return depth_mm;
    }
    warnings.push(format!(
        "{leans}: layers of {most:.3} mm keep the ridges on them within {:.0} µm; a tapered cutter, or a \
         feature of kind wall with a leaning axis, needs far fewer",
        um(ridge)
    ));
    most
}

/// What a cutter leaves on a wall by giving way, at a depth and a width of cut.
pub(super) fn error(ground: &Ground<'_>, depth_mm: f64, width_mm: f64) -> Option<FormError> {
    let prepared = ground.prepared;
    let arc = Arc::beside(prepared.cutter.spec.diameter_mm, width_mm, Way::Down).ok()?.angle_rad();
    let climb = prepared.operation.cut == Cut::Down;
    let teeth_s = f64::from(prepared.cutter.teeth) * prepared.rev_s;
    let engaged = Engaged {
        stations: vec![Station::upright(slices(prepared, arc, depth_mm), climb, 1.0)],
        first: Vec::new(),
        feed_per_tooth_mm: prepared.feed_mm_s / teeth_s,
    };
    loads::form_error(ground.scene, prepared, &engaged, depth_mm)
}
