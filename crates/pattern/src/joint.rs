//! How one pass is joined to the next: down on the surface, or off it, through the air and on again;
//! each with proof that nothing stands in its way.

use rayon::prelude::*;
use toolpath::Pose;

use crate::air::{Airway, DETOURS, Detour};
use crate::clear::{self, ClosestApproach, InTheWay, Margin, Verdict};
use crate::drive::Work;
use crate::lead::{End, Lead};
use crate::link::{Driven, Linker};
use crate::stance::Standing;

/// Share of the clearance asked for that a rapid keeps at the least.
const RAPID_SHARE: f64 = 0.5;

/// The way from one pass to the next.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Joint {
    /// Down on the surface.
    Down(Vec<Pose>),
    /// Through the air. Before the first pass there is nothing to leave, after the last nothing to
    /// come to.
    Air {
        /// Off the pass before.
        off: Option<Lead>,
        /// Between.
        way: Box<Airway>,
        /// Onto the pass.
        on: Option<Lead>,
    },
}

/// A way that was tried, with what is known of it.
#[derive(Debug, Clone)]
pub(crate) struct Tried<T> {
    pub(crate) way: T,
    pub(crate) verdict: Verdict,
    pub(crate) closest: Option<ClosestApproach>,
}

/// Where no way is clear.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Blocked {
    pub(crate) what: InTheWay,
    /// The pass at whose end it is.
    pub(crate) pass: usize,
    pub(crate) end: End,
    /// The word for the way.
    pub(crate) on: &'static str,
}

impl<T> Tried<T> {
    fn rank(&self) -> u8 {
        if self.verdict.in_the_way.is_some() { 2 } else { u8::from(self.verdict.unproven > 0) }
    }

    /// Of several ways the first that is proven, else the first in whose way nothing was found.
    fn first_clear(
        first: T,
        others: impl IntoIterator<Item = T>,
        judge: impl Fn(T) -> Tried<T>,
    ) -> Result<Self, InTheWay> {
        let mut best = judge(first);
        let mut others = others.into_iter();
        while best.rank() > 0 {
            let Some(next) = others.next() else { break };
            let next = judge(next);
            if next.rank() < best.rank() {
                best = next;
            }
        }
        best.verdict.in_the_way.map_or(Ok(best), Err)
    }
}

/// What joints are proven with.
pub(crate) struct Joiner<'a> {
    pub(crate) work: &'a Work<'a>,
    pub(crate) linker: &'a Linker<'a>,
    pub(crate) chord_mm: f64,
    /// Only approaches nearer than this are of interest, mm.
    pub(crate) below_mm: f64,
}

impl Joiner<'_> {
    /// All joints in order: the one before each pass, and the one after the last. Links that stay
    /// down are proven already.
    pub(crate) fn all(
        &self,
        driven: &[Driven],
        links: Vec<Option<Vec<Pose>>>,
    ) -> Result<Vec<Tried<Joint>>, Blocked> {
        let each: Vec<Option<Vec<Pose>>> = links.into_iter().chain([None]).collect();
        each.into_par_iter()
            .enumerate()
            .map(|(pass, stay)| match stay {
                Some(way) => {
                    let way = Joint::Down(way);
                    Ok(Tried { way, verdict: Verdict::default(), closest: None })
                }
                None => {
                    let before = pass.checked_sub(1).and_then(|p| driven[p].standings.last());
                    let after = driven.get(pass).and_then(|d| d.standings.first());
                    self.through_air(pass, before, after)
                }
            })
            .collect()
    }

    fn through_air(
        &self,
        pass: usize,
        before: Option<&Standing>,
        after: Option<&Standing>,
    ) -> Result<Tried<Joint>, Blocked> {
        let of_end = pass.saturating_sub(1);
        let lead = |s: Option<&Standing>, end, pass| {
            s.map(|s| self.lead(s, end).map_err(|what| Blocked { what, pass, end, on: "lead" }))
                .transpose()
        };
        let off = lead(before, End::Finish, of_end)?;
        let on = lead(after, End::Start, pass)?;
        let free = |l: &Option<Tried<Lead>>, s: Option<&Standing>| {
            l.as_ref().zip(s).map(|(l, s)| l.way.free(s))
        };
        let (from, to) = (free(&off, before), free(&on, after));
        let first = self.linker.airway(from, to, Detour::NONE);
        let others = DETOURS.iter().map(|d| self.linker.airway(from, to, *d));
        let end = if before.is_some() { End::Finish } else { End::Start };
        let found = Tried::first_clear(first, others, |way| self.judged(way))
            .map_err(|what| Blocked { what, pass: of_end, end, on: "rapid" })?;
        let (mut verdict, mut closest) = (found.verdict, found.closest);
        for lead in off.iter().chain(&on) {
            verdict = verdict.and(lead.verdict);
            closest = clear::nearer(closest, lead.closest);
        }
        let way =
            Joint::Air { off: off.map(|l| l.way), way: Box::new(found.way), on: on.map(|l| l.way) };
        Ok(Tried { way, verdict, closest })
    }

    /// A lead that is clear, with the way along the axis that follows it.
    fn lead(&self, s: &Standing, end: End) -> Result<Tried<Lead>, InTheWay> {
        let (asked, others) = self.linker.leads(s, end);
        Tried::first_clear(asked, others, |lead| {
            let free = lead.free(s);
            let lifted = free.tip + free.axis * self.linker.clearance_mm;
            let mut way = lead.outwards.clone();
            way.push(Pose { tip: lifted, ..free });
            let (verdict, closest) = self.proven(&[way], self.touching());
            Tried { way: lead, verdict, closest }
        })
    }

    fn judged(&self, way: Airway) -> Tried<Airway> {
        let mut tried = Tried { way, verdict: Verdict::default(), closest: None };
        let keep_mm = RAPID_SHARE * self.linker.clearance_mm;
        let near = tried.way.near().into_iter().map(|w| (w, self.touching()));
        for (stretch, margin) in near.chain([(tried.way.free(), Margin::Away(keep_mm))]) {
            let (verdict, closest) = self.proven(&[stretch], margin);
            tried.verdict = tried.verdict.and(verdict);
            tried.closest = clear::nearer(tried.closest, closest);
        }
        tried
    }

    fn touching(&self) -> Margin {
        Margin::Touching { chord_mm: self.chord_mm }
    }

    fn proven(
        &self,
        stretches: &[Vec<Pose>],
        margin: Margin,
    ) -> (Verdict, Option<ClosestApproach>) {
        let Work { job, obstacles, .. } = self.work;
        let known = clear::prove(job.assembly, stretches, obstacles, margin, self.below_mm);
        let verdict = known.verdicts.into_iter().fold(Verdict::default(), Verdict::and);
        (verdict, known.closest)
    }
}
