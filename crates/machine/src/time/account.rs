//! The time account of a toolpath.

use super::drive::Drive;
use super::limit::Limit;
use super::series::{self, FeedSample};
use crate::route::{AccountError, RotaryRun, Route, RouteOptions, TravelExceeded};
use crate::{Dynamics, Machine, Scenario};
use rayon::prelude::*;
use toolpath::Toolpath;

/// What an account shall hold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AccountOptions {
    /// Where the part stands and how the tool is held.
    pub route: RouteOptions,
    /// False leaves the jerk of the axes out: the lower bound of every control's time.
    pub jerk: bool,
    /// Factor by which a limit is relaxed to see what it is worth.
    pub relax: f64,
    /// How many of the limits that hold most time are examined for their worth.
    pub worth_of: usize,
    /// About how many samples of the feed along the path are kept.
    pub series: usize,
}

impl Default for AccountOptions {
    fn default() -> Self {
        Self { route: RouteOptions::default(), jerk: true, relax: 1.25, worth_of: 6, series: 1000 }
    }
}

/// The times of a toolpath, s.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Times {
    /// From standing still to standing still.
    pub total_s: f64,
    /// In runs that cut along a contact line.
    pub cutting_s: f64,
    /// In all other runs, waits included.
    pub linking_s: f64,
    /// Path over feed of the runs that cut.
    pub programmed_s: f64,
}

impl Times {
    /// Programmed over attained cutting time; `None` where nothing cuts.
    pub fn feed_attainment(&self) -> Option<f64> {
        (self.cutting_s > 0.0).then(|| self.programmed_s / self.cutting_s)
    }
}

/// A limit with the time that it rules.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LimitShare {
    /// Which limit.
    pub limit: Limit,
    /// Share of the total time; all shares add up to 1.
    pub time_share: f64,
    /// Time saved when it is relaxed by the account's factor, s; `None` where it was not examined.
    pub worth_s: Option<f64>,
}

/// Where the time of a toolpath goes.
#[derive(Debug, Clone, PartialEq)]
pub struct TimeAccount {
    /// The times.
    pub times: Times,
    /// Time of each run, s.
    pub run_s: Vec<f64>,
    /// Waits at stops, part of the linking time, s.
    pub waiting_s: f64,
    /// Limits by falling share.
    pub limits: Vec<LimitShare>,
    /// Factor to which the worths belong.
    pub relaxed_by: f64,
    /// Programmed and attained feed along the path.
    pub series: Vec<FeedSample>,
    /// Turning of the rotary axes, run by run.
    pub rotary: Vec<RotaryRun>,
    /// Rapids in which the rotary axes turn over or unwind.
    pub turning_over: Vec<usize>,
    /// Where axes leave their travel.
    pub exceeded: Vec<TravelExceeded>,
    /// Number of stretches from rest to rest.
    pub stretches: usize,
}

/// A toolpath on a machine that can be timed again and again under other dynamics.
#[derive(Debug, Clone)]
pub struct Timer<'a> {
    toolpath: &'a Toolpath,
    machine: &'a Machine,
    options: AccountOptions,
    /// The geometry under the machine's own corner tolerance.
    pub route: Route,
}

/// Times `toolpath` on `machine`.
pub fn account(
    toolpath: &Toolpath,
    machine: &Machine,
    options: &AccountOptions,
) -> Result<TimeAccount, AccountError> {
    Timer::new(toolpath, machine, options)?.account()
}

impl<'a> Timer<'a> {
    /// Puts the toolpath on the machine.
    pub fn new(
        toolpath: &'a Toolpath,
        machine: &'a Machine,
        options: &AccountOptions,
    ) -> Result<Self, AccountError> {
        let tolerance_mm = machine.path_tolerance_mm.value;
        let route = Route::new(toolpath, machine, &options.route, tolerance_mm)?;
        Ok(Self { toolpath, machine, options: *options, route })
    }

    /// The times alone, under a scenario. Only another corner tolerance plans the geometry anew.
    pub fn times(&self, scenario: &Scenario) -> Result<Times, AccountError> {
        let dynamics = self.machine.dynamics_in(scenario);
        if scenario.path_tolerance == 1.0 {
            let drive = self.route.drive(&dynamics, self.options.jerk)?;
            return Ok(self.route.times(&drive, &dynamics));
        }
        let tolerance_mm = dynamics.path_tolerance_mm;
        let route = Route::new(self.toolpath, self.machine, &self.options.route, tolerance_mm)?;
        Ok(route.times(&route.drive(&dynamics, self.options.jerk)?, &dynamics))
    }

    /// The whole account under the machine's nominal values.
    pub fn account(&self) -> Result<TimeAccount, AccountError> {
        let dynamics = self.machine.dynamics();
        let route = &self.route;
        let drive = route.drive(&dynamics, self.options.jerk)?;
        let times = route.times(&drive, &dynamics);
        let mut limits = route.shares(&drive, times.total_s);
        let (examined, relax) = (self.options.worth_of, self.options.relax);
        examine(&mut limits, examined, (relax, times.total_s), |s| Ok(self.times(s)?.total_s))?;
        Ok(TimeAccount {
            times,
            run_s: route.run_times(&drive),
            waiting_s: drive.waiting_s(),
            limits,
            relaxed_by: self.options.relax,
            series: series::series(route, &drive, dynamics.feed_factor, self.options.series),
            rotary: route.rotary.clone(),
            turning_over: route.turning_over.clone(),
            exceeded: route.exceeded.clone(),
            stretches: route.stretches.len(),
        })
    }
}

/// Fills in what relaxing each of the foremost `examined` limits by `factor` saves of `total_s`;
/// `total` gives the total time under a scenario, s.
pub(super) fn examine(
    limits: &mut [LimitShare],
    examined: usize,
    (factor, total_s): (f64, f64),
    total: impl Fn(&Scenario) -> Result<f64, AccountError> + Sync,
) -> Result<(), AccountError> {
    let examined = examined.min(limits.len());
    let nominal = Scenario::default();
    let worths = limits[..examined]
        .par_iter()
        .map(|share| {
            let relaxed = share.limit.relaxed(&nominal, factor);
            relaxed.map(|scenario| Ok(total_s - total(&scenario)?)).transpose()
        })
        .collect::<Result<Vec<_>, AccountError>>()?;
    for (share, worth) in limits.iter_mut().zip(worths) {
        share.worth_s = worth;
    }
    Ok(())
}

impl Route {
    /// Intervals with their leg, span and time, in order.
    pub(super) fn intervals<'b>(&'b self, drive: &'b Drive) -> impl Iterator<Item = Interval<'b>> {
        self.stretches.iter().zip(&drive.driven).flat_map(move |(stretch, driven)| {
            stretch.spans.iter().enumerate().map(move |(i, span)| Interval {
                leg: &self.legs[span.leg as usize],
                length: stretch.s[i + 1] - stretch.s[i],
                time_s: driven.time_s[i],
                limit: driven.limit[i],
            })
        })
    }

    fn run_times(&self, drive: &Drive) -> Vec<f64> {
        let mut times = vec![0.0; self.kinds.len()];
        for interval in self.intervals(drive) {
            times[interval.leg.run as usize] += interval.time_s;
        }
        times
    }

    fn times(&self, drive: &Drive, dynamics: &Dynamics) -> Times {
        let (mut cutting_s, mut linking_s, mut programmed_s) = (0.0, drive.waiting_s(), 0.0);
        for interval in self.intervals(drive) {
            if interval.leg.kind.is_cut() {
                cutting_s += interval.time_s;
                programmed_s += interval.length / (interval.leg.feed * dynamics.feed_factor);
            } else {
                linking_s += interval.time_s;
            }
        }
        Times { total_s: cutting_s + linking_s, cutting_s, linking_s, programmed_s }
    }
}

/// One interval of a driven route.
pub(super) struct Interval<'b> {
    pub(super) leg: &'b crate::route::leg::Leg,
    pub(super) length: f64,
    pub(super) time_s: f64,
    pub(super) limit: Limit,
}
