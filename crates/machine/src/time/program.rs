//! The time account of a programmed track: move by move, with the limit that holds each.

use super::account::{LimitShare, examine};
use super::drive::Drive;
use super::limit::Limit;
use crate::event::Event;
use crate::route::{AccountError, Route, RouteOptions, TravelExceeded};
use crate::track::{Feed, Track};
use crate::{Dynamics, Machine, Scenario};
use std::collections::BTreeMap;

/// What an account of a track shall hold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrackOptions {
    /// How the tool is held; a track is in program coordinates already.
    pub route: RouteOptions,
    /// Factor by which a limit is relaxed to see what it is worth.
    pub relax: f64,
    /// How many of the limits that hold most time are examined for their worth.
    pub worth_of: usize,
}

impl Default for TrackOptions {
    fn default() -> Self {
        Self { route: RouteOptions::default(), relax: 1.25, worth_of: 6 }
    }
}

/// The times of a track, s; all but `total_s` and `programmed_s` add up to `total_s`.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct TrackTimes {
    /// From start to end.
    pub total_s: f64,
    /// Moves at feed, with the waits for the axes to settle after them.
    pub cutting_s: f64,
    /// Rapids, alike.
    pub rapid_s: f64,
    /// Tool changes.
    pub tool_change_s: f64,
    /// Dwells.
    pub dwell_s: f64,
    /// Ramps of the spindle and auxiliary words.
    pub other_s: f64,
    /// Path over feed of the moves at feed.
    pub programmed_s: f64,
}

impl TrackTimes {
    /// Programmed over attained time of the moves at feed; `None` where there are none.
    pub fn feed_attainment(&self) -> Option<f64> {
        (self.cutting_s > 0.0).then(|| self.programmed_s / self.cutting_s)
    }
}

/// What one move takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MoveTime {
    /// Time, the wait at its end included, s.
    pub time_s: f64,
    /// Path of the linear coordinates, mm.
    pub path_mm: f64,
    /// Path over feed, s; zero for a rapid.
    pub programmed_s: f64,
    /// What holds the speed down for most of it.
    pub limit: Limit,
}

/// Where the time of a track goes.
#[derive(Debug, Clone, PartialEq)]
pub struct TrackAccount {
    /// The times.
    pub times: TrackTimes,
    /// One for each move of the track.
    pub moves: Vec<MoveTime>,
    /// Time of each of the track's waits, s.
    pub waits_s: Vec<f64>,
    /// Limits by falling share of the total time; what waits take is no limit's.
    pub limits: Vec<LimitShare>,
    /// Factor to which the worths belong.
    pub relaxed_by: f64,
    /// Where axes leave their travel; `run` is the index of the move.
    pub exceeded: Vec<TravelExceeded>,
    /// Number of stretches from rest to rest.
    pub stretches: usize,
}

/// A track on a machine that can be timed again and again under other dynamics.
#[derive(Debug, Clone)]
pub struct TrackTimer<'a> {
    track: &'a Track,
    machine: &'a Machine,
    options: TrackOptions,
    /// The geometry under the machine's own corner tolerance.
    pub route: Route,
}

impl<'a> TrackTimer<'a> {
    /// Puts the track on the machine.
    pub fn new(
        track: &'a Track,
        machine: &'a Machine,
        options: &TrackOptions,
    ) -> Result<Self, AccountError> {
        let tolerance_mm = machine.path_tolerance_mm.value;
        let route = Route::of_track(track, machine, &options.route, tolerance_mm)?;
        Ok(Self { track, machine, options: *options, route })
    }

    /// The times alone, under a scenario. Only another corner tolerance plans the geometry anew.
    pub fn times(&self, scenario: &Scenario) -> Result<TrackTimes, AccountError> {
        let dynamics = self.machine.dynamics_in(scenario);
        if scenario.path_tolerance == 1.0 {
            let drive = self.route.drive(&dynamics, true)?;
            return Ok(self.sum(&self.moves(&self.route, &drive, &dynamics), &dynamics));
        }
        let tolerance_mm = dynamics.path_tolerance_mm;
        let route = Route::of_track(self.track, self.machine, &self.options.route, tolerance_mm)?;
        let drive = route.drive(&dynamics, true)?;
        Ok(self.sum(&self.moves(&route, &drive, &dynamics), &dynamics))
    }

    /// The whole account under the machine's nominal values.
    pub fn account(&self) -> Result<TrackAccount, AccountError> {
        let dynamics = self.machine.dynamics();
        let drive = self.route.drive(&dynamics, true)?;
        let moves = self.moves(&self.route, &drive, &dynamics);
        let times = self.sum(&moves, &dynamics);
        let mut limits = self.route.shares(&drive, times.total_s);
        let (examined, relax) = (self.options.worth_of, self.options.relax);
        examine(&mut limits, examined, (relax, times.total_s), |s| Ok(self.times(s)?.total_s))?;
        Ok(TrackAccount {
            times,
            moves,
            waits_s: self.waits(&dynamics),
            limits,
            relaxed_by: self.options.relax,
            exceeded: self.route.exceeded.clone(),
            stretches: self.route.stretches.len(),
        })
    }

    fn waits(&self, dynamics: &Dynamics) -> Vec<f64> {
        self.track.waits.iter().map(|w| self.machine.event_s(&w.event, dynamics)).collect()
    }

    /// Time of every move.
    fn moves(&self, route: &Route, drive: &Drive, dynamics: &Dynamics) -> Vec<MoveTime> {
        let still =
            MoveTime { time_s: 0.0, path_mm: 0.0, programmed_s: 0.0, limit: Limit::StandStill };
        let mut moves = vec![still; self.track.moves.len()];
        let mut longest = vec![0.0f64; moves.len()];
        for interval in route.intervals(drive) {
            let run = interval.leg.run as usize;
            let entry = &mut moves[run];
            entry.time_s += interval.time_s;
            entry.path_mm += interval.length * interval.leg.tip_share;
            entry.programmed_s += interval.length / (interval.leg.feed * dynamics.feed_factor);
            if interval.time_s > longest[run] {
                longest[run] = interval.time_s;
                entry.limit = interval.limit;
            }
        }
        for (end, wait_s) in route.stops_with_waits(drive, dynamics) {
            moves[end].time_s += wait_s;
        }
        moves
    }

    fn sum(&self, moves: &[MoveTime], dynamics: &Dynamics) -> TrackTimes {
        let mut times = TrackTimes::default();
        for (step, taken) in self.track.moves.iter().zip(moves) {
            let part =
                if step.feed == Feed::Rapid { &mut times.rapid_s } else { &mut times.cutting_s };
            *part += taken.time_s;
            times.programmed_s += taken.programmed_s;
        }
        for wait in &self.track.waits {
            let part = match wait.event {
                Event::ToolChange => &mut times.tool_change_s,
                Event::Dwell(_) => &mut times.dwell_s,
                Event::Spindle { .. } | Event::Word(_) => &mut times.other_s,
            };
            *part += self.machine.event_s(&wait.event, dynamics);
        }
        let moving = times.cutting_s + times.rapid_s;
        times.total_s = moving + times.tool_change_s + times.dwell_s + times.other_s;
        times
    }
}

impl Route {
    /// Time of all its motion with the waits at its stops, s, on `machine`: that for which the route
    /// was made, or one with other figures but the same axes and the same shape of control.
    ///
    /// # Errors
    /// Where no plan is found.
    pub fn time_s(&self, machine: &Machine) -> Result<f64, AccountError> {
        let dynamics = machine.dynamics();
        let drive = self.drive(&dynamics, true)?;
        let moving: f64 = drive.driven.iter().flat_map(|d| &d.time_s).sum();
        Ok(moving + drive.waiting_s())
    }

    /// The run in which each stretch ends and the wait there, s.
    fn stops_with_waits(
        &self,
        drive: &Drive,
        dynamics: &Dynamics,
    ) -> impl Iterator<Item = (usize, f64)> {
        self.stretches.iter().zip(drive.waits_s(dynamics)).filter_map(|(stretch, wait_s)| {
            let span = stretch.spans.last()?;
            Some((self.legs[span.leg as usize].run as usize, wait_s))
        })
    }

    /// Limits by falling share of `total_s`.
    pub(super) fn shares(&self, drive: &Drive, total_s: f64) -> Vec<LimitShare> {
        let mut held: BTreeMap<Limit, f64> = BTreeMap::new();
        for interval in self.intervals(drive) {
            *held.entry(interval.limit).or_default() += interval.time_s;
        }
        held.extend(drive.waits());
        let mut shares: Vec<LimitShare> = held
            .into_iter()
            .map(|(limit, s)| LimitShare { limit, time_share: s / total_s, worth_s: None })
            .collect();
        shares.sort_by(|a, b| b.time_share.total_cmp(&a.time_share));
        shares
    }
}
