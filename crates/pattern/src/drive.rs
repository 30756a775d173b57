//! From pieces of lines to a toolpath: chord tolerance, order, poses, proof, links, figures.

use cutter::axis::Side;
use rayon::prelude::*;

use clearance::Obstacle;

use crate::chart::Chart;
use crate::choose;
use crate::chord::Chord;
use crate::error::{PatternError, Warning};
use crate::family::Family;
use crate::finish::{MOST_STATIONS, Progress, stance};
use crate::ground::Ground;
use crate::height::{Discs, HeightMap};
use crate::job::{FaceJob, Pattern};
use crate::lay::Laid;
use crate::link::{Driven, Linker};
use crate::order::{Ends, Turn, order};
use crate::outcome::{AxisUsed, FacePasses, Spread};
use crate::prove::{Drives, Stopped};
use crate::stance::{Rule, Stance};
use crate::steady::{self, Turning};
use crate::string::{Strung, string, summary};
use crate::strip::Strips;
use crate::trace::{Tolerance, Tracer};
use crate::trim::Piece;

/// Slope below which levels are a poor choice, deg (common practice, no source).
const FLAT_DEG: f64 = 30.0;
/// Spacing over what is allowed from which it is worth a warning.
const TURN_SLACK: f64 = 0.005;
/// Lateral tolerance of straight moves as a share of the step-over: it changes the cusp by twice it.
const LATERAL_SHARE: f64 = 0.002;

/// Everything that turns laid lines into a toolpath.
pub(crate) struct Work<'a> {
    pub(crate) chart: &'a dyn Chart,
    pub(crate) job: &'a FaceJob<'a>,
    pub(crate) stance: Stance<'a>,
    pub(crate) ground: &'a Ground,
    pub(crate) family: &'a Family<'a>,
    pub(crate) obstacles: &'a [Obstacle<'a>],
}

impl Work<'_> {
    /// The passes with all that is known of them.
    pub(crate) fn finished(
        &self,
        laid: Laid,
        progress: Progress<'_>,
    ) -> Result<FacePasses, Stopped> {
        let cusp = Spread::of(laid.strips.samples().filter_map(|s| s.cusp_mm));
        let stepover_mm = Spread::of(laid.strips.samples().map(|s| s.spacing_mm));
        let chord = Chord::of(self.job, cusp.map(|c| c.max));
        let turns = self.ordered(&laid.pieces);
        let tracer = Tracer {
            chart: self.chart,
            family: self.family,
            stance: &self.stance,
            tolerance: Tolerance {
                normal_mm: chord.sag_mm,
                lateral_mm: chord.sag_mm.max(LATERAL_SHARE * stepover_mm.map_or(0.0, |s| s.max)),
            },
        };
        let mut drives = self.drives(&tracer, &laid.pieces, &turns)?;
        let turning = Turning::fastest(drives.rule());
        progress(0.7);
        let heights = self.heights();
        let discs = Discs::of(self.job.assembly);
        let linker = self.linker(heights.as_ref(), &discs, stepover_mm);
        let proof = self.proven(&tracer, &linker, &laid.pieces, &turns, &mut drives)?;
        progress(0.95);
        let strung = string(&linker, &drives.driven, proof.joints);
        let axis = self.axis_used(&drives.driven);
        let warnings = self.warnings(&strung, proof.unproven, proof.lifted_links);
        let mut out = summary(strung, &laid.pieces, &turns, stepover_mm, axis);
        out.closest_approach = proof.closest;
        out.warnings = warnings;
        out.warnings.extend(steady::warnings(turning, &drives));
        out.warnings.extend(wider(&laid.strips));
        out.warnings.extend(self.flat_for_levels());
        let bound_cusp = self.job.cusp_mm.or(cusp.map(|c| c.max));
        out.path_bound_mm = bound_cusp.and_then(|h| self.ground.path_bound_mm(&self.stance, h));
        out.predicted_cusp_max_mm = cusp.map(|c| c.max);
        out.predicted_cusp_mean_mm = cusp.map(|c| c.mean);
        out.chord_mm = chord.limit_mm;
        out.strips = laid.strips;
        progress(1.0);
        Ok(out)
    }

    /// All passes, their axes steadied where the rule turns them too fast.
    fn drives(
        &self,
        tracer: &Tracer<'_>,
        pieces: &[Piece],
        turns: &[Turn],
    ) -> Result<Drives, PatternError> {
        let traced: Vec<Result<Driven, PatternError>> = turns
            .par_iter()
            .map(|turn| driven(tracer, &pieces[turn.piece], turn.against))
            .collect();
        let mut driven = traced.into_iter().collect::<Result<Vec<Driven>, _>>()?;
        let mut unsteadied: Vec<Option<Driven>> = driven.iter().map(|_| None).collect();
        let leans = matches!(self.stance.rule, Rule::Tilted { .. });
        if leans && driven.iter().any(|d| Turning::of(d).is_fast()) {
            let stations = self.ground.some(MOST_STATIONS);
            let ring = choose::band(&self.stance, &stations);
            let steadied: Vec<Option<Driven>> = turns
                .par_iter()
                .zip(&driven)
                .map(|(turn, raw)| tracer.steadied(&pieces[turn.piece], turn.against, raw, ring))
                .collect();
            for ((d, own), steady) in driven.iter_mut().zip(&mut unsteadied).zip(steadied) {
                *own = steady.map(|s| std::mem::replace(d, s));
            }
        }
        let ended = vec![false; driven.len()];
        Ok(Drives { driven, unsteadied, ended })
    }

    fn heights(&self) -> Option<HeightMap> {
        let meshes = std::iter::once(&self.job.part.mesh).chain(self.job.fixtures);
        HeightMap::over(meshes, self.job.frame)
    }

    fn linker<'b>(
        &self,
        heights: Option<&'b HeightMap>,
        discs: &'b Discs,
        stepover_mm: Option<Spread>,
    ) -> Linker<'b> {
        Linker {
            frame: self.job.frame,
            radius_mm: self.job.lead_radius_mm,
            clearance_mm: self.job.clearance_mm,
            feed: self.job.feed,
            step_mm: stepover_mm.map_or(0.0, |s| s.max),
            heights,
            discs,
        }
    }

    fn warnings(&self, strung: &Strung, unproven: usize, lifted_links: usize) -> Vec<Warning> {
        let mut out = Vec::new();
        if strung.rise_mm > 0.0 {
            out.push(Warning::RapidsRise { by_mm: strung.rise_mm });
        }
        if unproven > 0 {
            out.push(Warning::NotProven { moves: unproven });
        }
        let (changed, straight) = (strung.changed_leads, strung.straight_leads);
        if changed + straight > 0 {
            out.push(Warning::LeadsChanged { changed, straight });
        }
        if lifted_links > 0 {
            out.push(Warning::LinksLifted { links: lifted_links });
        }
        out.extend(self.axis_moved());
        out
    }

    fn flat_for_levels(&self) -> Option<Warning> {
        let up = self.job.frame.up;
        let slope = self
            .ground
            .stations()
            .iter()
            .map(|s| s.site.normal.cross(up).length().atan2(s.site.normal.dot(up)))
            .fold(f64::INFINITY, f64::min)
            .to_degrees();
        let level = self.job.pattern == Pattern::Level && slope < FLAT_DEG;
        level.then_some(Warning::FlatForLevels { slope_deg: slope })
    }

    fn axis_moved(&self) -> Option<Warning> {
        let (
            Rule::Tilted { kappa_rad: asked, lead_rad: asked_lead, .. },
            Rule::Tilted { kappa_rad: used, lead_rad: used_lead, .. },
        ) = (stance(self.job).rule, self.stance.rule)
        else {
            return None;
        };
        (asked != used || asked_lead != used_lead).then(|| Warning::AxisMoved {
            asked_deg: asked.to_degrees(),
            used_deg: used.to_degrees(),
            asked_lead_deg: asked_lead.to_degrees(),
            used_lead_deg: used_lead.to_degrees(),
        })
    }

    fn ordered(&self, pieces: &[Piece]) -> Vec<Turn> {
        let ends: Vec<Ends> = pieces
            .iter()
            .map(|p| {
                let at = |t| p.spot(self.chart, self.family, t).map(|s| s.site.point);
                Ends {
                    level: p.level,
                    first: at(p.from).unwrap_or_default(),
                    last: at(p.to).unwrap_or_default(),
                }
            })
            .collect();
        order(&ends, self.job.traverse, self.job.cut)
    }

    fn axis_used(&self, driven: &[Driven]) -> AxisUsed {
        let kappa =
            Spread::of(driven.iter().flat_map(|d| &d.standings).map(|s| s.contact.kappa_rad));
        let leans_left = match self.stance.rule {
            Rule::Tilted { side, .. } => Some(side == Side::Left),
            _ => None,
        };
        AxisUsed { kappa_rad: kappa.map_or((0.0, 0.0), |k| (k.min, k.max)), leans_left }
    }
}

/// Places where lines that turn lie farther apart than is allowed.
fn wider(strips: &Strips) -> Option<Warning> {
    let ratios: Vec<f64> = strips
        .samples()
        .filter_map(|s| s.allowed_mm.map(|allowed| s.spacing_mm / allowed))
        .collect();
    let wide = ratios.iter().filter(|r| **r > 1.0 + TURN_SLACK).count();
    (wide > 0).then(|| Warning::WiderAtTurns {
        times: ratios.iter().copied().fold(0.0, f64::max),
        share: wide as f64 / ratios.len() as f64,
    })
}

/// One pass in the order of its feed.
pub(crate) fn driven(
    tracer: &Tracer<'_>,
    piece: &Piece,
    against: bool,
) -> Result<Driven, PatternError> {
    let mut standings: Vec<_> =
        tracer.trace(piece, against)?.into_iter().map(|p| p.standing).collect();
    if against {
        standings.reverse();
    }
    Ok(Driven { standings })
}
