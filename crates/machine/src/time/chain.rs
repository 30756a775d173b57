//! The speed along a path whose corners are kept: one speed along the path, held down by the axes in
//! the direction of each leg, by the corners, by curvature and by what the control sees ahead.
//!
//! Along a leg the path may accelerate by the smallest a_k/|q'_k|, its jerk likewise. The motion is in
//! closed form ([`motion::legs`]), what limited jerk adds to it as well ([`motion::eased`]).

use super::caps::{Cap, Caps};
use super::drive::{BLOCK_TIME, Driven};
use super::limit::Limit;
use super::{rest, shares};
use crate::dynamics::Dynamics;
use crate::route::grid::Stretch;
use crate::route::leg::Leg as RouteLeg;
use crate::route::{AccountError, Route};
use crate::{Corner, Setting};
use geom::Vec3;
use motion::eased;
use motion::legs::{self, Leg};

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
    jerk: f64,
    by_speed: Limit,
    by_accel: Limit,
}

impl Chain<'_> {
    pub(super) fn plan(&self) -> Result<Driven, AccountError> {
        if self.route.control.corner == Corner::FeedShare {
            return Ok(shares::drive(self));
        }
        let caps = Caps { chain: self };
        let evens: Vec<Even> = (0..self.stretch.spans.len()).map(|i| self.even(i, &caps)).collect();
        self.by_legs(&evens, &caps.at_points(self.ramp_s()))
    }

    fn run(&self) -> usize {
        self.leg(0).run as usize
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

    /// The leg that an interval lies on.
    pub(super) fn leg(&self, interval: usize) -> &RouteLeg {
        &self.route.legs[self.stretch.spans[interval].leg as usize]
    }

    /// dq/ds of every axis at the start of an interval.
    pub(super) fn direction(&self, interval: usize) -> [f64; 5] {
        let axes = self.dynamics.axes.len();
        let first = &self.stretch.first[interval * axes..];
        std::array::from_fn(|k| if k < axes { first[k] } else { 0.0 })
    }

    /// What the path's own direction jumps by at a corner that is an interval, arcs taken as they are
    /// and not by their chords; where program and machine coordinates have the same axes.
    pub(super) fn jump(&self, corner: usize) -> Vec3 {
        let tangents = |interval: usize, at: usize| {
            let [x, y, z, ..] = self.direction(at);
            self.leg(interval).tangents(Vec3::new(x, y, z))
        };
        let [_, out] = tangents(corner - 1, corner);
        let [into, _] = tangents(corner, corner + 1);
        into - out
    }

    /// Factor on the acceleration of the axes on an interval.
    pub(super) fn accel_share(&self, interval: usize) -> f64 {
        let rapid = self.leg(interval).is_rapid();
        let rapid = self.dynamics.setting(Setting::RapidAccel).filter(|_| rapid);
        rapid.unwrap_or(1.0) * self.arc_share(interval)
    }

    /// What is left of acceleration and jerk along the path where it is an arc.
    pub(super) fn arc_share(&self, interval: usize) -> f64 {
        let arc = self.leg(interval).bow > 0.0;
        let share = self.dynamics.setting(Setting::ArcAccel).filter(|_| arc);
        share.map_or(1.0, |s| s.min(1.0))
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
        if let Some(sight_s) = self.dynamics.setting(Setting::Sight) {
            // at the speed v the path of that time is v·T, and stopping takes v²/(2a)
            let seen = 2.0 * acceleration * sight_s;
            if seen < speed {
                (speed, by_speed) = (seen, Limit::LookAhead);
            }
        }
        let jerk = if self.jerk { caps.jerk(interval) } else { f64::INFINITY };
        Even { leg: Leg { length, speed, acceleration }, jerk, by_speed, by_accel }
    }

    fn by_legs(&self, evens: &[Even], points: &[Cap]) -> Result<Driven, AccountError> {
        let pieces = pieces(evens, points);
        let legs: Vec<Leg> = pieces.iter().map(|p| p.leg).collect();
        let caps: Vec<f64> = std::iter::once(f64::INFINITY)
            .chain(pieces.iter().map(|p| p.cap_after.map_or(f64::INFINITY, |c| points[c].speed)))
            .collect();
        let (speeds, phases) = legs::drive(&legs, &caps).ok_or_else(|| AccountError::Feed {
            run: self.run(),
            at: 0,
            what: "a speed or an acceleration is not above 0".into(),
        })?;
        let mut driven = Driven {
            time_s: vec![0.0; evens.len()],
            limit: evens.iter().map(|e| e.by_speed).collect(),
            after_s: rest::after_s(self, &legs, &speeds, &phases, |piece| pieces[piece].interval),
        };
        let mut longest = vec![0.0f64; evens.len()];
        for (j, (piece, phases)) in pieces.iter().zip(&phases).enumerate() {
            let (i, leg) = (piece.interval, &evens[piece.interval]);
            driven.time_s[i] += phases.time_s();
            let ramp = |end: usize, joint: usize| {
                let at_cap = points[joint].speed <= speeds[end] * 1.001;
                if at_cap { points[joint].limit } else { leg.by_accel }
            };
            let steady = piece.held_by.map_or(leg.by_speed, |joint| points[joint].limit);
            let parts = [
                (phases.steady_s, steady),
                (phases.up_s, ramp(j, i)),
                (phases.down_s, ramp(j + 1, i + 1)),
            ];
            for (time, limit) in parts {
                if time > longest[i] {
                    (longest[i], driven.limit[i]) = (time, limit);
                }
            }
        }
        if self.jerk {
            let jerk: Vec<f64> = pieces.iter().map(|p| evens[p.interval].jerk).collect();
            let added = eased::added_s(&legs, &jerk, &speeds, &phases);
            pieces.iter().zip(added).for_each(|(p, more)| driven.time_s[p.interval] += more);
        }
        Ok(driven)
    }
}

/// A piece of an interval on which nothing changes.
struct Piece {
    interval: usize,
    leg: Leg,
    /// The point whose cap holds at its end.
    cap_after: Option<usize>,
    /// The point whose cap holds on all of it.
    held_by: Option<usize>,
}

/// Divides intervals where the speed of a corner holds beside it.
fn pieces(evens: &[Even], points: &[Cap]) -> Vec<Piece> {
    let mut out = Vec::with_capacity(evens.len());
    for (i, even) in evens.iter().enumerate() {
        let Leg { length, speed, .. } = even.leg;
        let zone = |joint: usize| {
            let slows = points[joint].speed < speed && length > 0.0;
            if slows { points[joint].zone.min(0.5 * length) } else { 0.0 }
        };
        let (before, after) = (zone(i), zone(i + 1));
        let mut add = |length: f64, held_by: Option<usize>, cap_after: Option<usize>| {
            let speed = held_by.map_or(speed, |joint| points[joint].speed.min(speed));
            let leg = Leg { length, speed, ..even.leg };
            out.push(Piece { interval: i, leg, cap_after, held_by });
        };
        if before > 0.0 {
            add(before, Some(i), None);
        }
        add(length - before - after, None, (after == 0.0).then_some(i + 1));
        if after > 0.0 {
            add(after, Some(i + 1), Some(i + 1));
        }
    }
    out
}
