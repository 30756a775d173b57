//! The search for the shape of a control: corners and ramps first, then effects one after another, each
//! kept where it pays for itself.

use crate::figures::{Shape, rounded};
use crate::solve::{At, Problem, Solved};
use crate::stretch::Stretch;
use crate::watch::deviation_s;
use machine::{Corner, MachineSpec, Ramp};
use std::ops::RangeInclusive;

/// A further effect is kept where it brings the score down by this.
const WORTH: f64 = 2.0;
/// What a figure less may cost in squares: as much as the readings tell of a well-known one.
const TOLD: f64 = 8.0;
/// Steps of a search, those of a first one of a shape and of its effects.
const STEPS: u32 = 12;
const LOOK_STEPS: u32 = 5;
const FIRST_STEPS: u32 = 3;
/// Shapes are gone on with after a first look whose score is below this many times the best, and
/// [`NEAR_PLUS`] more.
const AT_FIRST: f64 = 2.0;
/// Shapes that are gone on with: those whose score is above the best by at most this many times the
/// best, and this much more; fewer in each further round.
const NEAR: f64 = 4.0;
const NEAR_PLUS: f64 = 100.0;
/// Residual over its deviation above which corners are rounded in earnest, which takes long to reckon.
const POOR: f64 = 3.5;
/// Most blocks seen ahead that are tried.
const MOST_BLOCKS: u32 = 500;
/// Angles of stops that are tried in fine steps, deg.
const STOP_DEG: RangeInclusive<f64> = 9.0..=172.0;
/// Those that are gone on with.
const ANGLES: usize = 4;
/// Angles of stops with which a search begins, deg.
const STARTS_DEG: [Option<f64>; 4] = [None, Some(180.0), Some(60.0), Some(20.0)];
/// Corners closer than that are one, deg.
const APART_DEG: f64 = 0.2;
/// Shapes that are gone on with after the first round.
const FINER: usize = 2;
/// Most moves of a loop of the stretches by which shapes are looked at first.
const LIGHT: usize = 40;
/// Most shapes that effects are tried on.
const MOST_SHAPES: usize = 5;
/// Reading ahead and blocks seen ahead with which shapes are gone on with.
const READS: [(bool, Option<u32>); 4] =
    [(false, None), (true, None), (true, Some(4)), (true, Some(20))];
/// Blocks seen ahead that are tried where a fit stays poor.
const FEW: [u32; 3] = [2, 3, 6];
/// Rounds of effects.
const ROUNDS: usize = 3;

/// Effects that are tried on top of a shape, in this order; those that a shape has already are taken
/// away again where that is better.
const EFFECTS: [fn(&mut Shape); 28] = [
    |s| s.rapid_stops = !s.rapid_stops,
    |s| s.stop_angle_deg = Some(180.0),
    |s| s.stop_angle_deg = Some(145.0),
    |s| s.stop_angle_deg = Some(100.0),
    |s| s.stop_angle_deg = Some(60.0),
    |s| s.stop_angle_deg = Some(35.0),
    |s| s.stop_angle_deg = Some(20.0),
    |s| s.stop_angle_deg = Some(5.0),
    |s| s.stop_angle_deg = None,
    |s| s.facets = !s.facets,
    |s| s.reads_ahead = !s.reads_ahead,
    |s| s.look_ahead = toggled(s.look_ahead, 2),
    |s| s.look_ahead = toggled(s.look_ahead, 4),
    |s| s.look_ahead = toggled(s.look_ahead, 6),
    |s| s.look_ahead = toggled(s.look_ahead, 20),
    |s| s.look_ahead = toggled(s.look_ahead, 60),
    |s| s.look_ahead = toggled(s.look_ahead, 200),
    |s| s.look_ahead = None,
    |s| s.settles = !s.settles,
    |s| s.own_filters = !s.own_filters && s.ramp != Ramp::Jerk,
    |s| s.own_steps = !s.own_steps && s.corner == Corner::SpeedStep,
    |s| s.rapid_accel = !s.rapid_accel,
    |s| s.radial = !s.radial,
    |s| s.bends = !s.bends && s.corner != Corner::FeedShare,
    |s| s.arc_accel = !s.arc_accel && s.corner != Corner::FeedShare,
    |s| s.sight = !s.sight,
    |s| s.path = !s.path,
    |s| s.step_passes = s.corner == Corner::Spread && !s.step_passes,
];

fn toggled(now: Option<u32>, blocks: u32) -> Option<u32> {
    (now != Some(blocks)).then_some(blocks)
}

fn finer_blocks(shape: Shape, factor: f64) -> Option<Shape> {
    let now = shape.look_ahead?;
    let next = f64::from(now) * factor;
    let next = if factor > 1.0 { next.ceil() } else { next.floor() } as u32;
    (next != now && (1..=MOST_BLOCKS).contains(&next))
        .then_some(Shape { look_ahead: Some(next), ..shape })
}

/// Shapes with what came of them.
pub(crate) type Tried = Vec<(Shape, Solved)>;

/// The readings and the file that they are put to.
pub(crate) struct Search<'a> {
    pub(crate) spec: &'a MachineSpec,
    pub(crate) stretches: &'a [&'a Stretch],
    pub(crate) read_s: &'a [f64],
}

impl Search<'_> {
    fn problem(&self, shape: Shape) -> Option<Problem<'_>> {
        Problem::new(shape, self.spec, self.stretches, self.read_s)
    }

    /// The best shape of those whose every effect pays for itself, and all that were tried. What the
    /// linear axes do alone is searched first: rotary axes add to it.
    pub(crate) fn shapes(&self) -> Option<(Shape, Solved, Tried)> {
        let alone = |i: &usize| !self.stretches[*i].turns();
        let linear: Vec<usize> = (0..self.stretches.len()).filter(alone).collect();
        if linear.len() == self.stretches.len() {
            return self.plainest_first();
        }
        let stretches: Vec<&Stretch> = linear.iter().map(|&i| self.stretches[i]).collect();
        let read_s: Vec<f64> = linear.iter().map(|&i| self.read_s[i]).collect();
        let part = Search { spec: self.spec, stretches: &stretches, read_s: &read_s };
        let (shape, solved, mut of_part) = part.plainest_first()?;
        of_part.sort_by(|a, b| a.1.score.total_cmp(&b.1.score));
        let mut starts: Tried = vec![(shape, solved)];
        for (shape, solved) in of_part {
            let alike = |s: &Shape| (s.corner, s.ramp) == (shape.corner, shape.ramp);
            if starts.len() < FINER && !starts.iter().any(|(s, _)| alike(s)) {
                starts.push((shape, solved));
            }
        }
        let gone_on = |(shape, solved): &(Shape, Solved)| {
            let turning = self.turning(*shape, solved).unwrap_or_else(|| solved.clone());
            Some((*shape, self.go_on(*shape, &turning, STEPS)?))
        };
        let foremost: Tried = starts.iter().filter_map(gone_on).collect();
        self.with_effects(foremost.clone(), foremost)
    }

    /// What the stretches tell during which rotary axes turn, all else held as it was solved: so the
    /// linear axes are not dragged after figures that are not known yet.
    fn turning(&self, shape: Shape, solved: &Solved) -> Option<Solved> {
        let turning = (0..self.stretches.len()).filter(|i| self.stretches[*i].turns());
        let (stretches, read_s): (Vec<&Stretch>, Vec<f64>) =
            turning.map(|i| (self.stretches[i], self.read_s[i])).unzip();
        let problem = Problem::new(shape, self.spec, &stretches, &read_s)?.of_turns(solved);
        let found = problem.best_turn_start().and_then(|at| problem.improve(at, STEPS))?;
        Some(solved.with(&problem.conclude(found)?))
    }

    /// Every corner that keeps the path with every ramp; those near the best with whatever effects
    /// help; where none comes near the readings, rounded corners as well.
    fn plainest_first(&self) -> Option<(Shape, Solved, Tried)> {
        let light = |i: &usize| self.stretches[*i].actions.len() <= LIGHT;
        let light: Vec<usize> = (0..self.stretches.len()).filter(light).collect();
        let stretches: Vec<&Stretch> = light.iter().map(|&i| self.stretches[i]).collect();
        let read_s: Vec<f64> = light.iter().map(|&i| self.read_s[i]).collect();
        let part = Search { spec: self.spec, stretches: &stretches, read_s: &read_s };
        let mut foremost: Tried = Vec::new();
        for plain in Shape::plain() {
            let (spread, average) =
                (plain.corner == Corner::Spread, plain.corner == Corner::Average);
            let smooth = spread || average;
            let shape = Shape {
                settles: plain.ramp != Ramp::Filter || smooth,
                step_passes: spread,
                radial: !spread,
                bends: smooth,
                arc_accel: smooth,
                sight: average,
                facets: plain.corner != Corner::SpeedStep,
                rapid_accel: plain.corner != Corner::FeedShare,
                own_filters: plain.ramp == Ramp::Lag,
                ..plain
            };
            // a control that stops at corners, or nowhere, looks like none other until it may
            let stops = STARTS_DEG.into_iter().flat_map(|stop| [(stop, false), (stop, true)]);
            let tries = stops.filter_map(|(stop_angle_deg, rapid_stops)| {
                let shape = Shape { stop_angle_deg, rapid_stops, ..shape };
                part.solve(shape, LOOK_STEPS).map(|solved| (shape, solved))
            });
            let better = |a: &(Shape, Solved), b: &(Shape, Solved)| a.1.score.total_cmp(&b.1.score);
            foremost.extend(tries.min_by(better));
        }
        foremost.sort_by(|a, b| a.1.score.total_cmp(&b.1.score));
        let best = least(&foremost)?;
        foremost.retain(|(_, s)| s.score < AT_FIRST * best.abs() + NEAR_PLUS);
        // the best with each sort of corner, then others
        let mut corners = Vec::new();
        foremost.sort_by_cached_key(|(shape, _)| {
            let again = corners.contains(&shape.corner);
            corners.push(shape.corner);
            again
        });
        foremost.truncate(MOST_SHAPES);
        let gone_on = |(shape, solved): &(Shape, Solved)| {
            let mut shape = *shape;
            if shape.stop_angle_deg.is_some_and(|angle| angle < 100.0) {
                shape = self.by_angle(shape, solved).first().copied().unwrap_or(shape);
            }
            self.by_many_moves(shape, solved)
        };
        foremost = foremost.iter().flat_map(gone_on).collect();
        let tried = foremost.clone();
        self.with_effects(foremost, tried)
    }

    /// What the stretches of many moves tell apart and the others do not: how polylines are slowed and
    /// how blocks are read, which shows once their time is found.
    fn by_many_moves(&self, shape: Shape, from: &Solved) -> Tried {
        let looks = |shape: Shape| {
            let problem = self.problem(shape)?;
            let at = problem.improve(problem.start_from(from)?, FIRST_STEPS)?;
            Some((problem, at, shape))
        };
        let tried = [true, false].into_iter().filter_map(|facets| looks(Shape { facets, ..shape }));
        let Some((problem, at, shape)) = tried.min_by(|a, b| a.1.cost.total_cmp(&b.1.cost)) else {
            return Vec::new();
        };
        let reads =
            READS.map(|(reads_ahead, look_ahead)| Shape { reads_ahead, look_ahead, ..shape });
        let others = reads.into_iter().filter(|s| *s != shape).filter_map(looks);
        let (limited, open): (Vec<_>, Vec<_>) = others
            .chain([(problem, at, shape)])
            .partition(|(_, _, shape)| shape.look_ahead.is_some());
        let solved = |tried: Vec<(Problem<'_>, At, Shape)>| {
            let tried = tried.into_iter();
            let (problem, at, shape) = tried.min_by(|a, b| a.1.cost.total_cmp(&b.1.cost))?;
            Some((shape, problem.conclude(problem.improve(at, STEPS)?)?))
        };
        let mut both: Tried = [open, limited].into_iter().filter_map(solved).collect();
        // blocks seen ahead are a further effect like any
        if let [(_, open), (_, limited)] = &both[..]
            && limited.score > open.score - WORTH
        {
            both.truncate(1);
        }
        both
    }

    fn with_effects(
        &self,
        mut foremost: Tried,
        mut tried: Tried,
    ) -> Option<(Shape, Solved, Tried)> {
        for round in 0..ROUNDS {
            let best = least(&foremost)?;
            foremost.retain(|(_, s)| round == 0 || s.score < near(best, 3 * round));
            foremost.sort_by(|a, b| a.1.score.total_cmp(&b.1.score));
            foremost.truncate(if round == 0 { MOST_SHAPES } else { FINER });
            let gone_on = foremost.iter().filter_map(|(shape, solved)| {
                let from = (*shape, solved.score);
                let (shape, solved) = self.further(*shape, solved.clone(), &EFFECTS, &mut tried)?;
                let (shape, solved) = self.finer(shape, solved, &mut tried);
                let (shape, solved) =
                    if round == 0 { self.afresh(shape, solved) } else { (shape, solved) };
                let still = shape == from.0 && solved.score > from.1 - WORTH;
                Some((shape, solved, still))
            });
            let gone_on: Vec<_> = gone_on.collect();
            let still = gone_on.iter().all(|(_, _, still)| *still);
            foremost = gone_on.into_iter().map(|(shape, solved, _)| (shape, solved)).collect();
            if still {
                break;
            }
        }
        let at = best_of(&foremost)?;
        let (mut shape, mut solved) = foremost.swap_remove(at);
        (shape, solved) = self.finer(shape, solved, &mut tried);
        if let Some(better) = self.go_on(shape, &solved, STEPS) {
            solved = better;
        }
        tried.push((shape, solved.clone()));
        if self.worst(&solved) > POOR {
            (shape, solved) = self.seeing_less(shape, solved, &mut tried);
        }
        if self.worst(&solved) > POOR {
            let ramp = if shape.ramp == Ramp::Lag { Ramp::Filter } else { shape.ramp };
            let rounded = Shape { ramp, reads_ahead: false, ..Shape::plain_of(Corner::Blend) };
            // figures that were bent to another shape are no better a start than those of the file
            let starts =
                [self.go_on(rounded, &solved, FIRST_STEPS), self.solve(rounded, LOOK_STEPS)];
            let found = starts.into_iter().flatten().min_by(|a, b| a.score.total_cmp(&b.score));
            if let Some(found) = found {
                tried.push((rounded, found.clone()));
                if found.score < solved.score {
                    (shape, solved) = (rounded, self.go_on(rounded, &found, STEPS)?);
                    tried.push((shape, solved.clone()));
                }
            }
        }
        Some((shape, solved, tried))
    }

    /// The shape with few blocks seen ahead, searched from the figures of the file: the best of them and of
    /// `solved`. Figures that made up for blocks which are not seen lead back to where they come from.
    fn seeing_less(&self, shape: Shape, solved: Solved, tried: &mut Tried) -> (Shape, Solved) {
        let mut best = (shape, solved);
        for blocks in FEW.into_iter().filter(|b| shape.look_ahead.is_some_and(|now| now > *b)) {
            let fewer = Shape { look_ahead: Some(blocks), ..shape };
            let found = self.solve(fewer, LOOK_STEPS).and_then(|s| self.go_on(fewer, &s, STEPS));
            let Some(found) = found else { continue };
            tried.push((fewer, found.clone()));
            if found.score < best.1.score {
                best = self.finer(fewer, found, tried);
            }
        }
        if best.0 == shape {
            return best;
        }
        // what did not pay with more blocks may pay now
        let further = self.further(best.0, best.1.clone(), &EFFECTS, tried);
        let (shape, solved) = further.unwrap_or(best);
        self.finer(shape, solved, tried)
    }

    fn solve(&self, shape: Shape, steps: u32) -> Option<Solved> {
        let problem = self.problem(shape)?;
        problem.conclude(problem.improve(problem.best_start()?, steps)?)
    }

    /// The same shape searched from its start once more: the better of the two.
    fn afresh(&self, shape: Shape, solved: Solved) -> (Shape, Solved) {
        let again = self.solve(shape, 2 * FIRST_STEPS).filter(|again| again.score < solved.score);
        (shape, again.unwrap_or(solved))
    }

    /// Further effects on a shape, each kept where it helps.
    fn further(
        &self,
        mut shape: Shape,
        mut best: Solved,
        effects: &[fn(&mut Shape)],
        tried: &mut Tried,
    ) -> Option<(Shape, Solved)> {
        for effect in effects {
            let mut changed = shape;
            effect(&mut changed);
            if changed == shape {
                continue;
            }
            let Some(problem) = self.problem(changed) else { continue };
            let Some(looked) = problem.first_look(&best, FIRST_STEPS) else { continue };
            let fewer = problem.figures.len() < best.figures.len();
            let most = best.cost + if fewer { TOLD } else { -0.5 * WORTH };
            // other stops change times at once, which slopes from elsewhere do not follow
            let stops = changed.rapid_stops != shape.rapid_stops
                || changed.stop_angle_deg != shape.stop_angle_deg && self.worst(&best) > POOR;
            if looked.cost > most && !stops {
                continue;
            }
            let Some(better) = problem.improve(looked, FIRST_STEPS) else { continue };
            let Some(solved) = problem.conclude(better) else { continue };
            if solved.score < best.score - if fewer { 0.0 } else { WORTH } {
                (shape, best) = (changed, solved.clone());
            }
            tried.push((changed, solved));
        }
        Some((shape, best))
    }

    /// Blocks seen ahead and the angle of stops in finer steps.
    fn finer(&self, mut shape: Shape, mut best: Solved, tried: &mut Tried) -> (Shape, Solved) {
        for factor in [1.5, 1.0 / 1.5, 1.2, 1.0 / 1.2] {
            while let Some(changed) = finer_blocks(shape, factor) {
                let looked = self.problem(changed).and_then(|p| p.first_look(&best, FIRST_STEPS));
                if looked.is_none_or(|l| l.cost >= best.cost) {
                    break;
                }
                let Some(solved) = self.go_on(changed, &best, FIRST_STEPS) else { break };
                tried.push((changed, solved.clone()));
                if solved.score >= best.score {
                    break;
                }
                (shape, best) = (changed, solved);
            }
        }
        if shape.stop_angle_deg == Some(180.0) {
            return (shape, best);
        }
        for changed in self.by_angle(shape, &best).into_iter().take(ANGLES) {
            let Some(solved) = self.go_on(changed, &best, STEPS) else { continue };
            tried.push((changed, solved.clone()));
            if solved.score < best.score {
                (shape, best) = (changed, solved);
            }
        }
        (shape, best)
    }

    /// The shape with other angles of stops, those first that are best as they stand. Whether a corner
    /// of the test program stops changes its time at once: one angle between any two of its corners.
    fn by_angle(&self, shape: Shape, from: &Solved) -> Vec<Shape> {
        let stands = |angle: f64| {
            let changed = Shape { stop_angle_deg: Some(rounded(angle, 4)), ..shape };
            Some((self.problem(changed)?.start_from(from)?.cost, changed))
        };
        let mut all: Vec<(f64, Shape)> =
            self.between_corners().into_iter().filter_map(stands).collect();
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        all.into_iter().map(|(_, changed)| changed).collect()
    }

    /// Angles between those of the test program's corners, deg.
    fn between_corners(&self) -> Vec<f64> {
        let mut angles: Vec<f64> = self.stretches.iter().flat_map(|s| s.corners_deg()).collect();
        angles.retain(|a| STOP_DEG.contains(a));
        angles.sort_by(f64::total_cmp);
        let apart = angles.windows(2).filter(|w| w[1] - w[0] > APART_DEG);
        apart.map(|w| 0.5 * (w[0] + w[1])).collect()
    }

    /// The largest residual over its deviation.
    fn worst(&self, solved: &Solved) -> f64 {
        let off =
            |((s, t), read): ((&&Stretch, &f64), &f64)| (t - read).abs() / deviation_s(s, *read);
        self.stretches.iter().zip(&solved.times).zip(self.read_s).map(off).fold(0.0, f64::max)
    }

    fn go_on(&self, shape: Shape, from: &Solved, steps: u32) -> Option<Solved> {
        let problem = self.problem(shape)?;
        problem.conclude(problem.improve(problem.start_from(from)?, steps)?)
    }
}

/// The score up to which shapes are gone on with in a round.
fn near(best: f64, round: usize) -> f64 {
    let closer = 1.0 / (1 + round) as f64;
    best + NEAR * closer * best.abs() + NEAR_PLUS * closer
}

fn best_of(all: &Tried) -> Option<usize> {
    (0..all.len()).min_by(|&a, &b| all[a].1.score.total_cmp(&all[b].1.score))
}

fn least(all: &Tried) -> Option<f64> {
    best_of(all).map(|i| all[i].1.score)
}
