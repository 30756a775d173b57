//! A toolpath as a polyline of tips and rotary angles: every move divided until the tool axis keeps
//! to its great circle, the solution chosen for every stretch between rapids.

use super::choice::{Choice, Chooser, Span};
use super::error::AccountError;
use super::leg::{Leg, Polyline, Vertex};
use super::turn::{Follower, Stop, angle_between};
use crate::kinematics::RotarySolutions;
use crate::track::Frame;
use crate::{Kinematics, Machine};
use geom::Vec3;
use geom::tolerance::{COINCIDENT_MM, PARALLEL_RAD, REACHED_RAD};
use rayon::prelude::*;
use toolpath::{Pose, Run, RunKind, Toolpath};

/// A traced toolpath.
#[derive(Debug, Clone, Default)]
pub(crate) struct Trace {
    pub(crate) path: Polyline,
    /// Runs in whose rapid the rotary axes turn over.
    pub(crate) flips: Vec<usize>,
    /// Smallest angle between the tool axis and the pole in each run, rad; infinite without one.
    pub(crate) pole_rad: Vec<f64>,
}

/// A stretch of vertices that is all rapid or holds none.
struct Group {
    rapid: bool,
    first: usize,
    last: usize,
}

/// A pose on the machine.
struct Solved {
    tip: Vec3,
    axis: Vec3,
    solutions: RotarySolutions,
}

/// Traces `toolpath`; rotary angles count at `lever_mm` from the tip and may be off by
/// `tolerance_rad`.
pub(crate) fn trace(
    toolpath: &Toolpath,
    machine: &Machine,
    kinematics: &Kinematics,
    lever_mm: f64,
    tolerance_rad: f64,
) -> Result<Trace, AccountError> {
    let slow = |k: usize| machine.axes.get(3 + k).map_or(0.0, |a| 1.0 / a.max_speed);
    let follower = Follower { kinematics, tolerance_rad, slowness: [slow(0), slow(1)] };
    let mut tracer = Tracer {
        follower,
        lever_mm,
        out: Trace::default(),
        groups: Vec::new(),
        theta: [0.0; 2],
        at: None,
        way: Vec::new(),
    };
    for (index, run) in toolpath.runs.iter().enumerate() {
        tracer.run(index, run)?;
    }
    tracer.settle(machine);
    Ok(tracer.out)
}

struct Tracer<'a> {
    follower: Follower<'a>,
    lever_mm: f64,
    out: Trace,
    groups: Vec<Group>,
    theta: [f64; 2],
    /// Tip and axis of the last vertex.
    at: Option<(Vec3, Vec3)>,
    way: Vec<Stop>,
}

impl Tracer<'_> {
    fn run(&mut self, index: usize, run: &Run) -> Result<(), AccountError> {
        check(index, run)?;
        let solved = self.solve(index, run)?;
        let pole = solved.iter().map(|p| p.solutions.pole_rad).fold(f64::INFINITY, f64::min);
        self.out.pole_rad.push(pole);
        let rapid = run.kind == RunKind::Rapid;
        for (i, pose) in solved.iter().enumerate() {
            if i == 0 {
                self.join(index, run, pose)?;
                self.open(rapid);
            } else {
                self.go(index, run.kind, run.tip_feed_mm_s[i - 1], pose)
                    .map_err(|source| AccountError::Unreachable { run: index, pose: i, source })?;
            }
        }
        if let Some(group) = self.groups.last_mut() {
            group.last = self.out.path.vertices.len().saturating_sub(1);
        }
        Ok(())
    }

    fn solve(&self, index: usize, run: &Run) -> Result<Vec<Solved>, AccountError> {
        let mounting = self.follower.kinematics.mounting();
        let one = |(i, pose): (usize, &Pose)| {
            let Pose { tip, axis } = mounting.to_program(pose);
            let solutions = self
                .follower
                .solve(axis)
                .map_err(|source| AccountError::Unreachable { run: index, pose: i, source })?;
            Ok(Solved { tip, axis, solutions })
        };
        run.poses.par_iter().enumerate().with_min_len(2048).map(one).collect()
    }

    /// The first pose of a run: a new start, the end of the run before, or a rapid from there.
    fn join(&mut self, index: usize, run: &Run, pose: &Solved) -> Result<(), AccountError> {
        let Some((tip, axis)) = self.at else {
            self.theta = self.follower.nearest(&pose.solutions, [0.0; 2]);
            self.out.path.vertices.push(Vertex { tip: pose.tip, theta: self.theta });
            self.at = Some((pose.tip, pose.axis));
            return Ok(());
        };
        if tip.distance(pose.tip) > COINCIDENT_MM || angle_between(axis, pose.axis) > REACHED_RAD {
            self.open(run.kind == RunKind::Rapid);
            self.go(index, RunKind::Rapid, f64::INFINITY, pose)
                .map_err(|source| AccountError::Unreachable { run: index, pose: 0, source })?;
        }
        Ok(())
    }

    /// Opens a group unless the last one is of the same sort.
    fn open(&mut self, rapid: bool) {
        let first = self.out.path.vertices.len().saturating_sub(1);
        if self.groups.last().is_some_and(|g| g.first == first) {
            self.groups.pop();
        }
        if let Some(group) = self.groups.last_mut() {
            group.last = first;
            if group.rapid == rapid {
                return;
            }
        }
        self.groups.push(Group { rapid, first, last: first });
    }

    fn go(
        &mut self,
        run: usize,
        kind: RunKind,
        feed_mm_s: f64,
        to: &Solved,
    ) -> Result<(), crate::Unreachable> {
        let Some((tip, axis)) = self.at else { return Ok(()) };
        let mut way = std::mem::take(&mut self.way);
        way.clear();
        self.follower.turn(self.theta, (axis, to.axis), &to.solutions, &mut way)?;
        let tip_mm = tip.distance(to.tip);
        let angle = angle_between(axis, to.axis);
        let turning = way.iter().fold(0.0f64, |most, stop| {
            most.max((0..2).map(|k| (stop.1[k] - self.theta[k]).abs()).fold(0.0, f64::max))
        });
        let block = parameter(tip_mm, angle, turning, self.lever_mm);
        if let Some(block) = block {
            let mut before = 0.0;
            for &(t, theta) in &way {
                let length = block * (t - before);
                let feed = feed_mm_s * block / tip_mm;
                let tip_share = tip_mm / block;
                self.out.path.legs.push(Leg {
                    run: run as u32,
                    kind,
                    length,
                    feed,
                    block,
                    tip_share,
                    bow: 0.0,
                    about: [0.0; 3],
                    frame: Frame::Tip,
                    stop: false,
                });
                self.out.path.vertices.push(Vertex { tip: tip.lerp(to.tip, t), theta });
                before = t;
            }
            self.theta = way.last().map_or(self.theta, |stop| stop.1);
            self.at = Some((to.tip, to.axis));
        }
        self.way = way;
        Ok(())
    }

    /// Chooses solutions and rewrites the angles.
    fn settle(&mut self, machine: &Machine) {
        if !machine.turns() {
            return;
        }
        let cutting: Vec<usize> =
            (0..self.groups.len()).filter(|&g| !self.groups[g].rapid).collect();
        let spans: Vec<Span> = cutting.iter().map(|&g| self.span(&self.groups[g])).collect();
        let chooser = Chooser { kinematics: self.follower.kinematics, axes: &machine.axes[3..] };
        let chosen = chooser.choose(&spans);
        let mut choice_of = vec![None; self.groups.len()];
        for (&g, &choice) in cutting.iter().zip(&chosen) {
            choice_of[g] = Some(choice);
        }
        let raw = std::mem::take(&mut self.out.path.vertices);
        self.out.path.vertices = raw.clone();
        for g in 0..self.groups.len() {
            self.settle_group(&raw, g, &choice_of);
        }
    }

    fn span(&self, group: &Group) -> Span {
        let angles = self.out.path.vertices[group.first..=group.last].iter().map(|v| v.theta);
        let vertices = &self.out.path.vertices;
        let mut span = Span {
            start: vertices[group.first].theta,
            end: vertices[group.last].theta,
            low: [f64::INFINITY; 2],
            high: [f64::NEG_INFINITY; 2],
        };
        for theta in angles {
            for k in 0..2 {
                span.low[k] = span.low[k].min(theta[k]);
                span.high[k] = span.high[k].max(theta[k]);
            }
        }
        span
    }

    fn settle_group(&mut self, raw: &[Vertex], g: usize, choice_of: &[Option<Choice>]) {
        let Group { rapid, first, last } = self.groups[g];
        let before = g.checked_sub(1).and_then(|b| choice_of[b]);
        let after = choice_of.get(g + 1).copied().flatten();
        let (from, to) = match (choice_of[g], before, after) {
            (Some(own), _, _) => (own, own),
            (None, Some(before), Some(after)) => (before, after),
            (None, one, other) => {
                let own = one.or(other).unwrap_or_default();
                (own, own)
            }
        };
        let kinematics = self.follower.kinematics;
        if from == to {
            for i in first..=last {
                self.out.path.vertices[i].theta = from.apply(kinematics, raw[i].theta);
            }
        } else if rapid {
            let ends =
                (from.apply(kinematics, raw[first].theta), to.apply(kinematics, raw[last].theta));
            self.turn_over(first, last, ends);
        }
    }

    /// Lets the rotary axes run evenly from one choice to the other over a rapid.
    fn turn_over(&mut self, first: usize, last: usize, (from, to): ([f64; 2], [f64; 2])) {
        let change = (0..2).map(|k| (to[k] - from[k]).abs()).fold(0.0, f64::max);
        let path = &mut self.out.path;
        let run = path.legs[first].run as usize;
        let length: f64 = path.legs[first..last].iter().map(|l| l.length).sum();
        let stretched = length.max(self.lever_mm * change) / length;
        let mut done = 0.0;
        for i in first..last {
            let leg = &mut path.legs[i];
            done += leg.length;
            leg.length *= stretched;
            leg.block *= stretched;
            leg.feed *= stretched;
            leg.tip_share /= stretched;
            let t = done / length;
            let theta = std::array::from_fn(|k| from[k] + t * (to[k] - from[k]));
            path.vertices[i + 1].theta = theta;
        }
        path.vertices[first].theta = from;
        self.out.flips.push(run);
    }
}

/// Length of a move in the path's parameter: that of the tip, or for moves that mostly turn, of a
/// point at the lever; `None` where nothing moves.
pub(crate) fn parameter(
    tip_mm: f64,
    angle_rad: f64,
    turning_rad: f64,
    lever_mm: f64,
) -> Option<f64> {
    let length = tip_mm.max(angle_rad * lever_mm);
    if length > COINCIDENT_MM {
        return Some(length);
    }
    (turning_rad > PARALLEL_RAD).then_some(turning_rad * lever_mm)
}

fn check(index: usize, run: &Run) -> Result<(), AccountError> {
    for (pose, p) in run.poses.iter().enumerate() {
        let what = if !p.tip.is_finite() {
            format!("the tip is {}", p.tip)
        } else if !((p.axis.length() - 1.0).abs() < REACHED_RAD) {
            format!("the axis has the length {}", p.axis.length())
        } else {
            continue;
        };
        return Err(AccountError::Pose { run: index, pose, what });
    }
    let (feeds, moves) = (run.tip_feed_mm_s.len(), run.poses.len().saturating_sub(1));
    if feeds != moves {
        let what = format!("{feeds} feeds for {moves} moves");
        return Err(AccountError::Feed { run: index, at: 0, what });
    }
    match run.tip_feed_mm_s.iter().position(|&f| !(f > 0.0)) {
        Some(at) => {
            let what = format!("the feed is {} mm/s", run.tip_feed_mm_s[at]);
            Err(AccountError::Feed { run: index, at, what })
        }
        None => Ok(()),
    }
}
