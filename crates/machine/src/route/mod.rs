//! The geometry of a toolpath on a machine: which axis positions it passes, rounded as the control
//! rounds it. It knows no speeds, so it is made once and driven under any dynamics.
//!
//! Poses go through the inverse kinematics move by move ([`turn`], [`choice`], [`trace`]), corners
//! are rounded within the control's tolerance at the tool tip ([`corner`], [`round`], [`spline`]),
//! and the result is put on the axes with exact derivatives ([`grid`]).

pub(crate) mod chain;
pub(crate) mod choice;
pub mod corner;
pub(crate) mod error;
pub(crate) mod flatten;
pub(crate) mod grid;
pub(crate) mod leg;
mod programmed;
pub(crate) mod round;
pub(crate) mod spline;
pub(crate) mod trace;
pub(crate) mod travel;
pub(crate) mod turn;

pub use error::AccountError;
pub use travel::TravelExceeded;

use crate::track::Track;
use crate::{Control, Corner, Dynamics, Kinematics, Machine, Mounting, Ramp};
use grid::Stretch;
use leg::{Leg, Polyline};
use rayon::prelude::*;
use round::{Rounded, Rounding};
use toolpath::{RunKind, Toolpath};

/// How a toolpath is put on a machine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RouteOptions {
    /// Where the part stands, and the tool's length.
    pub mounting: Mounting,
    /// An error of a rotary axis counts at this distance from the tip, mm: about the radius of the
    /// cutter.
    pub lever_mm: f64,
}

impl Default for RouteOptions {
    fn default() -> Self {
        Self { mounting: Mounting::default(), lever_mm: 10.0 }
    }
}

/// How smoothly the rotary axes follow one run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RotaryRun {
    /// Index of the run.
    pub run: usize,
    /// Sum of all turning of each rotary axis, rad.
    pub travel_rad: [f64; 2],
    /// Distance between the first and the last angle of each, rad; a smooth run travels no more.
    pub net_rad: [f64; 2],
    /// Smallest angle between the tool axis and the pole, where the rotary axis next to the part
    /// has to turn fastest, rad; infinite on a machine without a pole.
    pub pole_rad: f64,
}

/// A toolpath on a machine, ready to be driven.
#[derive(Debug, Clone, PartialEq)]
pub struct Route {
    pub(crate) stretches: Vec<Stretch>,
    pub(crate) legs: Vec<Leg>,
    /// Kind of each run; empty for a programmed track.
    pub(crate) kinds: Vec<RunKind>,
    pub(crate) control: Control,
    /// Dynamics of the machine file, after which the planner sets its nodes under every scenario.
    pub(crate) nominal: Dynamics,
    /// Turning of the rotary axes, run by run; empty on a machine without any.
    pub rotary: Vec<RotaryRun>,
    /// Rapids (indices of runs) in which the rotary axes change to their other solution or unwind.
    pub turning_over: Vec<usize>,
    /// Where axes leave their travel: the worst place of each end; empty where all is well.
    pub exceeded: Vec<TravelExceeded>,
}

impl Route {
    /// Puts `toolpath` on `machine`, corners rounded by `tolerance_mm`.
    pub fn new(
        toolpath: &Toolpath,
        machine: &Machine,
        options: &RouteOptions,
        tolerance_mm: f64,
    ) -> Result<Self, AccountError> {
        let kinematics = Kinematics::new(machine, &options.mounting);
        // the axis may be off by what its lever makes of a quarter of the tolerance
        let nominal = machine.path_tolerance_mm.value.max(geom::tolerance::COINCIDENT_MM);
        let tolerance_rad = 0.25 * nominal / options.lever_mm;
        let traced = trace::trace(toolpath, machine, &kinematics, options.lever_mm, tolerance_rad)?;
        let rotary = if machine.turns() { rotary_runs(&traced) } else { Vec::new() };
        let laid = Self::lay(traced.path, machine, &kinematics, options.lever_mm, tolerance_mm);
        let tool_length_mm = options.mounting.tool_length_mm;
        let exceeded = travel::check(machine, tool_length_mm, &laid.stretches, &laid.legs);
        Ok(Self {
            rotary,
            kinds: toolpath.runs.iter().map(|r| r.kind).collect(),
            turning_over: traced.flips,
            exceeded,
            ..laid
        })
    }

    /// Puts a programmed track on `machine`; runs are the indices of its moves.
    pub fn of_track(
        track: &Track,
        machine: &Machine,
        options: &RouteOptions,
        tolerance_mm: f64,
    ) -> Result<Self, AccountError> {
        let kinematics = Kinematics::new(machine, &options.mounting);
        let mut paths = flatten::flatten(track, &kinematics, options.lever_mm)?.into_iter();
        let lay = |path| Self::lay(path, machine, &kinematics, options.lever_mm, tolerance_mm);
        let mut laid = lay(paths.next().unwrap_or_default());
        for path in paths {
            laid.go_on(lay(path));
        }
        let tool_length_mm = options.mounting.tool_length_mm;
        let exceeded = travel::check(machine, tool_length_mm, &laid.stretches, &laid.legs);
        Ok(Self { exceeded, ..laid })
    }

    /// A polyline on the axes as the machine's control takes its corners.
    fn lay(
        path: Polyline,
        machine: &Machine,
        kinematics: &Kinematics,
        lever_mm: f64,
        tolerance_mm: f64,
    ) -> Self {
        let stops_at_rapids = machine.control.rapid_stops;
        let stop_angle_rad = machine.control.stop_angle_rad;
        let stretches = if machine.control.corner == Corner::Blend {
            let rounded = round::round(
                &path,
                &Rounding { tolerance_mm, lever_mm, stops_at_rapids, stop_angle_rad },
            );
            let frame = |r: &Rounded| path.legs[r.spans[0].leg as usize].frame;
            let near_stop = machine.control.ramp == Ramp::Filter;
            rounded.par_iter().map(|r| grid::stretch(r, frame(r), kinematics, near_stop)).collect()
        } else {
            chain::chain(&path, kinematics, stops_at_rapids, stop_angle_rad)
        };
        Self {
            stretches,
            legs: path.legs,
            control: machine.control,
            nominal: machine.dynamics(),
            kinds: Vec::new(),
            rotary: Vec::new(),
            turning_over: Vec::new(),
            exceeded: Vec::new(),
        }
    }

    /// Appends a path that begins where this one ends, at rest.
    fn go_on(&mut self, next: Self) {
        let before = self.legs.len() as u32;
        self.legs.extend(next.legs);
        self.stretches.extend(next.stretches.into_iter().map(|mut stretch| {
            stretch.spans.iter_mut().for_each(|span| span.leg += before);
            stretch
        }));
    }

    /// Number of grid points.
    pub fn points(&self) -> usize {
        self.stretches.iter().map(|s| s.s.len()).sum()
    }

    /// Number of places at rest, start and end included; 0 for an empty path.
    pub fn stops(&self) -> usize {
        if self.stretches.is_empty() { 0 } else { self.stretches.len() + 1 }
    }
}

fn rotary_runs(traced: &trace::Trace) -> Vec<RotaryRun> {
    let path = &traced.path;
    let blank = |(run, &pole_rad): (usize, &f64)| RotaryRun {
        run,
        travel_rad: [0.0; 2],
        net_rad: [0.0; 2],
        pole_rad,
    };
    let mut runs: Vec<RotaryRun> = traced.pole_rad.iter().enumerate().map(blank).collect();
    for (leg, w) in path.legs.iter().zip(path.vertices.windows(2)) {
        let run = &mut runs[leg.run as usize];
        for k in 0..2 {
            let step = w[1].theta[k] - w[0].theta[k];
            run.travel_rad[k] += step.abs();
            run.net_rad[k] += step;
        }
    }
    for run in &mut runs {
        run.net_rad = run.net_rad.map(f64::abs);
    }
    runs
}
