//! Deviation of the cut surface at many rays.
//!
//! 1. The rays are cut into patches of neighbours (the caller's order decides who is a neighbour).
//! 2. The move closest to the patch's centre is worked out for all its rays: their highest entry
//!    is the patch's ceiling.
//! 3. The tree is descended; what certainly stays clear of every ray of the patch below the
//!    ceiling is left out. For each move that is left, the closest stand over the patch's centre
//!    gives a plane below the swept volume: a bound from below for the entry of every ray.
//! 4. The patch's rays are worked on in groups. A move whose plane, at the patch's centre and then
//!    at the group's own, leaves every ray of the group above its best is skipped.
//! 5. The others are worked out exactly, closest first, all rays of a group at a time. A ray that
//!    the many-fold Newton does not settle goes to the scalar search.
//!
//! The answer at a ray is a minimum; equal entries go to the lower move number. Patches do not
//! see each other, so the bits are the same for any number of threads.

use crate::body::{Body, Element};
use crate::closest::{Stand, closest, stand};
use crate::entry::{Products, Reach};
use crate::index::{Index, Patch};
use crate::lanes::{self, Ceilings, LANES, Rays};
use crate::sweep::Move;
use geom::Vec3;
use rayon::prelude::*;

/// Rays in one patch.
const PATCH: usize = 128;

/// A patch whose rays lie further than this from its middle is cut in two, mm.
const WIDE_MM: f64 = 0.7;
/// Share of the depth that is searched first.
const SHALLOW_SHARE: f64 = 0.1;

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

/// A move that may matter to a group: its closest stand over the group's centre.
struct Close {
    by: u32,
    /// Certain bound from below of its signed distance at the group's centre.
    floor: f64,
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
            self.fill(out, rays, reach);
        });
        out
    }

    /// Works on the rays as one patch, or as two where they lie too far apart to share moves.
    fn fill(&self, out: &mut [Option<Cut>], rays: &[Ray], reach: Reach) {
        let sound = |r: &&Ray| r.point.is_finite() && r.normal.is_finite();
        let of = rays.iter().filter(sound).map(|r| (r.point, r.normal));
        let wide = Patch::of(of).is_some_and(|p| p.along_mm > WIDE_MM);
        if !wide || rays.len() <= LANES {
            out.copy_from_slice(&self.patch(rays, reach));
            return;
        }
        let half = (rays.len() / 2).next_multiple_of(LANES);
        let (first, second) = out.split_at_mut(half);
        self.fill(first, &rays[..half], reach);
        self.fill(second, &rays[half..], reach);
    }

    /// As [`Swept::cuts`], with gouges sought to a tenth of the depth first and to the full depth
    /// only where they are that deep.
    pub fn cuts_in_two_depths(&self, rays: &[Ray], reach: Reach) -> Vec<Option<Cut>> {
        let shallow = Reach { lo_mm: SHALLOW_SHARE * reach.lo_mm, ..reach };
        let mut out = self.cuts(rays, shallow);
        let deep: Vec<usize> = (0..rays.len())
            .filter(|i| out[*i].is_some_and(|c| c.deviation_mm <= shallow.lo_mm))
            .collect();
        let again: Vec<Ray> = deep.iter().map(|i| rays[*i]).collect();
        for (i, cut) in deep.into_iter().zip(self.cuts(&again, reach)) {
            out[i] = cut;
        }
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

    /// How deep a point lies inside what any one move sweeps, mm; 0 outside.
    pub fn inside_mm(&self, point: Vec3) -> f64 {
        if !point.is_finite() {
            return 0.0;
        }
        let here = Reach { lo_mm: 0.0, hi_mm: 0.0 };
        let patch =
            Patch { centre: point, normal: Vec3::Z, along_mm: 0.0, thick_mm: 0.0, fan: 0.0 };
        let mut deepest = 0.0_f64;
        let mut descent = self.index.descend(&self.body, &patch, here);
        while let Some(leaf) = self.index.next(&mut descent, &self.body, &patch, here) {
            for &by in leaf {
                let m = &self.moves[by as usize];
                let abreast = stand(&self.body, m, point, m.abreast(point));
                deepest = deepest.max(-closest(&self.body, m, point, abreast).value);
            }
        }
        deepest
    }

    /// The same code is compiled for wider vector units and chosen at run time; no fused
    /// multiply-add is allowed in it, so every machine gives the same bits.
    #[allow(unsafe_code, reason = "a function compiled for a wider unit is called where it exists")]
    fn patch(&self, rays: &[Ray], reach: Reach) -> Vec<Option<Cut>> {
        #[cfg(target_arch = "x86_64")]
        {
            if std::arch::is_x86_feature_detected!("avx512f") {
                // SAFETY: the processor has the unit that the function was compiled for.
                return unsafe { self.patch_avx512(rays, reach) };
            }
            if std::arch::is_x86_feature_detected!("avx2") {
                // SAFETY: the processor has the unit that the function was compiled for.
                return unsafe { self.patch_avx2(rays, reach) };
            }
        }
        self.patch_plain(rays, reach)
    }

    #[cfg(target_arch = "x86_64")]
    #[target_feature(enable = "avx512f")]
    fn patch_avx512(&self, rays: &[Ray], reach: Reach) -> Vec<Option<Cut>> {
        self.patch_plain(rays, reach)
    }

    #[cfg(target_arch = "x86_64")]
    #[target_feature(enable = "avx2")]
    fn patch_avx2(&self, rays: &[Ray], reach: Reach) -> Vec<Option<Cut>> {
        self.patch_plain(rays, reach)
    }

    #[inline(always)]
    fn patch_plain(&self, rays: &[Ray], reach: Reach) -> Vec<Option<Cut>> {
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
#[inline(always)]
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
#[inline(always)]
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
    #[inline(always)]
    fn run(&mut self) {
        let seed = self.seed();
        if let Some(c) = &seed {
            for group in 0..self.groups.len() {
                if let Some(close) = self.matters(c, group) {
                    self.group(&close, group);
                }
            }
        }
        let reach = Reach { hi_mm: self.ceiling(), ..self.reach };
        let done = seed.map_or(u32::MAX, |c| c.by);
        let mut near: Vec<Candidate> = Vec::with_capacity(64);
        let (patch, swept) = (self.patch, self.swept);
        let mut descent = swept.index.descend(&swept.body, &patch, reach);
        while let Some(leaf) = swept.index.next(&mut descent, &swept.body, &patch, reach) {
            for &by in leaf.iter().filter(|by| **by != done) {
                if let Some(c) = self.candidate(&patch, by, reach) {
                    near.push(c);
                }
            }
        }
        let mut order: Vec<(f64, u32, usize)> = Vec::with_capacity(near.len());
        for group in 0..self.groups.len() {
            order.clear();
            for (i, c) in near.iter().enumerate() {
                let low = self.lowest_over(c, group);
                if low <= 0.0 {
                    order.push((low, c.by, i));
                }
            }
            order.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            for (_, _, i) in &order {
                if let Some(close) = self.matters(&near[*i], group) {
                    self.group(&close, group);
                }
            }
        }
    }

    /// The move that comes closest to the patch's centre, or nearly so: only a start.
    #[inline(always)]
    fn seed(&self) -> Option<Candidate> {
        let point = Patch { along_mm: 0.0, thick_mm: 0.0, fan: 0.0, ..self.patch };
        let swept = self.swept;
        let mut best: Option<Candidate> = None;
        let mut reach = self.reach;
        let mut descent = swept.index.descend(&swept.body, &point, reach);
        while let Some(leaf) = swept.index.next(&mut descent, &swept.body, &point, reach) {
            for &by in leaf {
                let Some(c) = self.candidate(&point, by, reach) else { continue };
                let up = c.stand.gradient.dot(point.normal);
                if up < 0.0 {
                    reach.hi_mm = reach.hi_mm.min((-c.stand.value / up).max(0.0));
                }
                if best.as_ref().is_none_or(|b| c.floor < b.floor) {
                    best = Some(c);
                }
            }
        }
        best
    }

    /// The highest of the rays' best entries: above it nothing matters to the patch any more.
    #[inline(always)]
    fn ceiling(&self) -> f64 {
        self.groups.iter().fold(self.reach.lo_mm, |c, g| c.max(g.ceiling_mm))
    }

    /// The closest stand of a move over a patch's centre, unless the move stays clear.
    #[inline(always)]
    fn candidate(&self, patch: &Patch, by: u32, reach: Reach) -> Option<Candidate> {
        let m = &self.swept.moves[by as usize];
        let body = &self.swept.body;
        let abreast = stand(body, m, patch.centre, m.abreast(patch.centre));
        let slack = bulge(m, patch, abreast.x);
        if abreast.floor() + patch.least(abreast.gradient, reach) - slack > 0.0 {
            return None;
        }
        let stand = closest(body, m, patch.centre, abreast);
        let floor = stand.floor() - bulge(m, patch, stand.x);
        let near = floor + patch.least(stand.gradient, reach) <= 0.0;
        near.then_some(Candidate { by, floor, stand })
    }

    /// The least that the plane under a move at the patch's centre leaves over the rays of a group
    /// below their highest best, mm.
    #[inline(always)]
    fn lowest_over(&self, c: &Candidate, group: usize) -> f64 {
        let g = &self.groups[group];
        let away = g.patch.centre - self.patch.centre;
        let reach = Reach { hi_mm: g.ceiling_mm, ..self.reach };
        c.floor + c.stand.gradient.dot(away) + g.patch.least(c.stand.gradient, reach)
    }

    /// The closest stand of a move over a group's centre, unless the planes under the move, at the
    /// patch's centre and then at the group's own, leave every ray of the group above its best.
    #[inline(always)]
    fn matters(&self, c: &Candidate, group: usize) -> Option<Close> {
        if self.lowest_over(c, group) > 0.0 {
            return None;
        }
        let g = &self.groups[group];
        let away = g.patch.centre - self.patch.centre;
        let m = &self.swept.moves[c.by as usize];
        let x = (c.stand.target + c.stand.drift.dot(away)).clamp(-1.0, 1.0);
        let stand = stand(&self.swept.body, m, g.patch.centre, x);
        let floor = stand.floor() - bulge(m, &g.patch, stand.x);
        let close = Close { by: c.by, floor, stand };
        self.lowers(&close, group).then_some(close)
    }

    /// Whether the plane under a move leaves any ray of a group below its best.
    #[inline(always)]
    fn lowers(&self, c: &Close, group: usize) -> bool {
        let from = group * LANES;
        let to = (from + LANES).min(self.rays.len());
        let (gradient, centre) = (c.stand.gradient, self.groups[group].patch.centre);
        (from..to).any(|i| self.lowers_ray(c, gradient, centre, i))
    }

    /// Whether the plane under a move leaves one ray below its best.
    #[inline(always)]
    fn lowers_ray(&self, c: &Close, gradient: Vec3, centre: Vec3, i: usize) -> bool {
        let ray = &self.rays[i];
        let slope = gradient.dot(ray.normal);
        let over = c.floor + gradient.dot(ray.point - centre);
        slope >= 0.0 || over + self.ceiling_at(i) * slope <= 0.0
    }

    /// Above this nothing matters to a ray any more, mm.
    #[inline(always)]
    fn ceiling_at(&self, i: usize) -> f64 {
        self.best[i].map_or(self.reach.hi_mm, |b| b.deviation_mm)
    }

    /// Works a move out for all rays of a group.
    #[inline(always)]
    fn group(&mut self, c: &Close, group: usize) {
        let (by, stand) = (c.by, &c.stand);
        let m = &self.swept.moves[by as usize];
        let from = group * LANES;
        let count = LANES.min(self.rays.len() - from);
        let g = &self.groups[group];
        let centre = g.patch.centre;
        let found = match self.swept.body.element(stand.element) {
            Element::Arc(arc) => {
                let ceilings = self.ceilings(m, from, count, centre);
                Some(lanes::entries(arc, m, &g.rays, stand, centre, &ceilings))
            }
            Element::Line(_) => None,
        };
        for l in 0..count {
            let entry = match &found {
                Some(e) if e.clear[l] => None,
                Some(e) if e.settled[l] && e.t[l] >= self.reach.lo_mm => {
                    (e.t[l] <= self.reach.hi_mm).then_some((e.t[l], e.x[l]))
                }
                _ if !self.lowers_ray(c, stand.gradient, centre, from + l) => None,
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

    /// Ceilings of the rays of a group, and the slack that a turning axis asks for.
    #[inline(always)]
    fn ceilings(&self, m: &Move, from: usize, count: usize, centre: Vec3) -> Ceilings {
        let hi_mm = std::array::from_fn(|l| self.ceiling_at(from + l.min(count - 1)));
        let lever = centre.distance(m.mid) + m.half.length();
        let theta = m.half_turn_rad;
        Ceilings { hi_mm, slack_mm: theta * (0.5 * theta * lever + m.half.length()) }
    }

    fn scalar(&self, m: &Move, i: usize, x: f64) -> Option<(f64, f64)> {
        let ray = &self.rays[i];
        if !(ray.point.is_finite() && ray.normal.is_finite()) {
            return None;
        }
        let reach = Reach { hi_mm: self.ceiling_at(i), ..self.reach };
        Products::new(m, ray.point, ray.normal).entry(&self.swept.body, reach, (0.0, x))
    }
}
