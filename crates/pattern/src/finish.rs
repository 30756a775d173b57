//! From a job to passes: chart, levels, pieces, poses, links.

use clearance::Obstacle;
use cutter::axis::Side;
use geom::Vec2;
use rayon::prelude::*;
use toolpath::{Pose, RunKind, Toolpath};

use crate::bound::path_bound_mm;
use crate::chart::{Chart, Shifted};
use crate::choose;
use crate::clear::{self, ClosestApproach, InTheWay, Surroundings, Verdict};
use crate::curve::Curve;
use crate::equal_cusp;
use crate::error::{At, PatternError, Warning};
use crate::family::Family;
use crate::height::{Discs, HeightMap};
use crate::job::{AxisRule, FaceJob, LeanSide, Pattern};
use crate::lattice::Lattice;
use crate::layout::{Density, Levels};
use crate::link::{Driven, Linker};
use crate::order::{Ends, Turn, order};
use crate::outcome::{AxisUsed, FacePasses, Pass, Spread};
use crate::parameter::ParameterChart;
use crate::plan::PlanChart;
use crate::spiral;
use crate::stance::{Rule, Stance};
use crate::strip::{Strips, measure};
use crate::trace::{Tolerance, Tracer};
use crate::trim::{Piece, pieces};

/// Cells over the longer side of the feature.
const CELLS: usize = 160;
/// Nodes round the feature.
const MARGIN: usize = 12;
/// Rounds in which measured spacings correct the levels.
const CORRECTIONS: usize = 8;
/// Spacing over what is allowed at which corrections end.
const GOOD: f64 = 1e-4;
/// Slope below which levels are a poor choice, deg (common practice, no source).
const FLAT_DEG: f64 = 30.0;
/// Spacing over what is allowed from which it is worth a warning.
const TURN_SLACK: f64 = 0.005;
/// Chord tolerance: share of the cusp, and its limits, mm.
const CHORD_SHARE: f64 = 0.1;
const CHORD_LIMITS_MM: (f64, f64) = (1e-4, 2e-3);
/// Lateral tolerance of straight moves as a share of the step-over: it changes the cusp by twice it.
const LATERAL_SHARE: f64 = 0.002;

/// Most places at which the cutter is tried before passes are laid.
const MOST_STATIONS: usize = 2000;

/// Told how far the work has come, from 0 to 1.
pub type Progress<'a> = &'a (dyn Fn(f64) + Sync);

/// Passes over a face.
///
/// # Errors
/// [`PatternError`]: what does not fit, where, and what would do.
pub fn finish_face(job: &FaceJob<'_>, progress: Progress<'_>) -> Result<FacePasses, PatternError> {
    check(job)?;
    let last = job.part.faces.len().saturating_sub(1);
    if let Some(face) = job.faces.iter().copied().find(|f| *f > last || job.part.faces.is_empty()) {
        return Err(PatternError::NoSuchFace { face, last });
    }
    let mut warnings = Vec::new();
    if job.faces.iter().any(|f| job.part.faces[*f].surface.is_none()) {
        warnings.push(Warning::CurvatureEstimated);
    }
    let mut passes = if matches!(job.pattern, Pattern::AlongU | Pattern::AlongV) {
        let none = PatternError::NoParameters {
            faces: job.faces.len(),
            exact: job.faces.iter().all(|f| job.part.faces[*f].surface.is_some()),
        };
        let [face] = job.faces else { return Err(none) };
        let chart = ParameterChart::new(job.part, *face).ok_or(none)?;
        finish_on(&chart, job, progress)?
    } else {
        let chart =
            PlanChart::new(job.part, job.faces, job.frame).ok_or(PatternError::NothingSeen)?;
        if chart.hidden_mm2 > geom::tolerance::COINCIDENT_MM {
            warnings.push(Warning::NotSeen { area_mm2: chart.hidden_mm2 });
        }
        finish_on(&chart, job, progress)?
    };
    warnings.append(&mut passes.warnings);
    passes.warnings = warnings;
    Ok(passes)
}

fn check(job: &FaceJob<'_>) -> Result<(), PatternError> {
    if job.stepover_mm.is_none() && job.cusp_mm.is_none() {
        return Err(PatternError::NoDensity);
    }
    let positive = [
        ("stepover_mm", job.stepover_mm),
        ("the cusp in mm", job.cusp_mm),
        ("the chord tolerance in mm", job.chord_mm),
    ];
    for (quantity, value) in positive {
        if let Some(value) = value.filter(|v| !(*v > 0.0 && v.is_finite())) {
            return Err(PatternError::Input { quantity, value, expected: "a positive number" });
        }
    }
    let not_negative = [
        ("lead_radius_mm", job.lead_radius_mm),
        ("clearance_mm", job.clearance_mm),
        ("the stock left in mm", job.stock_left_mm),
    ];
    for (quantity, value) in not_negative {
        if !(value >= 0.0 && value.is_finite()) {
            return Err(PatternError::Input { quantity, value, expected: "0 or more" });
        }
    }
    Ok(())
}

/// Passes over a chart.
///
/// # Errors
/// As [`finish_face`].
pub fn finish_on(
    chart: &dyn Chart,
    job: &FaceJob<'_>,
    progress: Progress<'_>,
) -> Result<FacePasses, PatternError> {
    let shifted = Shifted { base: chart, offset_mm: job.stock_left_mm };
    let chart: &dyn Chart = if job.stock_left_mm > 0.0 { &shifted } else { chart };
    let lattice = Lattice::over(chart, CELLS, MARGIN);
    progress(0.1);
    let surroundings = Surroundings::of(job);
    surroundings.with(|obstacles| {
        let (family, stance) = stood(chart, job, &lattice, obstacles)?;
        progress(0.2);
        let laid = lay(chart, &lattice, &family, &stance, job)?;
        progress(0.5);
        let (lattice, family) = (&lattice, &family);
        Work { chart, job, stance, lattice, family, obstacles }.finished(laid, progress)
    })
}

/// The family of lines and how the cutter stands to it, clear of the part.
fn stood<'a, 'l>(
    chart: &dyn Chart,
    job: &FaceJob<'a>,
    lattice: &'l Lattice,
    obstacles: &[Obstacle<'_>],
) -> Result<(Family<'l>, Stance<'a>), PatternError> {
    let asked = stance(job);
    let along = job.direction_rad.map_or(Vec2::X, Vec2::from_angle);
    let straight = Family::Straight { along };
    choose::survey(&choose::stations(lattice, &straight, usize::MAX), &asked)?;
    let first = family(chart, job, lattice, &asked)?;
    let stations = choose::stations(lattice, &first, MOST_STATIONS);
    let stance = choose::choose(job, asked, &stations, obstacles)?;
    if stance.rule == asked.rule {
        return Ok((first, stance));
    }
    Ok((family(chart, job, lattice, &stance)?, stance))
}

fn stance<'a>(job: &FaceJob<'a>) -> Stance<'a> {
    let rule = match job.axis {
        AxisRule::Fixed => Rule::Fixed(job.frame.up),
        AxisRule::Normal => Rule::Normal,
        AxisRule::Tilted { kappa_rad, lead_rad, lean } => Rule::Tilted {
            kappa_rad: kappa_rad.unwrap_or_else(|| job.assembly.cutter.default_kappa_rad()),
            lead_rad,
            side: if lean == LeanSide::Right { Side::Right } else { Side::Left },
        },
    };
    Stance {
        cutter: &job.assembly.cutter,
        rule,
        stepover_mm: job.stepover_mm,
        cusp_mm: job.cusp_mm,
    }
}

fn family<'l>(
    chart: &dyn Chart,
    job: &FaceJob<'_>,
    lattice: &'l Lattice,
    stance: &Stance<'_>,
) -> Result<Family<'l>, PatternError> {
    let plan = job.direction_rad.map(Vec2::from_angle);
    Ok(match job.pattern {
        Pattern::Parallel => Family::Straight { along: plan.unwrap_or(Vec2::X) },
        Pattern::AlongU => Family::Straight { along: Vec2::X },
        Pattern::AlongV => Family::Straight { along: Vec2::Y },
        Pattern::Level => Family::Field {
            lattice,
            values: lattice
                .spots
                .iter()
                .map(|s| s.as_ref().map_or(f64::NAN, |s| s.site.point.dot(job.frame.up)))
                .collect(),
        },
        Pattern::Spiral => {
            Family::Field { lattice, values: spiral::depth(chart, lattice, stance)? }
        }
        Pattern::EqualCusp => {
            Family::Field { lattice, values: equal_cusp::count(lattice, stance, plan)? }
        }
    })
}

/// Lines, cut to the feature, with what was measured between them.
struct Laid {
    pieces: Vec<Piece>,
    strips: Strips,
}

fn lay(
    chart: &dyn Chart,
    lattice: &Lattice,
    family: &Family<'_>,
    stance: &Stance<'_>,
    job: &FaceJob<'_>,
) -> Result<Laid, PatternError> {
    let counted = matches!(job.pattern, Pattern::EqualCusp | Pattern::Spiral);
    if let (Pattern::Spiral, Family::Field { values, .. }) = (job.pattern, family)
        && let Some((curve, starts)) = spiral::curve(lattice, values)
    {
        return Ok(wound(chart, lattice, stance, &curve, &starts));
    }
    let mut density = if job.pattern == Pattern::Spiral {
        Density::even((0.0, family.range(chart).1))
    } else if counted {
        Density::even(family.range(chart))
    } else {
        Density::sampled(chart, lattice, family, stance)?
    };
    let mut round = 0;
    loop {
        let levels = density.levels()?;
        let pieces = cut_to_feature(chart, lattice, family, &levels, &density);
        if pieces.is_empty() {
            return Err(PatternError::NoPass);
        }
        let step_mm = lattice.step_mm() * 1.5;
        let strips = measure(chart, stance, &pieces, levels.values.len(), step_mm);
        let ratios = strips.ratios();
        let worst = ratios.iter().copied().fold(0.0, f64::max);
        let tight = ratios.iter().all(|r| (r - 1.0).abs() <= 10.0 * GOOD);
        if round == CORRECTIONS || (worst <= 1.0 + GOOD && (tight || round > 1)) || counted {
            return Ok(Laid { pieces, strips });
        }
        density = density.corrected(&levels, &ratios);
        round += 1;
    }
}

/// A spiral as one piece, measured between its turns.
fn wound(
    chart: &dyn Chart,
    lattice: &Lattice,
    stance: &Stance<'_>,
    curve: &Curve,
    starts: &[f64],
) -> Laid {
    let piece = |level: usize, from: f64, to: f64| Piece {
        level,
        curve: curve.clone(),
        from,
        to,
        half: (0.0, 0.0),
    };
    let turns: Vec<Piece> =
        starts.windows(2).enumerate().map(|(n, w)| piece(n, w[0], w[1])).collect();
    let strips = measure(chart, stance, &turns, turns.len(), lattice.step_mm() * 1.5);
    Laid { pieces: vec![piece(0, 0.0, curve.end())], strips }
}

fn cut_to_feature(
    chart: &dyn Chart,
    lattice: &Lattice,
    family: &Family<'_>,
    levels: &Levels,
    density: &Density,
) -> Vec<Piece> {
    let per_level: Vec<Vec<Piece>> = (0..levels.values.len())
        .into_par_iter()
        .map(|i| {
            let half = levels.half_strips(i, density.range);
            family
                .lines(chart, levels.values[i])
                .iter()
                .flat_map(|c| pieces(chart, family, i, c, half, lattice.line_step(c)))
                .collect()
        })
        .collect();
    per_level.into_iter().flatten().collect()
}

/// What was proven of passes and links.
#[derive(Default)]
struct Proof {
    passes: Vec<Verdict>,
    /// For each pass the link to it that stays down, where it is clear.
    links: Vec<Option<Vec<Pose>>>,
    unproven: usize,
    closest: Option<ClosestApproach>,
}

struct Work<'a> {
    chart: &'a dyn Chart,
    job: &'a FaceJob<'a>,
    stance: Stance<'a>,
    lattice: &'a Lattice,
    family: &'a Family<'a>,
    obstacles: &'a [Obstacle<'a>],
}

impl Work<'_> {
    fn finished(&self, laid: Laid, progress: Progress<'_>) -> Result<FacePasses, PatternError> {
        let cusp = Spread::of(laid.strips.samples().filter_map(|s| s.cusp_mm));
        let stepover_mm = Spread::of(laid.strips.samples().map(|s| s.spacing_mm));
        let chord_mm = self.chord_mm(cusp.map(|c| c.max));
        let turns = self.ordered(&laid.pieces);
        let tracer = Tracer {
            chart: self.chart,
            family: self.family,
            stance: &self.stance,
            tolerance: Tolerance {
                normal_mm: chord_mm,
                lateral_mm: chord_mm.max(LATERAL_SHARE * stepover_mm.map_or(0.0, |s| s.max)),
            },
        };
        let traced: Vec<Result<Driven, PatternError>> = turns
            .par_iter()
            .map(|turn| driven(&tracer, &laid.pieces[turn.piece], turn.against))
            .collect();
        let mut driven = traced.into_iter().collect::<Result<Vec<Driven>, _>>()?;
        progress(0.7);
        let heights = self.heights();
        let discs = Discs::of(self.job.assembly);
        let linker = self.linker(heights.as_ref(), &discs, stepover_mm);
        let proof = self.proven(&tracer, &linker, &laid.pieces, &turns, &mut driven)?;
        progress(0.95);
        let (toolpath, linked, rise_mm) = string(&linker, &driven, proof.links);
        let axis = self.axis_used(&driven);
        let mut out = summary(toolpath, &laid.pieces, &turns, &linked, stepover_mm, axis);
        out.closest_approach = proof.closest;
        out.warnings = self.warnings(rise_mm, proof.unproven);
        out.warnings.extend(wider(&laid.strips));
        out.warnings.extend(self.flat_for_levels());
        let bound_cusp = self.job.cusp_mm.or(cusp.map(|c| c.max));
        out.path_bound_mm = bound_cusp
            .and_then(|h| path_bound_mm(self.lattice, self.family, &self.stance, h, self.chart.area_mm2()));
        out.predicted_cusp_max_mm = cusp.map(|c| c.max);
        out.predicted_cusp_mean_mm = cusp.map(|c| c.mean);
        out.chord_mm = chord_mm;
        out.strips = laid.strips;
        progress(1.0);
        Ok(out)
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

    /// Proves passes and links clear. A pass that is not is ended at the border, where going on past
    /// it may gouge; a link that is not goes through the air.
    fn proven(
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
                driven[*pass] = crate::finish::driven(tracer, &within, turn.against)?;
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
        let mut proof = Proof { passes: vec![Verdict::default(); driven.len()], ..Proof::default() };
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

    fn warnings(&self, rise_mm: f64, unproven: usize) -> Vec<Warning> {
        let mut out = Vec::new();
        if rise_mm > 0.0 {
            out.push(Warning::RapidsRise { by_mm: rise_mm });
        }
        if unproven > 0 {
            out.push(Warning::NotProven { moves: unproven });
        }
        out.extend(self.axis_moved());
        out
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

    fn flat_for_levels(&self) -> Option<Warning> {
        let up = self.job.frame.up;
        let slope = self
            .lattice
            .feature()
            .map(|(_, s)| s.site.normal.cross(up).length().atan2(s.site.normal.dot(up)))
            .fold(f64::INFINITY, f64::min)
            .to_degrees();
        let level = self.job.pattern == Pattern::Level && slope < FLAT_DEG;
        level.then_some(Warning::FlatForLevels { slope_deg: slope })
    }

    fn axis_moved(&self) -> Option<Warning> {
        let (Rule::Tilted { kappa_rad: asked, .. }, Rule::Tilted { kappa_rad: used, .. }) =
            (stance(self.job).rule, self.stance.rule)
        else {
            return None;
        };
        (asked != used).then(|| Warning::AxisMoved {
            asked_deg: asked.to_degrees(),
            used_deg: used.to_degrees(),
        })
    }

    fn chord_mm(&self, predicted_cusp_mm: Option<f64>) -> f64 {
        let (least, most) = CHORD_LIMITS_MM;
        self.job.chord_mm.unwrap_or_else(|| {
            let cusp = self.job.cusp_mm.or(predicted_cusp_mm);
            cusp.map_or(most, |h| (CHORD_SHARE * h).clamp(least, most))
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
        let kappa = Spread::of(
            driven.iter().flat_map(|d| &d.standings).map(|s| s.contact.kappa_rad),
        );
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

fn driven(tracer: &Tracer<'_>, piece: &Piece, against: bool) -> Result<Driven, PatternError> {
    let mut standings: Vec<_> =
        tracer.trace(piece, against)?.into_iter().map(|p| p.standing).collect();
    if against {
        standings.reverse();
    }
    Ok(Driven { standings })
}

/// All runs in order, for each pass whether the link to it stayed down, and the highest rise.
fn string(
    linker: &Linker<'_>,
    driven: &[Driven],
    links: Vec<Option<Vec<Pose>>>,
) -> (Toolpath, Vec<bool>, f64) {
    let mut toolpath = Toolpath::default();
    let mut linked = Vec::with_capacity(driven.len());
    let mut highest = 0.0_f64;
    for ((pass, d), stay) in driven.iter().enumerate().zip(links) {
        let (Some(start), Some(end)) = (d.standings.first(), d.standings.last()) else { continue };
        let before = pass.checked_sub(1).and_then(|p| driven[p].standings.last());
        linked.push(stay.is_some());
        if let Some(way) = stay {
            toolpath.runs.push(linker.at_feed(RunKind::Link, pass, way));
        } else {
            let lead_in = linker.lead_in(start);
            match before {
                None => toolpath.runs.extend(linker.enter(lead_in[0])),
                Some(b) => {
                    let lead_out = linker.lead_out(b);
                    let from = lead_out[lead_out.len() - 1];
                    toolpath.runs.push(linker.at_feed(RunKind::LeadOut, pass - 1, lead_out));
                    let (runs, rise) = linker.through_air(pass, from, lead_in[0]);
                    highest = highest.max(rise);
                    toolpath.runs.extend(runs);
                }
            }
            toolpath.runs.push(linker.at_feed(RunKind::LeadIn, pass, lead_in));
        }
        toolpath.runs.push(linker.cut(pass, d));
        if pass + 1 == driven.len() {
            let lead_out = linker.lead_out(end);
            let from = lead_out[lead_out.len() - 1];
            toolpath.runs.push(linker.at_feed(RunKind::LeadOut, pass, lead_out));
            toolpath.runs.extend(linker.leave(pass, from));
        }
    }
    (toolpath, linked, highest)
}

fn summary(
    toolpath: Toolpath,
    pieces: &[Piece],
    turns: &[Turn],
    linked: &[bool],
    stepover_mm: Option<Spread>,
    axis: AxisUsed,
) -> FacePasses {
    let cuts: Vec<_> = toolpath.runs.iter().filter(|r| r.kind.is_cut()).collect();
    let passes: Vec<Pass> = cuts
        .iter()
        .zip(turns)
        .zip(linked)
        .map(|((run, turn), linked)| Pass {
            level: pieces[turn.piece].level,
            path_mm: run.contact_length_mm(),
            tip_path_mm: run.tip_length_mm(),
            moves: run.poses.len().saturating_sub(1),
            from: run.contacts[0].point,
            to: run.contacts[run.contacts.len() - 1].point,
            linked: *linked,
        })
        .collect();
    let length = |wanted: &dyn Fn(RunKind) -> bool| {
        toolpath.runs.iter().filter(|r| wanted(r.kind)).map(|r| r.tip_length_mm()).sum()
    };
    let at_feed = |k| matches!(k, RunKind::LeadIn | RunKind::LeadOut | RunKind::Link);
    let in_air = |k| matches!(k, RunKind::Retract | RunKind::Rapid | RunKind::Approach);
    FacePasses {
        path_mm: passes.iter().map(|p| p.path_mm).sum(),
        tip_path_mm: passes.iter().map(|p| p.tip_path_mm).sum(),
        link_mm: length(&at_feed),
        rapid_mm: length(&in_air),
        stepover_mm,
        predicted_cusp_max_mm: None,
        predicted_cusp_mean_mm: None,
        path_bound_mm: None,
        chord_mm: 0.0,
        axis,
        closest_approach: None,
        strips: Strips::default(),
        warnings: Vec::new(),
        passes,
        toolpath,
    }
}
