//! Proof that passes and links are clear, and what is done where they are not.

use rayon::prelude::*;
use toolpath::Pose;

use crate::choose;
use crate::clear::{self, ClosestApproach, InTheWay, Verdict};
use crate::drive::Work;
use crate::error::{At, PatternError};
use crate::finish::MOST_STATIONS;
use crate::link::{Driven, Linker};
use crate::order::Turn;
use crate::trace::Tracer;
use crate::trim::Piece;

/// What was proven of passes and links.
#[derive(Default)]
pub(crate) struct Proof {
    pub(crate) passes: Vec<Verdict>,
    /// For each pass the link to it that stays down, where it is clear.
    pub(crate) links: Vec<Option<Vec<Pose>>>,
    pub(crate) unproven: usize,
    pub(crate) closest: Option<ClosestApproach>,
}

impl Work<'_> {
    /// Proves passes and links clear. A pass that is not is ended at the border, where going on past
    /// it may gouge; a link that is not goes through the air.
    pub(crate) fn proven(
        &self,
        tracer: &Tracer<'_>,
        linker: &Linker<'_>,
        pieces: &[Piece],
        turns: &[Turn],
        driven: &mut [Driven],
    ) -> Result<Proof, PatternError> {
        let chord_mm = tracer.tolerance.normal_mm;
        let first = self.attempt(linker, driven, chord_mm);
        let bad: Vec<usize> =
            (0..driven.len()).filter(|p| first.passes[*p].in_the_way.is_some()).collect();
        if bad.is_empty() {
            return Ok(first);
        }
        for pass in &bad {
            let (turn, what) = (turns[*pass], first.passes[*pass].in_the_way);
            let Some(within) = pieces[turn.piece].within(self.chart) else { continue };
            if what.is_some_and(|w| w.body == cutter::BodyKind::Cutting) {
                driven[*pass] = crate::drive::driven(tracer, &within, turn.against)?;
            }
        }
        let second = self.attempt(linker, driven, chord_mm);
        let still = (0..driven.len()).find_map(|p| Some((p, second.passes[p].in_the_way?)));
        match still {
            Some((pass, what)) => Err(self.in_the_way(&driven[pass], what, pass)),
            None => Ok(second),
        }
    }

    fn attempt(&self, linker: &Linker<'_>, driven: &[Driven], chord_mm: f64) -> Proof {
        let mut links: Vec<Option<Vec<Pose>>> = (0..driven.len())
            .into_par_iter()
            .map(|pass| {
                let end = driven[pass.checked_sub(1)?].standings.last()?;
                linker.stay_down(end, driven[pass].standings.first()?)
            })
            .collect();
        let mut proof =
            Proof { passes: vec![Verdict::default(); driven.len()], ..Proof::default() };
        let mut from = 0;
        while from < driven.len() {
            // passes that links join are proven in one go
            let joined = links[from + 1..].iter().take_while(|l| l.is_some()).count();
            let to = from + 1 + joined;
            let mut stretches = vec![driven[from].poses()];
            for pass in from + 1..to {
                stretches.push(links[pass].clone().unwrap_or_default());
                stretches.push(driven[pass].poses());
            }
            let (verdicts, closest) =
                clear::prove(self.job.assembly, &stretches, self.obstacles, chord_mm);
            for (n, verdict) in verdicts.into_iter().enumerate() {
                let pass = from + n.div_ceil(2);
                if n % 2 == 0 {
                    proof.passes[pass] = verdict;
                    proof.unproven += verdict.unproven;
                } else if verdict.in_the_way.is_some() || verdict.unproven > 0 {
                    links[pass] = None;
                }
            }
            proof.closest = clear::nearer(proof.closest, closest);
            from = to;
        }
        Proof { links, ..proof }
    }

    fn in_the_way(&self, driven: &Driven, what: InTheWay, pass: usize) -> PatternError {
        let stations = choose::stations(self.lattice, self.family, MOST_STATIONS);
        let (lo, hi) = choose::band(&self.stance, &stations);
        let nearest = driven.standings.iter().min_by(|a, b| {
            let d = |s: &crate::stance::Standing| s.site.point.distance_squared(what.place);
            d(a).total_cmp(&d(b))
        });
        let remedy = nearest.map_or(String::new(), |s| {
            let forward = clearance::fitting::Station { site: s.site, feed: s.feed };
            choose::remedy(self.job, &self.stance, &forward, self.obstacles)
        });
        PatternError::Collides {
            body: what.body.name(),
            at: At(what.place),
            pass: Some(pass),
            depth_mm: what.depth_mm,
            lo_deg: lo.to_degrees(),
            hi_deg: hi.to_degrees(),
            remedy,
        }
    }
}
