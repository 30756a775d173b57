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
use crate::route::corner;
use crate::route::grid::Stretch;
use crate::route::leg::Leg as RouteLeg;
use crate::route::{AccountError, Route};
use crate::track::Frame;
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
    /// What an interval is a piece of, where that bends; empty where nothing does.
    pub(super) bents: Vec<Option<Bent>>,
}

/// Largest |dq/ds| and |d²q/ds²| of every axis on a move along which the axes' path bends.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Bent {
    pub(super) first: [f64; 5],
    pub(super) second: [f64; 5],
}

/// An interval of the stretch with what holds on all of it.
struct Even {
    leg: Leg,
    jerk: f64,
    by_speed: Limit,
    by_accel: Limit,
}

impl<'a> Chain<'a> {
    pub(super) fn new(
        route: &'a Route,
        stretch: &'a Stretch,
        dynamics: &'a Dynamics,
        jerk: bool,
    ) -> Self {
        let mut chain = Self { route, stretch, dynamics, jerk, bents: Vec::new() };
        chain.bents = chain.bents();
        chain
    }

    /// Moves along which the axes' path bends: arcs, and moves during which rotary axes turn under tip
    /// control, whether or not a linear axis has to follow. A control has one speed and one acceleration
    /// for each.
    fn bents(&self) -> Vec<Option<Bent>> {
        let spans = &self.stretch.spans;
        let turned = |i: usize| self.direction(i)[3..].iter().any(|q| *q != 0.0);
        let turns = |i: usize| !spans[i].corner && self.leg(i).frame == Frame::Tip && turned(i);
        let bent = |i: usize| self.leg(i).bow > 0.0 || turns(i);
        if !(0..spans.len()).any(bent) {
            return Vec::new();
        }
        let mut bents = vec![None; spans.len()];
        let mut first = 0;
        while first < spans.len() {
            let run = self.leg(first).run;
            let arc = self.leg(first).bow > 0.0;
            let same = |i: &usize| {
                let leg = spans[*i].leg == spans[first].leg && turns(*i);
                if arc { self.leg(*i).run == run && self.leg(*i).bow > 0.0 } else { leg }
            };
            let count = (first..spans.len()).take_while(same).count();
            let most = (first..first + count).fold(Bent::default(), |most, i| self.bent(i, most));
            bents[first..first + count].fill(Some(most));
            first += count.max(1);
        }
        bents
    }

    /// d²q/ds² of every axis at the start of an interval.
    fn second(&self, interval: usize) -> [f64; 5] {
        let axes = self.dynamics.axes.len();
        let second = &self.stretch.second[interval * axes..];
        std::array::from_fn(|k| if k < axes { second[k] } else { 0.0 })
    }

    /// `most`, or what is more on an interval.
    fn bent(&self, i: usize, mut most: Bent) -> Bent {
        let leg = self.leg(i);
        for at in [i, i + 1] {
            let mut first = [self.direction(at); 2];
            if leg.bow > 0.0 && first[0][3] == 0.0 && first[0][4] == 0.0 {
                let [x, y, z, ..] = first[0];
                for (first, t) in first.iter_mut().zip(leg.tangents(Vec3::new(x, y, z))) {
                    first[..3].copy_from_slice(&t.to_array());
                }
            }
            let turned = |k: usize| (first[1][k] - first[0][k]) / leg.length;
            let second = if leg.bow > 0.0 { std::array::from_fn(turned) } else { self.second(at) };
            for k in 0..5 {
                most.first[k] = most.first[k].max(first[0][k].abs()).max(first[1][k].abs());
                most.second[k] = most.second[k].max(second[k].abs());
            }
            if leg.bow > 0.0 {
                break;
            }
        }
        most
    }

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

    /// What the programmed path's direction jumps by at a corner that is an interval, arcs taken as they
    /// are and not by their chords.
    pub(super) fn jump(&self, corner: usize) -> Vec3 {
        let tangents = |interval: usize, at: usize| {
            let [x, y, z, ..] = self.direction(at);
            let way = self.stretch.ways.get(at).copied();
            self.leg(interval).tangents(way.unwrap_or(Vec3::new(x, y, z)))
        };
        let [_, out] = tangents(corner - 1, corner);
        let [into, _] = tangents(corner, corner + 1);
        into - out
    }

    /// Angle of a corner that is an interval: of the programmed path, or of the rotary axes where they
    /// move alone; rad.
    pub(super) fn turn_rad(&self, corner: usize) -> f64 {
        if !self.leg(corner - 1).only_turns() || !self.leg(corner).only_turns() {
            return corner::angle(self.jump(corner).length());
        }
        let way = |at: usize| {
            let [.., a, b] = self.direction(at);
            Vec3::new(a, b, 0.0)
        };
        way(corner).angle_between(way(corner + 1))
    }

    /// Factor on the acceleration of the axes on an interval.
    pub(super) fn accel_share(&self, interval: usize) -> f64 {
        let rapid = if self.leg(interval).is_rapid() { self.rapid_share() } else { 1.0 };
        rapid * self.arc_share(interval)
    }

    /// Acceleration of the axes at a rapid over that at a feed.
    pub(super) fn rapid_share(&self) -> f64 {
        self.dynamics.setting(Setting::RapidAccel).unwrap_or(1.0)
    }

    /// What is left of acceleration and jerk along the path of an interval.
    pub(super) fn arc_share(&self, interval: usize) -> f64 {
        if self.is_bent(interval) { self.bent_share() } else { 1.0 }
    }

    fn is_bent(&self, interval: usize) -> bool {
        self.bents.get(interval).is_some_and(Option::is_some)
    }

    /// What is left of acceleration and jerk along the path where it bends.
    fn bent_share(&self) -> f64 {
        self.dynamics.setting(Setting::ArcAccel).map_or(1.0, |s| s.min(1.0))
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
        if let Some(bent) = self.bents.get(interval).and_then(Option::as_ref) {
            let bends = caps.turn_speed(interval, &bent.second);
            if bends.0 < speed {
                (speed, by_speed) = bends;
            }
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
        let bent: Vec<bool> = (0..evens.len()).map(|i| self.is_bent(i)).collect();
        let pieces = pieces((evens, &bent), points, self.bent_share());
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
            let jerk: Vec<f64> = pieces.iter().map(|p| p.jerk).collect();
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
    jerk: f64,
    /// The point whose cap holds at its end.
    cap_after: Option<usize>,
    /// The point whose cap holds on all of it.
    held_by: Option<usize>,
}

/// Divides intervals where the speed of a corner holds beside it, `bent_share` of the acceleration being
/// left where the path bends; those of `bent` bend anyway.
fn pieces((evens, bent): (&[Even], &[bool]), points: &[Cap], bent_share: f64) -> Vec<Piece> {
    let mut out = Vec::with_capacity(evens.len());
    for (i, even) in evens.iter().enumerate() {
        let Leg { length, speed, .. } = even.leg;
        let of = |joint: usize, side: usize| {
            let cap = &points[joint];
            let own = cap.sides.map_or(cap.speed, |sides| sides[side]);
            let bends = cap.sides.is_some() && bent_share < 1.0;
            let slows = length > 0.0 && (own < speed || bends);
            let zone = if slows { cap.zone.min(0.5 * length) } else { 0.0 };
            (zone, own, zone * cap.shortens)
        };
        // behind the joint at its start, before the one at its end
        let ((before, first, enters), (after, last, leaves)) = (of(i, 1), of(i + 1, 0));
        let mut add = |length: f64, held: Option<(usize, f64)>, cap_after: Option<usize>| {
            let bends = !bent[i] && held.is_some_and(|(joint, _)| points[joint].sides.is_some());
            let share = if bends { bent_share } else { 1.0 };
            let leg = Leg {
                length,
                speed: held.map_or(speed, |(_, own)| own.min(speed)),
                acceleration: share * even.leg.acceleration,
            };
            let (jerk, held_by) = (share * even.jerk, held.map(|(joint, _)| joint));
            out.push(Piece { interval: i, leg, jerk, cap_after, held_by });
        };
        if before > 0.0 {
            add(enters, Some((i, first)), None);
        }
        add(length - before - after, None, (after == 0.0).then_some(i + 1));
        if after > 0.0 {
            add(leaves, Some((i + 1, last)), Some(i + 1));
        }
    }
    out
}
