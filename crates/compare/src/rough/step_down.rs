//! The depth of the layers of a wall: as few as leave it within its tolerance.

use super::fillet;
use super::lay::Ground;
use super::loads::slices;
use super::thin::{self, ThinWall};
use crate::job::Prepared;
use crate::loads::{self, Engaged, Station};
use crate::scene::Scene;
use mechanics::engagement::peripheral::{Arc, Way};
use study::Cut;
use study::outcome::FormError;
use units::Interval;

/// Walls lean from here on, rad.
const LEANS_RAD: f64 = 2e-3;
/// Radius of the path in a corner over the cutter's at least: in a sharp one the arc has no bound.
const LEAST_PATH: f64 = 0.05;
/// Layers that are tried at most.
const MOST: usize = 24;

/// Layers of a wall, and why so many.
pub(super) struct Choice {
    pub(super) count: usize,
    why: Why,
}

enum Why {
    /// Nothing asks for less than the flutes allow.
    NoTolerance,
    /// Force or stiffness is not known.
    Unknown,
    /// What is left at most, what is allowed, and what one layer fewer would leave, µm.
    Within { most_um: f64, limit_um: f64, fewer_um: Option<f64> },
    /// No number of layers that was tried does.
    Beyond { limit_um: f64 },
}

impl Choice {
    /// Whether the wall is known to stay within its tolerance.
    pub(super) fn holds(&self) -> bool {
        matches!(self.why, Why::Within { .. })
    }

    /// In words, for layers of a depth.
    pub(super) fn words(&self, depth_mm: f64) -> String {
        let count = self.count;
        let why = match self.why {
            Why::NoTolerance => {
                "as deep as the flutes allow, since the feature has no tolerance_um that \
                                 would ask for less"
                    .to_owned()
            }
            Why::Unknown => {
                "as deep as the flutes allow; what the cutter gives way by is not known".to_owned()
            }
            Why::Within { most_um, limit_um, fewer_um } => {
                let fewer = fewer_um.map_or_else(String::new, |um| {
                    format!("; {} would leave {um:.1} µm", count - 1)
                });
                format!(
                    "which leave at most {most_um:.1} µm on the wall, {limit_um:.1} µm are allowed{fewer}"
                )
            }
            Why::Beyond { limit_um } => format!(
                "since no number of layers keeps the wall within {limit_um:.1} µm: take a stiffer cutter, \
                 leave less stock on the wall, or add spring_passes"
            ),
        };
        format!("depth_per_pass_mm is not given: {count} × {depth_mm:.2} mm, {why}")
    }
}

/// How many layers a wall of a height takes, from which `width_mm` is cut.
pub(super) fn choose(ground: &Ground<'_>, height_mm: f64, width_mm: f64) -> Choice {
    let cutter = ground.prepared.cutter;
    let longest = cutter.deepest_cut_mm().unwrap_or(cutter.spec.diameter_mm);
    let least = (height_mm / longest - 1e-9).ceil().max(1.0) as usize;
    let feature = ground.scene.study.feature_of(ground.prepared.operation);
    let Some(limit_um) = feature.tolerance_mm.map(units::convert::mm_to_um) else {
        return Choice { count: least, why: Why::NoTolerance };
    };
    let arc = hardest_arc_rad(ground, width_mm);
    let thin = ground.shape.thin_wall(ground.scene);
    let mut fewer_um = None;
    for count in least..least + MOST {
        let Some(most_um) = gives_um(ground, height_mm / count as f64, arc, thin) else {
            return Choice { count: least, why: Why::Unknown };
        };
        if most_um <= limit_um {
            return Choice { count, why: Why::Within { most_um, limit_um, fewer_um } };
        }
        fewer_um = Some(most_um);
    }
    Choice { count: least, why: Why::Beyond { limit_um } }
}

/// What cutter and thin wall together leave at most, µm.
fn gives_um(ground: &Ground<'_>, depth_mm: f64, arc: f64, thin: Option<&ThinWall>) -> Option<f64> {
    let (scene, prepared) = (ground.scene, ground.prepared);
    let error = after_springs(scene, prepared, depth_mm, error(scene, prepared, depth_mm, arc)?);
    let thin_um = thin.map_or(0.0, |wall| {
        let force = loads::across_n(scene, prepared, &engaged(prepared, arc, depth_mm));
        let free_mm = depth_mm.min(wall.height_mm);
        let mm = force.and_then(|n| thin::gives_mm(scene, wall, free_mm, n));
        mm.map_or(0.0, units::convert::mm_to_um)
    });
    Some(error.largest_um() + thin_um)
}

/// Arc of contact of a width on a straight wall, or in the tightest corner where that is more: there the
/// cutter's circle meets the stock's inner border, `r_w − a` about the corner's middle. Derived.
fn hardest_arc_rad(ground: &Ground<'_>, width_mm: f64) -> f64 {
    let diameter = ground.prepared.cutter.spec.diameter_mm;
    let radius = 0.5 * diameter;
    let straight = Arc::beside(diameter, width_mm, Way::Down).map_or(0.0, |a| a.angle_rad());
    let corner = ground.shape.corner_mm.map_or(straight, |corner| {
        let path = (corner - radius).max(LEAST_PATH * radius);
        let border = path + radius - width_mm;
        let cos = (border * border - path * path - radius * radius) / (2.0 * path * radius);
        cos.clamp(-1.0, 1.0).acos()
    });
    straight.max(corner)
}

/// The error once spring passes have taken off what the cutter gave way by: each cuts a layer as thick
/// as the one before it left. Chips this thin are more ploughed than cut, so that the range keeps the
/// error before them as its far end.
pub(super) fn after_springs(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    depth_mm: f64,
    first: FormError,
) -> FormError {
    let passes = prepared.operation.roughing.spring_passes;
    let mut now = first.clone();
    for _ in 0..passes {
        let left_mm = units::convert::um_to_mm(now.largest_um());
        let arc = Arc::beside(prepared.cutter.spec.diameter_mm, left_mm, Way::Down);
        let Ok(arc) = arc else { break };
        match error(scene, prepared, depth_mm, arc.angle_rad()) {
            Some(next) if next.largest_um() < now.largest_um() => now = next,
            _ => break,
        }
    }
    if passes == 0 {
        return first;
    }
    let ends = [first.range_um.low, first.range_um.high, now.range_um.low, now.range_um.high];
    FormError {
        range_um: Interval::hull(ends).unwrap_or(now.range_um),
        rests_on: format!(
            "{}; {passes} spring passes on what stood after the first ({:.1} µm), the far end of the range \
             without their help",
            now.rests_on,
            first.largest_um()
        ),
        ..now
    }
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

/// What a cutter leaves on a wall by giving way, at a depth and an arc of contact.
fn error(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    depth_mm: f64,
    arc_rad: f64,
) -> Option<FormError> {
    loads::form_error(scene, prepared, &engaged(prepared, arc_rad, depth_mm), depth_mm)
}

fn engaged(prepared: &Prepared<'_>, arc_rad: f64, depth_mm: f64) -> Engaged {
    let climb = prepared.operation.cut == Cut::Down;
    let teeth_s = f64::from(prepared.cutter.teeth) * prepared.rev_s;
    Engaged {
        stations: vec![Station::upright(slices(prepared, arc_rad, depth_mm), climb, 1.0)],
        first: Vec::new(),
        feed_per_tooth_mm: prepared.feed_mm_s / teeth_s,
    }
}
