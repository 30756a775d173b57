//! Deviation of the cut surface at many rays.
//!
//! 1. The rays are cut into patches of neighbours (the caller's order decides who is a neighbour).
//! 2. The tree is descended once for a patch, nearest first; what certainly stays clear of every
//!    ray of the patch above the deviation found so far is left out.
//! 3. For each move that is left, the closest stand over the patch's centre gives a plane below
//!    the swept volume: a cheap bound from below for the entry of every ray.
//! 4. A move that comes closer than any before is worked out at once for the whole patch, eight
//!    rays at a time, and lowers the patch's ceiling; the others wait, in order of closeness.
//! 5. For each waiting move, rays that its plane leaves above their best are skipped, the others
//!    worked out exactly. A ray that the eight-fold Newton does not settle goes to the scalar search.
//!
//! The answer at a ray is a minimum; equal entries go to the lower move number. Patches do not
//! see each other, so the bits are the same for any number of threads.

use crate::body::{Body, Element};
use crate::closest::{Stand, closest, stand};
use crate::entry::{Products, Reach};
use crate::index::{Index, Patch};
use crate::lanes::{self, LANES, Rays};
use crate::sweep::Move;
use geom::Vec3;
use rayon::prelude::*;

/// Rays in one patch.
const PATCH: usize = 128;

/// A point of the nominal surface and its unit normal out of the material.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ray {
    /// Point, mm.
    pub point: Vec3,
    /// Unit normal.
    pub normal: Vec3,
}

/// What cut a ray.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cut {
    /// Deviation along the normal, mm: positive left standing, negative gouge.
    pub deviation_mm: f64,
    /// Number of the move that made it.
    pub by: u32,
    /// Where on that move the cutter stood, −1 to 1.
    pub x: f64,
}

/// A cutter and the moves it makes, ready to be asked.
#[derive(Debug, Clone)]
pub struct Swept {
    body: Body,
    moves: Vec<Move>,
    index: Index,
}

/// A move that may matter to a patch.
struct Candidate {
    by: u32,
    /// Certain bound from below of its signed distance at the patch's centre.
    floor: f64,
    /// The closest stand over the patch's centre.
    stand: Stand,
}

/// Rays of a patch that are worked on together.
struct Group {
    rays: Rays,
    patch: Patch,
    /// The highest of its rays' best entries, mm.
    ceiling_mm: f64,
}

/// A patch at work.
struct Work<'a> {
    swept: &'a Swept,
    reach: Reach,
    patch: Patch,
    rays: &'a [Ray],
    groups: Vec<Group>,
    best: Vec<Option<Cut>>,
}

impl Swept {
    /// A cutter with its moves.
    pub fn new(body: Body, moves: Vec<Move>) -> Self {
        let index = Index::new(&moves);
        Self { body, moves, index }
    }

    /// The moves, by number.
    pub fn moves(&self) -> &[Move] {
        &self.moves
    }

    /// The cutter.
    pub fn body(&self) -> &Body {
        &self.body
    }

    /// What cut each ray first, coming from the material side; `None` where nothing reached it
    /// within `reach`. Neighbouring rays should stand beside each other in the list.
    pub fn cuts(&self, rays: &[Ray], reach: Reach) -> Vec<Option<Cut>> {
        let mut out = vec![None; rays.len()];
        out.par_chunks_mut(PATCH).zip(rays.par_chunks(PATCH)).for_each(|(out, rays)| {
            out.copy_from_slice(&self.patch(rays, reach));
        });
        out
    }

    /// What cut one ray.
    pub fn cut(&self, ray: Ray, reach: Reach) -> Option<Cut> {
        self.patch(&[ray], reach)[0]
    }

    /// What some of the moves, given by number, cut of a ray.
    pub fn cut_by(&self, ray: Ray, reach: Reach, some: impl Iterator<Item = u32>) -> Option<Cut> {
        let mut best = None;
        for by in some {
            let m = &self.moves[by as usize];
            let e = Products::new(m, ray.point, ray.normal).entry(&self.body, reach, (0.0, 0.0));
            if let Some((t, x)) = e {
                improve(&mut best, Cut { deviation_mm: t, by, x });
            }
        }
        best
    }

    fn patch(&self, rays: &[Ray], reach: Reach) -> Vec<Option<Cut>> {
        let sound = |r: &&Ray| r.point.is_finite() && r.normal.is_finite();
        let of = rays.iter().filter(sound).map(|r| (r.point, r.normal));
        let Some(patch) = Patch::of(of) else { return vec![None; rays.len()] };
        let group = |some: &[Ray]| {
            let of = some.iter().filter(sound).map(|r| (r.point, r.normal));
            Group {
                rays: spread(some),
                patch: Patch::of(of).unwrap_or(patch),
                ceiling_mm: reach.hi_mm,
            }
        };
        let groups = rays.chunks(LANES).map(group).collect();
        let best = vec![None; rays.len()];
        let mut work = Work { swept: self, reach, patch, rays, groups, best };
        work.run();
        work.best
    }
}

/// Rays into lanes; a short group repeats its last ray.
fn spread(group: &[Ray]) -> Rays {
    let mut rays = Rays { p: [[0.0; LANES]; 3], n: [[0.0; LANES]; 3] };
    for l in 0..LANES {
        let r = group[l.min(group.len() - 1)];
        for k in 0..3 {
            rays.p[k][l] = r.point[k];
            rays.n[k][l] = r.normal[k];
        }
    }
    rays
}

/// How far a turning axis may leave the signed distance over a patch short of the plane that the
/// stand at x gives, mm: in the cutter's frame a point moves with an acceleration of at most
/// θ² lever + 2 θ |half| per unit of x squared, and θ per mm from the centre crosswise.
#[inline]
fn bulge(m: &Move, patch: &Patch, x: f64) -> f64 {
    let theta = m.half_turn_rad;
    if theta == 0.0 {
        return 0.0;
    }
    let half = m.half.length();
    let lever = patch.centre.distance(m.mid) + half;
    let range = 1.0 + x.abs();
    let bend = 0.5 * theta * lever + half;
    theta * range * (patch.along_mm + patch.thick_mm + bend * range)
}

/// Keeps the lower entry; equal ones go to the lower number.
fn improve(best: &mut Option<Cut>, new: Cut) {
    let better = best.is_none_or(|b| {
        new.deviation_mm < b.deviation_mm || (new.deviation_mm == b.deviation_mm && new.by < b.by)
    });
    if better {
        *best = Some(new);
    }
}

impl Work<'_> {
    fn run(&mut self) {
        let mut waiting: Vec<Candidate> = Vec::with_capacity(64);
        let mut closest = f64::INFINITY;
        let (patch, swept) = (self.patch, self.swept);
        swept.index.visit(&swept.body, &patch, self.reach, |by, reach| {
            let Some(candidate) = self.candidate(by, reach) else { return reach };
            if candidate.floor < closest {
                closest = candidate.floor;
                self.work_out(&candidate);
                return Reach { hi_mm: self.ceiling(), ..reach };
            }
            waiting.push(candidate);
            reach
        });
        waiting.sort_by(|a, b| a.floor.total_cmp(&b.floor).then(a.by.cmp(&b.by)));
        let mut reach = Reach { hi_mm: self.ceiling(), ..self.reach };
        for c in &waiting {
            if c.floor + patch.least(c.stand.gradient, reach) <= 0.0 {
                self.work_out(c);
                reach.hi_mm = self.ceiling();
            }
        }
    }

    /// The highest of the rays' best entries: above it nothing matters to the patch any more.
    fn ceiling(&self) -> f64 {
        self.groups.iter().fold(self.reach.lo_mm, |c, g| c.max(g.ceiling_mm))
    }

    /// The closest stand of a move over the patch's centre, unless the move stays clear.
    fn candidate(&self, by: u32, reach: Reach) -> Option<Candidate> {
        let m = &self.swept.moves[by as usize];
        let body = &self.swept.body;
        let patch = &self.patch;
        let middle = stand(body, m, patch.centre, 0.0);
        let slack = bulge(m, patch, middle.x);
        if middle.floor() + patch.least(middle.gradient, reach) - slack > 0.0 {
            return None;
        }
        let stand = closest(body, m, patch.centre, middle);
        let floor = stand.floor() - bulge(m, patch, stand.x);
        let near = floor + patch.least(stand.gradient, reach) <= 0.0;
        near.then_some(Candidate { by, floor, stand })
    }

    /// Works a move out for every ray that it may still lower.
    fn work_out(&mut self, c: &Candidate) {
        for group in 0..self.groups.len() {
            if let Some(stand) = self.matters(c, group) {
                self.group(c.by, &stand, group);
            }
        }
    }

    /// The closest stand of a move over a group's centre, unless the planes under the move, at the
    /// patch's centre and then at the group's own, leave every ray of the group above its best.
    #[inline]
    fn matters(&self, c: &Candidate, group: usize) -> Option<Stand> {
        let g = &self.groups[group];
        let away = g.patch.centre - self.patch.centre;
        let reach = Reach { hi_mm: g.ceiling_mm, ..self.reach };
        let over = c.floor + c.stand.gradient.dot(away);
        if over + g.patch.least(c.stand.gradient, reach) > 0.0 {
            return None;
        }
        let m = &self.swept.moves[c.by as usize];
        let x = (c.stand.target + c.stand.drift.dot(away)).clamp(-1.0, 1.0);
        let stand = stand(&self.swept.body, m, g.patch.centre, x);
        let floor = stand.floor() - bulge(m, &g.patch, stand.x);
        let from = group * LANES;
        let to = (from + LANES).min(self.rays.len());
        let lower = |i: usize| {
            let ray = &self.rays[i];
            let slope = stand.gradient.dot(ray.normal);
            let over = floor + stand.gradient.dot(ray.point - g.patch.centre);
            slope >= 0.0 || over + self.ceiling_at(i) * slope <= 0.0
        };
        (from..to).any(lower).then_some(stand)
    }

    /// Above this nothing matters to a ray any more, mm.
    fn ceiling_at(&self, i: usize) -> f64 {
        self.best[i].map_or(self.reach.hi_mm, |b| b.deviation_mm)
    }

    fn group(&mut self, by: u32, stand: &Stand, group: usize) {
        let m = &self.swept.moves[by as usize];
        let from = group * LANES;
        let count = LANES.min(self.rays.len() - from);
        let g = &self.groups[group];
        let found = match self.swept.body.element(stand.element) {
            Element::Arc(arc) => Some(lanes::entries(arc, m, &g.rays, stand, g.patch.centre)),
            Element::Line(_) => None,
        };
        for l in 0..count {
            let entry = match &found {
                Some(e) if e.settled[l] && e.t[l] >= self.reach.lo_mm => {
                    (e.t[l] <= self.reach.hi_mm).then_some((e.t[l], e.x[l]))
                }
                _ => self.scalar(m, from + l, stand.x),
            };
            if let Some((deviation_mm, x)) = entry {
                improve(&mut self.best[from + l], Cut { deviation_mm, by, x });
            }
        }
        let lo = self.reach.lo_mm;
        let ceiling = (from..from + count).fold(lo, |c, i| c.max(self.ceiling_at(i)));
        self.groups[group].ceiling_mm = ceiling;
    }

    fn scalar(&self, m: &Move, i: usize, x: f64) -> Option<(f64, f64)> {
        let ray = &self.rays[i];
        if !(ray.point.is_finite() && ray.normal.is_finite()) {
            return None;
        }
        Products::new(m, ray.point, ray.normal).entry(&self.swept.body, self.reach, (0.0, x))
    }
}
