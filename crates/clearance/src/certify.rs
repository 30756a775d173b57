//! Certificates for moves and runs: what is proven clear, what collides and where.

use crate::motion::Motion;
use crate::obstacle::Obstacle;
use crate::sweep::{Approach, Found, Query};
use cutter::distance::Kernel;
use cutter::{Assembly, BodyKind};
use geom::Vec3;
use rayon::prelude::*;
use toolpath::Pose;

/// Moves that one thread looks at in a row; fixed, so that results do not hang on the threads.
const CHUNK: usize = 64;

/// What is allowed, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// How deep the cutting part may cut below the surface: chords of the path, and a margin. Less
    /// than nothing where it must keep away, as in a rapid.
    pub gouge_mm: f64,
    /// How finely the cutting part's depth is resolved; well below `gouge_mm`.
    pub gouge_resolution_mm: f64,
    /// How far neck, shank and holder must stay away.
    pub clearance_mm: f64,
    /// How finely their distance is resolved.
    pub clearance_resolution_mm: f64,
}

impl Limits {
    /// Limits with resolutions that fit: a fifth of the gouge, and a tenth of a millimetre.
    pub fn new(gouge_mm: f64, clearance_mm: f64) -> Self {
        Self {
            gouge_mm,
            gouge_resolution_mm: 0.2 * gouge_mm,
            clearance_mm,
            clearance_resolution_mm: 0.1,
        }
    }
}

/// What is known about a move.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Certificate {
    /// Proven: every body keeps its limit at every moment of the move.
    Clear,
    /// The cutting part cuts deeper than allowed.
    Gouges(Approach),
    /// Neck, shank or holder comes closer than allowed.
    Collides(Approach),
    /// Nothing was found to break a limit, but that none does could not be proven: the surface is
    /// known too coarsely there.
    Unproven(Approach),
}

impl Certificate {
    /// Whether the move is proven.
    pub fn is_clear(&self) -> bool {
        *self == Certificate::Clear
    }

    /// The place that stands in the way.
    pub fn place(&self) -> Option<&Approach> {
        match self {
            Certificate::Clear => None,
            Certificate::Gouges(a) | Certificate::Collides(a) | Certificate::Unproven(a) => Some(a),
        }
    }
}

/// What is known about a run of moves.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct RunReport {
    /// Moves that are not proven clear, by number, in order.
    pub failures: Vec<(usize, Certificate)>,
    /// Closest approach of neck, shank and holder: the move and the place.
    pub closest: Option<(usize, Approach)>,
}

impl RunReport {
    /// Whether every move is proven.
    pub fn is_clear(&self) -> bool {
        self.failures.is_empty()
    }

    /// The report of a run followed by another whose first move has the number `offset`.
    pub fn extend(&mut self, other: RunReport, offset: usize) {
        self.failures.extend(other.failures.into_iter().map(|(i, c)| (i + offset, c)));
        if let Some((i, a)) = other.closest {
            keep_closer(&mut self.closest, (i + offset, a));
        }
    }
}

fn keep_closer(closest: &mut Option<(usize, Approach)>, (i, a): (usize, Approach)) {
    match closest {
        Some((_, best)) if best.distance_mm <= a.distance_mm => {
            best.at_least_mm = best.at_least_mm.min(a.at_least_mm);
        }
        Some((_, best)) => {
            let at_least_mm = best.at_least_mm.min(a.at_least_mm);
            *closest = Some((i, Approach { at_least_mm, ..a }));
        }
        None => *closest = Some((i, a)),
    }
}

/// The bodies behind the flutes with their kernels.
fn behind(assembly: &Assembly) -> impl Iterator<Item = (BodyKind, &Kernel)> {
    assembly.bodies.iter().map(|b| (b.kind, b.kernel()))
}

/// Lowest distance of one body to all obstacles, with what is proven.
fn lowest(query: Query<'_>, obstacles: &[Obstacle<'_>]) -> Found {
    let mut query = query;
    let mut all = Found { lowest: None, at_least_mm: query.below_mm - query.resolution_mm };
    for (number, obstacle) in obstacles.iter().enumerate() {
        let found = query.against(obstacle, number);
        all.at_least_mm = all.at_least_mm.min(found.at_least_mm);
        if let Some(a) = found.lowest {
            query.below_mm = a.distance_mm;
            all.lowest = Some(a);
        }
    }
    if let Some(a) = &mut all.lowest {
        a.at_least_mm = all.at_least_mm;
    }
    all
}

/// The closest approach of the bodies of some kinds to any obstacle at one pose, resolved to
/// `resolution_mm`. `None` without obstacles or bodies.
pub fn closest_approach(
    assembly: &Assembly,
    pose: Pose,
    obstacles: &[Obstacle<'_>],
    kinds: &[BodyKind],
    resolution_mm: f64,
) -> Option<Approach> {
    closest_approach_below(assembly, pose, obstacles, kinds, resolution_mm, f64::INFINITY)
}

/// As [`closest_approach`], where only what comes closer than `below_mm` is of interest: a pose that
/// stands farther away costs little.
pub fn closest_approach_below(
    assembly: &Assembly,
    pose: Pose,
    obstacles: &[Obstacle<'_>],
    kinds: &[BodyKind],
    resolution_mm: f64,
    below_mm: f64,
) -> Option<Approach> {
    let motion = Motion::new(pose, pose);
    let cutting = (BodyKind::Cutting, assembly.cutter.profile().kernel());
    let bodies = std::iter::once(cutting).chain(behind(assembly));
    let mut best: Option<Approach> = None;
    for (what, kernel) in bodies.filter(|(kind, _)| kinds.contains(kind)) {
        let below_mm = best.map_or(below_mm, |a| a.distance_mm);
        let query = Query { what, kernel, motion: &motion, below_mm, resolution_mm };
        best = lowest(query, obstacles).lowest.or(best);
    }
    best
}

/// Whether a move is clear of every obstacle, proven between its poses, or what stands in the way.
pub fn certify_move(
    assembly: &Assembly,
    from: Pose,
    to: Pose,
    obstacles: &[Obstacle<'_>],
    limits: &Limits,
) -> Certificate {
    let seen = Seen { number: 0, below_mm: f64::INFINITY, closest: &mut None };
    certify(assembly, &Motion::new(from, to), obstacles, limits, seen)
}

/// As [`certify_move`] for the cutting part alone: how deep it may cut and how finely that is
/// resolved, mm.
pub fn certify_cutting(
    assembly: &Assembly,
    (from, to): (Pose, Pose),
    obstacles: &[Obstacle<'_>],
    (gouge_mm, gouge_resolution_mm): (f64, f64),
) -> Certificate {
    let limits = Limits { gouge_mm, gouge_resolution_mm, ..Limits::new(gouge_mm, 0.0) };
    cutting_part(assembly, &Motion::new(from, to), obstacles, &limits)
}

/// Certifies every move of a run and finds the closest approach of neck, shank and holder.
/// Deterministic for any number of threads.
pub fn certify_run(
    assembly: &Assembly,
    poses: &[Pose],
    obstacles: &[Obstacle<'_>],
    limits: &Limits,
) -> RunReport {
    certify_run_below(assembly, poses, obstacles, limits, f64::INFINITY)
}

/// As [`certify_run`], where only an approach closer than `below_mm` is of interest: a run that stays
/// farther away costs little, and its report has no closest approach.
pub fn certify_run_below(
    assembly: &Assembly,
    poses: &[Pose],
    obstacles: &[Obstacle<'_>],
    limits: &Limits,
    below_mm: f64,
) -> RunReport {
    let moves = poses.len().saturating_sub(1);
    let starts: Vec<usize> = (0..moves).step_by(CHUNK).collect();
    let parts: Vec<RunReport> = starts
        .par_iter()
        .map(|&start| {
            let mut report = RunReport::default();
            for i in start..(start + CHUNK).min(moves) {
                let motion = Motion::new(poses[i], poses[i + 1]);
                let seen = Seen { number: i, below_mm, closest: &mut report.closest };
                let certificate = certify(assembly, &motion, obstacles, limits, seen);
                if !certificate.is_clear() {
                    report.failures.push((i, certificate));
                }
            }
            report
        })
        .collect();
    let mut all = RunReport::default();
    if let Some(inside) = poses.first().and_then(|p| inside(assembly, *p, obstacles)) {
        all.failures.push((0, Certificate::Gouges(inside)));
    }
    parts.into_iter().for_each(|part| all.extend(part, 0));
    all.failures.dedup_by_key(|(i, _)| *i);
    all
}

/// What is known of the closest approach before a move, and where it is kept.
struct Seen<'a> {
    number: usize,
    below_mm: f64,
    closest: &'a mut Option<(usize, Approach)>,
}

fn certify(
    assembly: &Assembly,
    motion: &Motion,
    obstacles: &[Obstacle<'_>],
    limits: &Limits,
    seen: Seen<'_>,
) -> Certificate {
    let cutting = cutting_part(assembly, motion, obstacles, limits);
    let mut verdict = cutting;
    let floor = limits.clearance_mm + limits.clearance_resolution_mm;
    for (what, kernel) in behind(assembly) {
        let best = seen.closest.map_or(seen.below_mm, |(_, a)| a.distance_mm);
        let query = Query {
            what,
            kernel,
            motion,
            below_mm: best.max(floor),
            resolution_mm: limits.clearance_resolution_mm,
        };
        let found = lowest(query, obstacles);
        if let Some(a) = found.lowest {
            if a.distance_mm < seen.below_mm {
                keep_closer(seen.closest, (seen.number, a));
            }
            if a.distance_mm < limits.clearance_mm && verdict.is_clear() {
                verdict = Certificate::Collides(a);
            }
        }
        let proven = limits.clearance_mm - geom::tolerance::SOLVED_MM;
        if found.at_least_mm < proven && verdict.is_clear() {
            verdict =
                Certificate::Unproven(found.lowest.unwrap_or_else(|| {
                    nowhere(what, motion, limits.clearance_mm, found.at_least_mm)
                }));
        }
    }
    verdict
}

fn cutting_part(
    assembly: &Assembly,
    motion: &Motion,
    obstacles: &[Obstacle<'_>],
    limits: &Limits,
) -> Certificate {
    let query = Query {
        what: BodyKind::Cutting,
        kernel: assembly.cutter.profile().kernel(),
        motion,
        below_mm: limits.gouge_resolution_mm - limits.gouge_mm,
        resolution_mm: limits.gouge_resolution_mm,
    };
    let found = lowest(query, obstacles);
    match found.lowest {
        Some(a) if a.distance_mm < -limits.gouge_mm => Certificate::Gouges(a),
        Some(a) => Certificate::Unproven(a),
        None if found.at_least_mm < -limits.gouge_mm - geom::tolerance::SOLVED_MM => {
            let depth = (-limits.gouge_mm, found.at_least_mm);
            Certificate::Unproven(nowhere(BodyKind::Cutting, motion, depth.0, depth.1))
        }
        None => Certificate::Clear,
    }
}

/// An approach that no point of the surface attains: all that is known is the bound.
fn nowhere(what: BodyKind, motion: &Motion, distance_mm: f64, at_least_mm: f64) -> Approach {
    let place = motion.pose(0.5).tip;
    Approach { what, obstacle: 0, triangle: 0, place, share: 0.5, distance_mm, at_least_mm }
}

/// The cutting part wholly inside a closed obstacle, where no surface comes near it: the axis at
/// half its height lies inside as seen along three directions.
fn inside(assembly: &Assembly, pose: Pose, obstacles: &[Obstacle<'_>]) -> Option<Approach> {
    let p = pose.tip + pose.axis * (0.5 * assembly.cutter.profile().top_mm());
    let directions = [
        Vec3::new(0.267, 0.535, 0.802),
        Vec3::new(-0.640, 0.128, 0.757),
        Vec3::new(0.485, -0.728, -0.485),
    ];
    let (number, obstacle) = obstacles.iter().enumerate().find(|(_, o)| {
        directions.iter().all(|&d| o.bvh.ray_all(o.mesh, p, d, f64::INFINITY).len() % 2 == 1)
    })?;
    let closest = obstacle.bvh.closest(obstacle.mesh, p, f64::INFINITY)?;
    let distance_mm = -closest.distance_mm;
    Some(Approach {
        what: BodyKind::Cutting,
        obstacle: number,
        triangle: closest.triangle,
        place: closest.point,
        share: 0.0,
        distance_mm,
        at_least_mm: distance_mm,
    })
}
