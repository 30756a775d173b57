//! The rounding between floor and walls: down it, a corner smaller than it goes in steps.
//!
//! The corner of radius `c` rolls in the rounding of radius `f`: where it touches it at the angle φ from
//! the floor, the tip stands `(f − c)(1 − cos φ)` over the floor (φ = 90° at the wall). Rows an angle
//! apart leave `s²/8 · (1/c − 1/f)` between them, `s` along the rounding. Derived.

use super::lay::Ground;
use super::levels::Layer;
use geom::tolerance::COINCIDENT_MM;
use std::f64::consts::FRAC_PI_2;
use study::Finish;

/// Ridge between steps where the study asks for none, mm: common practice, no source.
pub(super) const RIDGE_MM: f64 = 0.01;
/// Steps at most.
const MOST: f64 = 60.0;

/// Ridge that may stay between steps, mm.
pub(super) fn ridge_mm(ground: &Ground<'_>) -> f64 {
    let feature = ground.scene.study.feature_of(ground.prepared.operation);
    match (feature.finish, feature.tolerance_mm) {
        (Some(Finish::Cusp { limit_mm }), _) => limit_mm,
        (_, Some(tolerance_mm)) => (0.5 * tolerance_mm).min(RIDGE_MM),
        _ => RIDGE_MM,
    }
}

/// Radius of the rounding and of the cutter's corner, where the corner is the smaller of the two.
fn radii(ground: &Ground<'_>) -> Option<(f64, f64)> {
    let corner = ground.prepared.cutter.spec.corner_radius_mm.unwrap_or(0.0);
    let fillet = ground.shape.fillet_mm?;
    (fillet > corner + COINCIDENT_MM).then_some((fillet, corner))
}

/// Lowest height of the tip at which the flank touches the walls, where passes end at `bottom_mm`.
pub(super) fn lowest_upright_mm(ground: &Ground<'_>, bottom_mm: f64) -> f64 {
    let over = radii(ground).map_or(0.0, |(fillet, corner)| fillet - corner);
    bottom_mm.max(ground.shape.floor_mm + over)
}

/// Layers down the rounding, each a step that leaves no more than the ridge allowed; none for a corner
/// that is sharp, which would leave stairs.
pub(super) fn layers(ground: &Ground<'_>, from_mm: f64, warnings: &mut Vec<String>) -> Vec<Layer> {
    let Some((fillet, corner)) =
        radii(ground).filter(|_| from_mm > ground.shape.floor_mm + COINCIDENT_MM)
    else {
        return Vec::new();
    };
    if corner <= 0.0 {
        warnings.push(format!(
            "a sharp corner leaves a stair in the rounding of {fillet:.2} mm at the floor: below it one layer \
             keeps off by as much; take a cutter with a corner of up to {fillet:.2} mm"
        ));
        return Vec::new();
    }
    let ridge = ridge_mm(ground);
    let step = (8.0 * ridge / (1.0 / corner - 1.0 / fillet)).sqrt();
    let count = (FRAC_PI_2 * fillet / step).ceil().clamp(1.0, MOST);
    let floor = ground.shape.floor_mm;
    let [wide, narrow] = [fillet, corner].map(|r| format!("{r:.2}"));
    let height = |k: f64| floor + (fillet - corner) * (1.0 - (FRAC_PI_2 * (1.0 - k / count)).cos());
    // what stands on a thick floor ends above the rounding
    let heights: Vec<f64> =
        (0..=count as usize).map(|k| if k == 0 { from_mm } else { height(k as f64) }).collect();
    warnings.push(format!(
        "the rounding of {wide} mm at the floor is larger than the cutter's corner of {narrow} mm: {count} \
         steps down it, with ridges of {:.1} µm; a cutter with a corner of {wide} mm needs none",
        units::convert::mm_to_um(ridge)
    ));
    let layers = heights.windows(2).map(|w| Layer { top_mm: w[0], bottom_mm: w[1] });
    layers.filter(|l| l.top_mm > l.bottom_mm + COINCIDENT_MM).collect()
}
