//! What the cutter and its holder must keep clear of, and proof that they do.

use clearance::{
    Approach, Certificate, Limits, Obstacle, certify_cutting, certify_run_below, closest_approach,
};
use cutter::{Assembly, BodyKind};
use geom::{Bvh, TriMesh, Vec3};
use part::Part;
use rayon::prelude::*;
use toolpath::Pose;

use crate::job::FaceJob;

/// How finely the exact surface is resolved where the cutter comes close, mm.
const EXACT_MM: f64 = 2e-3;
/// Largest difference between the poses of a path and the coarser moves that are proven, mm.
const COARSE_MM: f64 = 0.02;
/// Longest coarse move, mm.
const COARSE_MOVE_MM: f64 = 25.0;
/// How deep the cutting part may stand below the surface before it counts as a gouge, besides the
/// chords: cusp-sized gouges are the business of the cut surface, not of this proof, mm.
const GOUGE_MM: f64 = 0.01;
/// The same of a link that stays down, which has no business below the surface: as finely as the
/// exact surface is resolved, mm.
const LINK_GOUGE_MM: f64 = 1.5 * EXACT_MM;
/// Share of a mesh's deviation by which the surface between its corners is in doubt: a quarter, as
/// where one of two neighbouring facets expects no bend (common practice, no source).
const UNSURE_SHARE: f64 = 0.25;
/// How far neck, shank and holder must stay away, mm.
const AWAY_MM: f64 = 0.05;
/// The coarsest resolution of distances in a proof, mm.
const COARSEST_MM: f64 = 0.1;

/// What follows the flutes.
pub(crate) const BEHIND: [BodyKind; 3] = [BodyKind::Neck, BodyKind::Shank, BodyKind::Holder];

/// How near neck, shank and holder come to the part or a fixture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClosestApproach {
    /// Which of them: neck, shank or holder.
    pub body: &'static str,
    /// Distance, mm.
    pub distance_mm: f64,
    /// Distance proven for every moment of every pass, lead, link and way through the air, mm.
    pub at_least_mm: f64,
    /// The place on the part or fixture.
    pub place: Vec3,
}

impl ClosestApproach {
    /// Distance from which on another approach neither is the closest nor weakens what is proven, mm.
    pub(crate) fn worth_knowing_mm(&self) -> f64 {
        self.at_least_mm + COARSE_MM + COARSEST_MM
    }
}

/// Meshes with their trees.
pub(crate) struct Surroundings<'a> {
    part: &'a Part,
    fixtures: Vec<(&'a TriMesh, Bvh)>,
}

/// What stands in the way of a path.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct InTheWay {
    pub(crate) body: BodyKind,
    pub(crate) place: Vec3,
    /// How deep the body stands in the material, mm; less than nothing where it only comes nearer
    /// than it may.
    pub(crate) depth_mm: f64,
    /// Number of the obstacle: the part is the first.
    pub(crate) obstacle: usize,
}

impl InTheWay {
    /// What it is that stands there.
    pub(crate) fn with(&self) -> &'static str {
        if self.obstacle == 0 { "part" } else { "fixture" }
    }
}

/// How far moves must keep away.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Margin {
    /// On or near the surface: the cutting part may touch, chords included.
    Touching {
        /// How far the path leaves the surface, and the surface what is known of it, mm.
        chord_mm: f64,
    },
    /// Through the air: every body keeps this distance, mm.
    Away(f64),
}

/// What is known about a path.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Verdict {
    pub(crate) in_the_way: Option<InTheWay>,
    /// Moves that could not be proven, though nothing was found in their way.
    pub(crate) unproven: usize,
}

impl<'a> Surroundings<'a> {
    pub(crate) fn of(job: &FaceJob<'a>) -> Self {
        let fixtures = job.fixtures.iter().map(|m| (m, Bvh::new(m))).collect();
        Self { part: job.part, fixtures }
    }

    /// Runs `work` with the obstacles, the part's refined onto its exact surface, or onto the surface
    /// that the corners of its mesh expect between them: the one that contacts lie on.
    pub(crate) fn with<R>(&self, work: impl FnOnce(&[Obstacle<'_>]) -> R) -> R {
        let exact =
            |triangle: u32, weights: [f64; 3]| self.part.site(triangle, weights).map(|s| s.point);
        let p = self.part;
        let own = Obstacle::new("part", &p.mesh, &p.bvh, p.deviation_mm);
        let own = own.with_exact(&exact, EXACT_MM);
        let fixtures =
            self.fixtures.iter().map(|(mesh, bvh)| Obstacle::new("fixture", mesh, bvh, 0.0));
        let all: Vec<Obstacle<'_>> = std::iter::once(own).chain(fixtures).collect();
        work(&all)
    }
}

impl Margin {
    fn limits(self) -> Limits {
        match self {
            Margin::Touching { chord_mm } => Limits {
                gouge_mm: GOUGE_MM + COARSE_MM + chord_mm,
                gouge_resolution_mm: 0.5 * GOUGE_MM,
                clearance_mm: AWAY_MM + COARSE_MM,
                clearance_resolution_mm: AWAY_MM,
            },
            Margin::Away(keep_mm) => {
                let keep_mm = keep_mm.max(AWAY_MM) + COARSE_MM;
                Limits {
                    gouge_mm: -keep_mm,
                    gouge_resolution_mm: 0.2 * keep_mm,
                    clearance_mm: keep_mm,
                    clearance_resolution_mm: COARSEST_MM.min(keep_mm),
                }
            }
        }
    }
}

/// How far the surface that the corners of a mesh expect may lie from the one that is meant, mm; 0
/// where the feature's surface is exact.
pub(crate) fn unsure_mm(job: &FaceJob<'_>) -> f64 {
    let meshed = job.faces.iter().any(|f| job.part.faces[*f].surface.is_none());
    if meshed { UNSURE_SHARE * job.part.deviation_mm } else { 0.0 }
}

/// Whether the cutting part of a link that stays down keeps above the exact surface, but for the
/// chords, pose by pose.
pub(crate) fn stays_above(
    assembly: &Assembly,
    link: &[Pose],
    obstacles: &[Obstacle<'_>],
    chord_mm: f64,
) -> bool {
    let gouge_mm = chord_mm + LINK_GOUGE_MM;
    let resolution_mm = 0.25 * LINK_GOUGE_MM;
    link.windows(2).all(|w| {
        certify_cutting(assembly, (w[0], w[1]), obstacles, (gouge_mm, resolution_mm)).is_clear()
    })
}

/// What is known of stretches of a path.
#[derive(Debug, Clone, Default)]
pub(crate) struct Proven {
    /// Of each stretch.
    pub(crate) verdicts: Vec<Verdict>,
    /// How near neck, shank and holder come, where it is nearer than what is of interest.
    pub(crate) closest: Option<ClosestApproach>,
}

/// Proves stretches of a path that join end to start, by coarser moves from which they differ by a
/// known amount: what is known of each stretch, and how near the bodies behind the flutes come, where
/// they come nearer than `below_mm`.
pub(crate) fn prove(
    assembly: &Assembly,
    stretches: &[Vec<Pose>],
    obstacles: &[Obstacle<'_>],
    margin: Margin,
    below_mm: f64,
) -> Proven {
    let coarse: Vec<Vec<Pose>> =
        stretches.par_iter().map(|s| coarsened(s, assembly.top_mm())).collect();
    let mut all: Vec<Pose> = Vec::new();
    let mut owner: Vec<usize> = Vec::new();
    for (n, poses) in coarse.iter().enumerate() {
        let joined = all.last().is_some_and(|last| Some(last) == poses.first());
        let new = &poses[usize::from(joined)..];
        owner.extend(std::iter::repeat_n(n, new.len()));
        all.extend(new);
    }
    let report = certify_run_below(assembly, &all, obstacles, &margin.limits(), below_mm);
    let mut verdicts = vec![Verdict::default(); stretches.len()];
    for (number, certificate) in &report.failures {
        // a move belongs to the stretch of the pose it leads to
        let of = owner.get(number + 1).or(owner.last());
        if let Some(verdict) = of.and_then(|n| verdicts.get_mut(*n)) {
            verdict.count(certificate);
        }
    }
    Proven { verdicts, closest: report.closest.map(|(_, a)| approach(&a)) }
}

impl Verdict {
    /// Whether everything is proven.
    pub(crate) fn is_clear(&self) -> bool {
        self.in_the_way.is_none() && self.unproven == 0
    }

    /// Both together.
    pub(crate) fn and(self, other: Verdict) -> Verdict {
        let deeper = match (self.in_the_way, other.in_the_way) {
            (Some(a), Some(b)) => Some(if b.depth_mm > a.depth_mm { b } else { a }),
            (a, b) => a.or(b),
        };
        Verdict { in_the_way: deeper, unproven: self.unproven + other.unproven }
    }

    fn count(&mut self, certificate: &Certificate) {
        match certificate {
            Certificate::Gouges(a) | Certificate::Collides(a) => {
                let depth_mm = -a.distance_mm;
                if self.in_the_way.is_none_or(|w| w.depth_mm < depth_mm) {
                    self.in_the_way = Some(InTheWay {
                        body: a.what,
                        place: a.place,
                        depth_mm,
                        obstacle: a.obstacle,
                    });
                }
            }
            Certificate::Unproven(_) => self.unproven += 1,
            Certificate::Clear => {}
        }
    }
}

fn approach(a: &Approach) -> ClosestApproach {
    ClosestApproach {
        body: a.what.name(),
        distance_mm: a.distance_mm,
        at_least_mm: a.at_least_mm - COARSE_MM,
        place: a.place,
    }
}

/// The nearest of two approaches; the weaker of what is proven.
pub(crate) fn nearer(
    a: Option<ClosestApproach>,
    b: Option<ClosestApproach>,
) -> Option<ClosestApproach> {
    match (a, b) {
        (Some(a), Some(b)) => {
            let near = if b.distance_mm < a.distance_mm { b } else { a };
            Some(ClosestApproach { at_least_mm: a.at_least_mm.min(b.at_least_mm), ..near })
        }
        (a, b) => a.or(b),
    }
}

/// Every so-manieth pose, so that straight moves between those kept differ from the path by at most
/// [`COARSE_MM`] anywhere on a body that reaches `reach_mm` up the axis.
fn coarsened(poses: &[Pose], reach_mm: f64) -> Vec<Pose> {
    let Some(first) = poses.first() else { return Vec::new() };
    let mut out = vec![*first];
    let mut from = 0;
    while from + 1 < poses.len() {
        let mut to = from + 1;
        // doubling, then as it is: the difference grows with the square of the length
        let mut stride = 1;
        while from + stride < poses.len()
            && poses[from].tip.distance(poses[from + stride].tip) <= COARSE_MOVE_MM
            && differs_by(&poses[from..=from + stride], reach_mm) <= COARSE_MM
        {
            to = from + stride;
            stride = (stride + 1).max(stride * 3 / 2);
        }
        out.push(poses[to]);
        from = to;
    }
    out
}

/// Largest distance between places of a body on the path and on the straight move between its ends,
/// both at the same share of the way.
fn differs_by(poses: &[Pose], reach_mm: f64) -> f64 {
    let (Some(a), Some(b)) = (poses.first(), poses.last()) else { return 0.0 };
    let total: f64 = poses.windows(2).map(|w| w[0].tip.distance(w[1].tip)).sum();
    let mut along = 0.0;
    let mut worst = 0.0_f64;
    for w in poses.windows(2) {
        along += w[0].tip.distance(w[1].tip);
        let f = if total > 0.0 { along / total } else { 1.0 };
        let tip = a.tip.lerp(b.tip, f).distance(w[1].tip);
        let axis = crate::link::slerp(a.axis, b.axis, f).distance(w[1].axis);
        worst = worst.max(tip + reach_mm * axis);
    }
    worst
}

/// Smallest distance of neck, shank and holder at a pose, mm; infinite where nothing is near.
pub(crate) fn room_at_mm(assembly: &Assembly, pose: Pose, obstacles: &[Obstacle<'_>]) -> f64 {
    behind_at(assembly, pose, obstacles).map_or(f64::INFINITY, |a| a.distance_mm)
}

/// The same over some poses, mm.
pub(crate) fn room_mm(assembly: &Assembly, poses: &[Pose], obstacles: &[Obstacle<'_>]) -> f64 {
    poses.iter().map(|p| room_at_mm(assembly, *p, obstacles)).fold(f64::INFINITY, f64::min)
}

/// The same at each of several places, each with some poses, mm.
pub(crate) fn rooms_mm(
    assembly: &Assembly,
    places: &[Vec<Pose>],
    obstacles: &[Obstacle<'_>],
) -> Vec<f64> {
    places.par_iter().map(|poses| room_mm(assembly, poses, obstacles)).collect()
}

/// What of neck, shank and holder comes closest at a pose.
pub(crate) fn behind_at(
    assembly: &Assembly,
    pose: Pose,
    obstacles: &[Obstacle<'_>],
) -> Option<Approach> {
    closest_approach(assembly, pose, obstacles, &BEHIND, AWAY_MM)
}

/// Whether the cutting part only touches at a pose.
pub(crate) fn only_touches(assembly: &Assembly, pose: Pose, obstacles: &[Obstacle<'_>]) -> bool {
    let depth_mm = GOUGE_MM + COARSE_MM;
    closest_approach(assembly, pose, obstacles, &[BodyKind::Cutting], 0.5 * GOUGE_MM)
        .is_none_or(|a| a.distance_mm >= -depth_mm)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn coarse_moves_stay_near_the_path() {
        let on = |k: usize| {
            let t = k as f64 * 0.001;
            Pose { tip: Vec3::new(500.0 * t.sin(), 0.0, 500.0 * t.cos()), axis: Vec3::Z }
        };
        let path: Vec<Pose> = (0..400).map(on).collect();
        let coarse = coarsened(&path, 100.0);
        assert!(coarse.len() < 40, "{}", coarse.len());
        assert_eq!((coarse[0], coarse[coarse.len() - 1]), (path[0], path[399]));
        for w in coarse.windows(2) {
            let sagitta = w[0].tip.distance_squared(w[1].tip) / (8.0 * 500.0);
            assert!(sagitta <= COARSE_MM * 1.01, "{sagitta}");
        }
    }
}
