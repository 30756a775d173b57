//! Proof that passes and what joins them are clear, and what is done where they are not.

use clearance::fitting::Station;
use rayon::prelude::*;
use toolpath::Pose;

use crate::clear::{self, ClosestApproach, InTheWay, Margin, Proven, Verdict};
use crate::drive::Work;
use crate::error::PatternError;
use crate::joint::{Joiner, Joint};
use crate::lead::End;
use crate::link::{Driven, LIFTS, Linker};
use crate::order::Turn;
use crate::stance::Standing;
use crate::trace::Tracer;
use crate::trim::Piece;

/// What was proven of passes and joints.
#[derive(Default)]
pub(crate) struct Proof {
    /// What joins the passes: before each of them, and after the last.
    pub(crate) joints: Vec<Joint>,
    /// Links that could have stayed down, had nothing stood in their way.
    pub(crate) lifted_links: usize,
    pub(crate) unproven: usize,
    pub(crate) closest: Option<ClosestApproach>,
}

/// Why there are no passes.
#[derive(Debug)]
pub(crate) enum Stopped {
    /// For good.
    Error(PatternError),
    /// Something stands in the way of the axis as it is.
    InTheWay(Obstruction),
}

impl From<PatternError> for Stopped {
    fn from(e: PatternError) -> Self {
        Stopped::Error(e)
    }
}

/// Something in the way, and where the cutter touches when it meets it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Obstruction {
    /// The contact, with the direction of the pattern.
    pub(crate) station: Station,
    /// Whether the pass runs against the pattern's direction.
    pub(crate) against: bool,
    pub(crate) what: InTheWay,
    pub(crate) pass: usize,
    /// The word for the way: pass, lead, rapid.
    pub(crate) on: &'static str,
}

/// What is tried for a pass after its first form: the axis of the rule, and ending it at the border.
const FALLBACKS: usize = 2;

/// Passes with what may take their place.
pub(crate) struct Drives {
    pub(crate) driven: Vec<Driven>,
    /// With the axis of the rule, where the pass has a steadied one.
    pub(crate) unsteadied: Vec<Option<Driven>>,
    /// Whether the pass was ended at the border.
    pub(crate) ended: Vec<bool>,
}

/// Passes and the links between them that stay down.
#[derive(Default)]
struct Attempt {
    passes: Vec<Verdict>,
    /// For each pass the link to it, where it is clear.
    links: Vec<Option<Vec<Pose>>>,
    lifted_links: usize,
    unproven: usize,
    closest: Option<ClosestApproach>,
}

impl Work<'_> {
    /// Proves passes and joints clear. A pass that is not goes back to the axis of the rule where it
    /// was steadied, and is ended at the border where going on past it may gouge; a link that is not
    /// goes through the air; a lead that is not is shortened, turned or left out.
    pub(crate) fn proven(
        &self,
        tracer: &Tracer<'_>,
        linker: &Linker<'_>,
        pieces: &[Piece],
        turns: &[Turn],
        drives: &mut Drives,
    ) -> Result<Proof, Stopped> {
        let chord_mm = tracer.tolerance.normal_mm + clear::unsure_mm(self.job);
        let mut attempt = self.attempt(linker, &drives.driven, chord_mm);
        for _ in 0..FALLBACKS {
            let mut changed = false;
            for (pass, verdict) in attempt.passes.iter().enumerate() {
                if let Some(what) = verdict.in_the_way {
                    let piece = &pieces[turns[pass].piece];
                    changed |=
                        self.fallen_back(tracer, piece, (turns[pass], pass), what, drives)?;
                }
            }
            if !changed {
                break;
            }
            attempt = self.attempt(linker, &drives.driven, chord_mm);
        }
        let driven = &drives.driven;
        let still = (0..driven.len()).find_map(|p| Some((p, attempt.passes[p].in_the_way?)));
        if let Some((pass, what)) = still {
            let at = nearest(&driven[pass], what);
            return Err(obstruction(at, turns[pass], what, (pass, "pass")));
        }
        self.joined(linker, turns, driven, chord_mm, attempt)
    }

    /// Puts something else in the place of a pass that is not clear; false where there is nothing.
    fn fallen_back(
        &self,
        tracer: &Tracer<'_>,
        piece: &Piece,
        (turn, pass): (Turn, usize),
        what: InTheWay,
        drives: &mut Drives,
    ) -> Result<bool, PatternError> {
        if let Some(own) = drives.unsteadied[pass].take() {
            drives.driven[pass] = own;
            return Ok(true);
        }
        if what.body != cutter::BodyKind::Cutting || drives.ended[pass] {
            return Ok(false);
        }
        let Some(within) = piece.within(self.chart) else { return Ok(false) };
        drives.driven[pass] = crate::drive::driven(tracer, &within, turn.against)?;
        drives.ended[pass] = true;
        Ok(true)
    }

    fn joined(
        &self,
        linker: &Linker<'_>,
        turns: &[Turn],
        driven: &[Driven],
        chord_mm: f64,
        attempt: Attempt,
    ) -> Result<Proof, Stopped> {
        let Attempt { links, lifted_links, mut unproven, mut closest, .. } = attempt;
        let below_mm = closest.map_or(f64::INFINITY, |c| c.worth_knowing_mm());
        let joiner = Joiner { work: self, linker, chord_mm, below_mm };
        let joined = joiner.all(driven, links).map_err(|blocked| {
            let standings = &driven[blocked.pass].standings;
            let at = if blocked.end == End::Start { standings.first() } else { standings.last() };
            obstruction(at, turns[blocked.pass], blocked.what, (blocked.pass, blocked.on))
        })?;
        let mut joints = Vec::with_capacity(joined.len());
        for joint in joined {
            unproven += joint.verdict.unproven;
            closest = clear::nearer(closest, joint.closest);
            joints.push(joint.way);
        }
        Ok(Proof { joints, lifted_links, unproven, closest })
    }

    /// The lowest link that stays down and above the surface; `None` where the passes lie too far
    /// apart for one, and no way where something stands in the way of each.
    fn stay_down(
        &self,
        linker: &Linker<'_>,
        end: &Standing,
        start: &Standing,
        chord_mm: f64,
    ) -> Option<Option<Vec<Pose>>> {
        let mut ways = LIFTS.iter().map_while(|lift| linker.stay_down(end, start, *lift));
        let first = ways.next()?;
        let above =
            |way: &Vec<Pose>| clear::stays_above(self.job.assembly, way, self.obstacles, chord_mm);
        Some(std::iter::once(first).chain(ways).find(above))
    }

    fn attempt(&self, linker: &Linker<'_>, driven: &[Driven], chord_mm: f64) -> Attempt {
        let found: Vec<Option<Option<Vec<Pose>>>> = (0..driven.len())
            .into_par_iter()
            .map(|pass| {
                let end = driven[pass.checked_sub(1)?].standings.last()?;
                let start = driven[pass].standings.first()?;
                self.stay_down(linker, end, start, chord_mm)
            })
            .collect();
        let passes = vec![Verdict::default(); driven.len()];
        let lifted_links = found.iter().filter(|l| **l == Some(None)).count();
        let links = found.into_iter().map(Option::flatten).collect();
        let mut attempt = Attempt { passes, links, lifted_links, ..Attempt::default() };
        let mut left = attempt.ranges(0, driven.len());
        // what the first range comes near to spares the others the search for what is farther off
        let mut first = true;
        while !left.is_empty() {
            let now = if first { &left[..1] } else { &left[..] };
            first = false;
            let margin = Margin::Touching { chord_mm };
            let below_mm = attempt.closest.map_or(f64::INFINITY, |c| c.worth_knowing_mm());
            let proven: Vec<Proven> = now
                .par_iter()
                .map(|range| {
                    let stretches = attempt.stretches(driven, *range);
                    clear::prove(self.job.assembly, &stretches, self.obstacles, margin, below_mm)
                })
                .collect();
            let mut again = Vec::new();
            for (range, proven) in now.iter().zip(proven) {
                again.extend(attempt.take(*range, proven));
            }
            again.extend_from_slice(&left[now.len()..]);
            left = again;
        }
        attempt
    }
}

impl Attempt {
    /// Passes from `from` to before `to` in ranges that links join: each is proven in one go.
    fn ranges(&self, mut from: usize, to: usize) -> Vec<(usize, usize)> {
        let mut ranges = Vec::new();
        while from < to {
            let joined = self.links[from + 1..to].iter().take_while(|l| l.is_some()).count();
            ranges.push((from, from + 1 + joined));
            from += 1 + joined;
        }
        ranges
    }

    /// The passes of a range and the links between them.
    fn stretches(&self, driven: &[Driven], (from, to): (usize, usize)) -> Vec<Vec<Pose>> {
        let mut stretches = vec![driven[from].poses()];
        for pass in from + 1..to {
            stretches.push(self.links[pass].clone().unwrap_or_default());
            stretches.push(driven[pass].poses());
        }
        stretches
    }

    /// Takes what was proven of a range; where links had to be given up, the ranges without them are
    /// to be proven again.
    fn take(&mut self, (from, to): (usize, usize), proven: Proven) -> Vec<(usize, usize)> {
        let blocked: Vec<usize> =
            (from + 1..to).filter(|p| !proven.verdicts[2 * (p - from) - 1].is_clear()).collect();
        for pass in &blocked {
            self.links[*pass] = None;
            self.lifted_links += 1;
        }
        if !blocked.is_empty() {
            return self.ranges(from, to);
        }
        for (pass, verdict) in (from..to).zip(proven.verdicts.iter().step_by(2)) {
            self.passes[pass] = *verdict;
            self.unproven += verdict.unproven;
        }
        self.closest = clear::nearer(self.closest, proven.closest);
        Vec::new()
    }
}

/// The standing of a pass whose contact is nearest to what is in its way.
fn nearest(driven: &Driven, what: InTheWay) -> Option<&Standing> {
    let off = |s: &Standing| s.site.point.distance_squared(what.place);
    driven.standings.iter().min_by(|a, b| off(a).total_cmp(&off(b)))
}

fn obstruction(
    at: Option<&Standing>,
    turn: Turn,
    what: InTheWay,
    (pass, on): (usize, &'static str),
) -> Stopped {
    let Some(s) = at else { return Stopped::Error(PatternError::NoPass) };
    let feed = if turn.against { -s.feed } else { s.feed };
    let station = Station { site: s.site, feed };
    Stopped::InTheWay(Obstruction { station, against: turn.against, what, pass, on })
}
