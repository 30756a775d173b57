//! How long the axes take to stand after the command has come to its end.
//!
//! A lag of the time constant τ leaves an axis e behind its command: ė = v − e/τ. While the command
//! accelerates evenly by α, e − τ v + α τ² decays with τ; at rest e itself does, down to the window
//! after τ ln(e/window) (derived).

use super::chain::Chain;
use crate::setting::WINDOW_LEVER_MM;
use crate::{Dynamics, Ramp, Setting};
use motion::legs::{Leg, Phases};

/// Window of a linear axis where none is given, mm: common practice, no source.
const WINDOW_MM: f64 = 0.01;
/// Share of the path below which an axis does not move.
const STILL: f64 = 1e-9;

/// Length of the filter, or time constant of the lag, of every axis, s.
pub(super) fn filters_s(dynamics: &Dynamics) -> [f64; 5] {
    let share = |s: Setting| dynamics.setting(s).unwrap_or(1.0);
    let shares = [1.0, share(Setting::FilterY), share(Setting::FilterZ), 1.0, 1.0];
    shares.map(|share| share * dynamics.filter_s)
}

/// Time from the end of the command until the axes stand, s; `interval` gives that of a leg.
pub(super) fn after_s(
    chain: &Chain<'_>,
    legs: &[Leg],
    speeds: &[f64],
    phases: &[Phases],
    interval: impl Fn(usize) -> usize,
) -> f64 {
    let filters_s = filters_s(chain.dynamics);
    match chain.route.control.ramp {
        Ramp::Jerk => 0.0,
        Ramp::Filter => {
            let backwards = phases.iter().enumerate().rev();
            running_s(filters_s, backwards.map(|(i, p)| (chain.direction(interval(i)), p.time_s())))
        }
        Ramp::Lag => {
            let mut behind = Behind::new(filters_s);
            for (i, (leg, phases)) in legs.iter().zip(phases).enumerate() {
                let at = chain.direction(interval(i));
                let top = speeds[i] + leg.acceleration * phases.up_s;
                behind.go(&at, phases.up_s, speeds[i], leg.acceleration);
                behind.go(&at, phases.steady_s, top, 0.0);
                behind.go(&at, phases.down_s, top, -leg.acceleration);
            }
            behind.settled_s(chain)
        }
    }
}

/// How long filters still run when the command has come to its end, s, from the pieces of the path with
/// their directions and times, the last one first: an axis that stood still before runs out earlier.
pub(super) fn running_s(
    filters_s: [f64; 5],
    backwards: impl Iterator<Item = ([f64; 5], f64)>,
) -> f64 {
    let (mut passed_s, mut longest_s) = (0.0f64, 0.0f64);
    for (direction, time_s) in backwards {
        for (filter, _) in filters_s.iter().zip(direction).filter(|(_, d)| d.abs() > STILL) {
            longest_s = longest_s.max(filter - passed_s);
        }
        passed_s += time_s;
        if filters_s.iter().all(|f| f - passed_s <= longest_s) {
            break;
        }
    }
    longest_s
}

/// What the axes lag behind their command.
pub(super) struct Behind {
    tau_s: [f64; 5],
    off: [f64; 5],
}

impl Behind {
    pub(super) fn new(tau_s: [f64; 5]) -> Self {
        Self { tau_s, off: [0.0; 5] }
    }

    /// The command goes on for `time_s` in a direction, from `speed` on and with `accel`.
    pub(super) fn go(&mut self, direction: &[f64; 5], time_s: f64, speed: f64, accel: f64) {
        if time_s <= 0.0 {
            return;
        }
        for ((off, d), tau) in self.off.iter_mut().zip(direction).zip(self.tau_s) {
            if *off == 0.0 && *d == 0.0 {
                continue;
            }
            let decay = (-time_s / tau).exp();
            let steady = |speed: f64| tau * (speed - accel * tau);
            let (from, to) = (steady(speed), steady(speed + accel * time_s));
            *off = d * to + (*off - d * from) * decay;
        }
    }

    /// Time until every axis is inside its window, s.
    pub(super) fn settled_s(&self, chain: &Chain<'_>) -> f64 {
        let window = chain.dynamics.setting(Setting::Window).unwrap_or(WINDOW_MM);
        let time = |k: usize| {
            let window = if k < 3 { window } else { window / WINDOW_LEVER_MM };
            self.tau_s[k] * (self.off[k].abs() / window).max(1.0).ln()
        };
        (0..5).map(time).fold(0.0, f64::max)
    }
}
