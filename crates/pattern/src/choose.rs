//! Which way the axis leans: as asked where that is clear, else the nearest angle that is.

use clearance::Obstacle;
use clearance::fitting::{Lie, Station, fits_locally, largest_fitting_arc};
use cutter::axis::Side;
use cutter::{Assembly, CutterSpec};
use toolpath::Pose;

use crate::clear::room_mm;
use crate::error::{At, PatternError};
use crate::family::{Family, forward};
use crate::job::{AxisRule, FaceJob, LeanSide};
use crate::lattice::Lattice;
use crate::stance::{Rule, Stance};

/// Places of the feature at which leans are compared.
const STATIONS: usize = 120;
/// Contact angles that are tried over the usable band.
const ANGLES: usize = 13;
/// Room that neck, shank and holder need, mm.
const ROOM_MM: f64 = 0.2;
/// How much more room the other side must give to be taken where either will do, mm.
const WORTH_MM: f64 = 0.5;

/// Places with the direction of the pattern.
pub(crate) fn stations(lattice: &Lattice, family: &Family<'_>, most: usize) -> Vec<Station> {
    let all: Vec<Station> = lattice
        .feature()
        .filter_map(|(node, spot)| {
            let feed = forward(spot, family.gradient(lattice.place(node)))?;
            Some(Station { site: spot.site, feed })
        })
        .collect();
    let stride = (all.len() / most.max(1)).max(1);
    all.into_iter().step_by(stride).collect()
}

/// Whether the cutter touches everywhere without gouging beside its contact.
///
/// # Errors
/// The first place in the grid's order where it does not touch; where it gouges the worst place, with
/// the largest arc that fits the whole feature.
pub(crate) fn survey(stations: &[Station], stance: &Stance<'_>) -> Result<(), PatternError> {
    let mut worst: Option<PatternError> = None;
    for s in stations {
        let standing = stance.stand(&s.site, s.feed, false)?;
        match stance.relative(&standing) {
            Ok(_) => {}
            Err(e) if tighter(&e, worst.as_ref()) => worst = Some(e),
            Err(_) => {}
        }
    }
    match worst {
        Some(PatternError::Gouges { at, surface_radius_mm, largest_arc_mm }) => {
            let fitting = largest_arc(stations, stance).unwrap_or(largest_arc_mm);
            Err(PatternError::Gouges { at, surface_radius_mm, largest_arc_mm: fitting })
        }
        Some(other) => Err(other),
        None => Ok(()),
    }
}

fn tighter(e: &PatternError, than: Option<&PatternError>) -> bool {
    let radius = |e: &PatternError| match e {
        PatternError::Gouges { surface_radius_mm, .. } => *surface_radius_mm,
        _ => f64::INFINITY,
    };
    than.is_none_or(|w| radius(e) < radius(w))
}

fn largest_arc(stations: &[Station], stance: &Stance<'_>) -> Option<f64> {
    let Rule::Tilted { lead_rad, side, .. } = stance.rule else { return None };
    let lie = Lie { kappa_rad: None, lead_rad, side };
    largest_fitting_arc(stance.cutter.spec(), |c| fits_locally(c, stations, &lie).is_ok())
        .ok()
        .map(|fit| fit.arc_radius_mm)
}

/// The stance to use: of the sides and angles permitted the first that gives neck, shank and holder
/// room at the stations.
///
/// # Errors
/// [`PatternError::Collides`] where none does.
pub(crate) fn choose<'a>(
    job: &FaceJob<'_>,
    asked: Stance<'a>,
    stations: &[Station],
    obstacles: &[Obstacle<'_>],
) -> Result<Stance<'a>, PatternError> {
    let (Rule::Tilted { kappa_rad, side, .. }, AxisRule::Tilted { lean, .. }) =
        (asked.rule, job.axis)
    else {
        return Ok(asked);
    };
    let stride = (stations.len() / STATIONS).max(1);
    let some: Vec<Station> = stations.iter().copied().step_by(stride).collect();
    let sides = if lean == LeanSide::Auto { vec![side, other(side)] } else { vec![side] };
    let room = |s: &Stance<'_>| room_mm(job.assembly, &poses(s, &some), obstacles);
    let mut best: Option<(f64, Stance<'a>)> = None;
    for kappa in angles(&asked, kappa_rad, stations) {
        for side in &sides {
            let tried = leaning(&asked, kappa, *side);
            if poses(&tried, &some).len() < some.len() {
                continue;
            }
            let gained = room(&tried);
            if best.as_ref().is_none_or(|(known, _)| gained > known + WORTH_MM) {
                best = Some((gained, tried));
            }
        }
        if best.as_ref().is_some_and(|(room, _)| *room >= ROOM_MM) {
            break;
        }
    }
    match best {
        Some((room, stance)) if room >= ROOM_MM => Ok(stance),
        Some((_, stance)) => Err(collides(job, &stance, &some, obstacles)),
        None => Ok(asked),
    }
}

fn other(side: Side) -> Side {
    if side == Side::Left { Side::Right } else { Side::Left }
}

fn leaning<'a>(stance: &Stance<'a>, kappa_rad: f64, side: Side) -> Stance<'a> {
    let lead_rad = match stance.rule {
        Rule::Tilted { lead_rad, .. } => lead_rad,
        _ => 0.0,
    };
    Stance { rule: Rule::Tilted { kappa_rad, lead_rad, side }, ..*stance }
}

/// The angle asked for, then those of the usable band by their distance from it.
fn angles(stance: &Stance<'_>, asked: f64, stations: &[Station]) -> Vec<f64> {
    let (lo, hi) = band(stance, stations);
    let mut others: Vec<f64> = (0..ANGLES)
        .map(|i| lo + (hi - lo) * i as f64 / (ANGLES - 1) as f64)
        .filter(|k| (k - asked).abs() > geom::tolerance::PARALLEL_RAD)
        .collect();
    others.sort_by(|a, b| (a - asked).abs().total_cmp(&(b - asked).abs()));
    std::iter::once(asked).chain(others).collect()
}

/// Contact angles that leave enough of the arc beside the contact for the step.
pub(crate) fn band(stance: &Stance<'_>, stations: &[Station]) -> (f64, f64) {
    let step = stations
        .iter()
        .step_by((stations.len() / 16).max(1))
        .filter_map(|s| stance.allowed_mm(&s.site, s.feed).ok())
        .fold(0.0, f64::max);
    let whole = stance.cutter.usable_kappa_rad().unwrap_or((0.0, 0.0));
    let (lo, hi) = stance.cutter.kappa_with_side_rad(0.5 * step).unwrap_or(whole);
    // a cutter lying flat would drag its shank along: the axis stays off the tangent plane
    (lo, hi.min(std::f64::consts::FRAC_PI_2))
}

fn poses(stance: &Stance<'_>, stations: &[Station]) -> Vec<Pose> {
    stations
        .iter()
        .filter_map(|s| stance.stand(&s.site, s.feed, false).ok())
        .map(|s| Pose { tip: s.tip, axis: s.axis })
        .collect()
}

fn collides(
    job: &FaceJob<'_>,
    stance: &Stance<'_>,
    stations: &[Station],
    obstacles: &[Obstacle<'_>],
) -> PatternError {
    use cutter::BodyKind::{Holder, Neck, Shank};
    let worst = stations
        .iter()
        .zip(poses(stance, stations))
        .filter_map(|(s, pose)| {
            clearance::closest_approach(
                job.assembly,
                pose,
                obstacles,
                &[Neck, Shank, Holder],
                0.5 * ROOM_MM,
            )
            .map(|a| (s, a))
        })
        .min_by(|a, b| a.1.distance_mm.total_cmp(&b.1.distance_mm));
    let (lo, hi) = band(stance, stations);
    let Some((station, approach)) = worst else { return PatternError::NoPass };
    PatternError::Collides {
        body: approach.what.name(),
        at: At(approach.place),
        pass: None,
        depth_mm: -approach.distance_mm,
        lo_deg: lo.to_degrees(),
        hi_deg: hi.to_degrees(),
        remedy: remedy(job, stance, station, obstacles),
    }
}

/// What would stand clear at a place: a smaller arc of the same form, or something else.
pub(crate) fn remedy(
    job: &FaceJob<'_>,
    stance: &Stance<'_>,
    station: &Station,
    obstacles: &[Obstacle<'_>],
) -> String {
    const ELSE: &str = "choose a longer stick-out, a slimmer holder or shank, or a form whose arc \
                        touches at a steeper axis";
    let spec = job.assembly.cutter.spec();
    let clear = |c: &cutter::Cutter| stands_clear(c.spec(), stance, station, obstacles);
    match spec.arc_radius_mm.and_then(|_| largest_fitting_arc(spec, clear).ok()) {
        Some(fit) => format!(
            "the largest arc of this form that is clear there has a radius of {:.1} mm; or {ELSE}",
            fit.arc_radius_mm
        ),
        None => ELSE.to_owned(),
    }
}

fn stands_clear(
    spec: &CutterSpec,
    stance: &Stance<'_>,
    station: &Station,
    obstacles: &[Obstacle<'_>],
) -> bool {
    let Ok(assembly) = Assembly::new(spec) else { return false };
    let Rule::Tilted { side, .. } = stance.rule else { return false };
    let moved = leaning(stance, assembly.cutter.default_kappa_rad(), side);
    let moved = Stance { cutter: &assembly.cutter, ..moved };
    let Ok(standing) = moved.stand(&station.site, station.feed, false) else { return false };
    let free = moved.relative(&standing).is_ok();
    let pose = Pose { tip: standing.tip, axis: standing.axis };
    free && room_mm(&assembly, &[pose], obstacles) >= ROOM_MM
}
