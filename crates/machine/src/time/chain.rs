//! The speed along a path whose corners are kept: one speed along the path, held down by the axes in
//! the direction of each leg, by the corners, by curvature and by what the control sees ahead.
//!
//! Along a leg the path may accelerate by the smallest a_k/|q'_k|. The path's jerk keeps its ratio
//! to the acceleration. Without jerk the motion is in closed form ([`motion::legs`]); with it the
//! legs are divided near their corners and given to the general planner.

use super::caps::{Cap, Caps};
use super::drive::{BLOCK_TIME, Driven};
use super::limit::Limit;
use crate::dynamics::{AxisLimit, Dynamics};
use crate::route::grid::Stretch;
use crate::route::{AccountError, Route};
use motion::legs::{self, Leg, Phases};
use motion::path::{ActiveLimit, AxisLimits, PathGrid, plan};

/// Intervals on a ramp of speed beside a corner.
const RAMP_INTERVALS: f64 = 14.0;
/// A corner slows the path where its cap is below this share of the leg's speed.
const SLOWS: f64 = 0.98;

/// A stretch to be driven.
pub(super) struct Chain<'a> {
    pub(super) route: &'a Route,
    pub(super) stretch: &'a Stretch,
    pub(super) dynamics: &'a Dynamics,
    pub(super) jerk: bool,
}

/// An interval of the stretch with what holds on all of it.
struct Even {
    leg: Leg,
    by_speed: Limit,
    by_accel: Limit,
}

impl Chain<'_> {
    pub(super) fn plan(&self) -> Result<Driven, AccountError> {
        let caps = Caps { chain: self };
        let evens: Vec<Even> = (0..self.stretch.spans.len()).map(|i| self.even(i, &caps)).collect();
        let points = caps.at_points(self.ramp_s());
        if self.jerk { self.by_planner(&evens, &points) } else { self.by_legs(&evens, &points) }
    }

    fn run(&self) -> usize {
        self.route.legs[self.stretch.spans[0].leg as usize].run as usize
    }

    /// Least jerk over acceleration of the linear axes, 1/s.
    fn steepness(&self) -> f64 {
        let axes = self.dynamics.axes.iter().take(3);
        axes.map(|a| a.jerk / a.accel).fold(f64::INFINITY, f64::min)
    }

    /// Time in which the acceleration is reached, s; 0 without a limit of jerk.
    fn ramp_s(&self) -> f64 {
        if self.jerk { 1.0 / self.steepness() } else { 0.0 }
    }

    fn even(&self, interval: usize, caps: &Caps<'_>) -> Even {
        let span = self.stretch.spans[interval];
        let length = self.stretch.s[interval + 1] - self.stretch.s[interval];
        let (acceleration, by_accel) = caps.acceleration(interval);
        let (mut speed, kind) = self.route.cap(span.leg, self.dynamics);
        let mut by_speed = match kind {
            BLOCK_TIME => Limit::BlockTime,
            _ => Limit::ProgrammedFeed,
        };
        let (axis_speed, axis) = caps.axis_speed(interval);
        if axis_speed < speed {
            (speed, by_speed) = (axis_speed, axis);
        }
        let curve = caps.between_joints(interval);
        if curve.speed < speed {
            (speed, by_speed) = (curve.speed, curve.limit);
        }
        Even { leg: Leg { length, speed, acceleration }, by_speed, by_accel }
    }

    fn by_legs(&self, evens: &[Even], points: &[Cap]) -> Result<Driven, AccountError> {
        let chain: Vec<Leg> = evens.iter().map(|e| e.leg).collect();
        let caps: Vec<f64> = points.iter().map(|c| c.speed).collect();
        let (speeds, phases) = legs::drive(&chain, &caps).ok_or_else(|| AccountError::Feed {
            run: self.run(),
            at: 0,
            what: "a speed or an acceleration is not above 0".into(),
        })?;
        let at_cap = |i: usize| speeds[i] >= 0.999 * points[i].speed;
        let limit = |(i, p): (usize, &Phases)| {
            let ramp = |joint: usize| {
                if at_cap(joint) { points[joint].limit } else { evens[i].by_accel }
            };
            let parts =
                [(p.steady_s, evens[i].by_speed), (p.up_s, ramp(i)), (p.down_s, ramp(i + 1))];
            parts.into_iter().fold((0.0, evens[i].by_speed), |a, b| if b.0 > a.0 { b } else { a }).1
        };
        Ok(Driven {
            time_s: phases.iter().map(Phases::time_s).collect(),
            limit: phases.iter().enumerate().map(limit).collect(),
        })
    }

    fn by_planner(&self, evens: &[Even], points: &[Cap]) -> Result<Driven, AccountError> {
        let fine = Fine::of(evens, points, self.ramp_s());
        let reference = self.dynamics.axes.iter().take(3).map(|a| a.accel).fold(0.0, f64::max);
        let first: Vec<f64> = fine.acceleration.iter().map(|a| reference / a).collect();
        let grid = PathGrid {
            s: &fine.s,
            first: &first,
            second: &vec![0.0; first.len()],
            feed_cap: &fine.feed_cap,
            feed_kind: &[],
            point_cap: &fine.point_cap,
            start_speed: 0.0,
            end_speed: 0.0,
        };
        let jerk = reference * self.steepness();
        let limits = [AxisLimits { speed: f64::INFINITY, acceleration: reference, jerk }];
        let run = self.run();
        let plan = plan(&grid, &limits).map_err(|source| AccountError::Plan { run, source })?;
        let mut driven = Driven {
            time_s: vec![0.0; evens.len()],
            limit: evens.iter().map(|e| e.by_speed).collect(),
        };
        let mut longest = vec![0.0f64; evens.len()];
        for (j, &i) in fine.interval.iter().enumerate() {
            driven.time_s[i] += plan.time_s[j];
            if plan.time_s[j] > longest[i] {
                longest[i] = plan.time_s[j];
                let ends = [&points[i], &points[i + 1]];
                driven.limit[i] = match plan.active[j] {
                    ActiveLimit::FeedCap(_) => evens[i].by_speed,
                    ActiveLimit::PointCap if ends[0].speed < ends[1].speed => ends[0].limit,
                    ActiveLimit::PointCap => ends[1].limit,
                    ActiveLimit::EndSpeed => Limit::StandStill,
                    ActiveLimit::AxisJerk(_) => jerk_of(evens[i].by_accel),
                    _ => evens[i].by_accel,
                };
            }
        }
        Ok(driven)
    }
}

fn jerk_of(limit: Limit) -> Limit {
    match limit {
        Limit::Axis(axis, _) => Limit::Axis(axis, AxisLimit::Jerk),
        other => other,
    }
}

/// The grid of a chain with short intervals beside the corners that slow it.
struct Fine {
    s: Vec<f64>,
    acceleration: Vec<f64>,
    feed_cap: Vec<f64>,
    point_cap: Vec<f64>,
    /// The interval of the chain that each interval of the grid lies in.
    interval: Vec<usize>,
}

impl Fine {
    fn of(evens: &[Even], points: &[Cap], ramp_s: f64) -> Self {
        let none = f64::INFINITY;
        let mut fine = Self {
            s: vec![0.0],
            acceleration: vec![evens[0].leg.acceleration],
            feed_cap: Vec::new(),
            point_cap: vec![none],
            interval: Vec::new(),
        };
        let last = evens.len() - 1;
        for (i, even) in evens.iter().enumerate() {
            let Leg { length, speed, acceleration } = even.leg;
            let from = fine.s[fine.s.len() - 1];
            if length == 0.0 {
                // a corner: the same place once more, with the acceleration of the leg behind it
                let behind = evens.get(i + 1).map_or(acceleration, |e| e.leg.acceleration);
                fine.push(from, behind, none, points[i + 1].speed, i);
                continue;
            }
            let brake = 0.5 * speed * speed / acceleration + 0.5 * speed * ramp_s;
            let slows = |joint: usize, end: bool| !end && points[joint].speed < SLOWS * speed;
            let near = [slows(i, i == 0), slows(i + 1, i == last)];
            for x in places(length, brake, near) {
                fine.push(from + x, acceleration, speed, none, i);
            }
            fine.push(from + length, acceleration, speed, points[i + 1].speed, i);
        }
        let end = fine.point_cap.len() - 1;
        fine.point_cap[end] = none;
        fine
    }

    fn push(&mut self, s: f64, acceleration: f64, feed_cap: f64, point_cap: f64, interval: usize) {
        self.s.push(s);
        self.acceleration.push(acceleration);
        self.feed_cap.push(feed_cap);
        self.point_cap.push(point_cap);
        self.interval.push(interval);
    }
}

/// Places inside a leg, closer together near the ends that slow it, over a `brake` distance.
fn places(length: f64, brake: f64, near: [bool; 2]) -> Vec<f64> {
    let room = if near[0] && near[1] { 0.5 * length } else { length };
    let reach = (1.3 * brake).min(room);
    let count = (RAMP_INTERVALS * (reach / brake).min(1.0).sqrt()).ceil().max(3.0);
    let graded = |j: u32| reach * (f64::from(j) / count).powi(2);
    let inside = |x: &f64| *x > 0.0 && *x < length * (1.0 - 1e-9);
    let up = (1..=count as u32).map(graded).filter(|_| near[0]).filter(inside);
    let mut places: Vec<f64> = up.collect();
    let from = places.last().copied().unwrap_or(0.0);
    let down = (1..=count as u32).rev().map(|j| length - graded(j)).filter(|_| near[1]);
    places.extend(down.filter(inside).filter(|x| *x > from + 1e-9 * length));
    places
}
