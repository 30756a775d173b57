//! One straight move from rest to rest, in closed form.
//!
//! On a straight line of even direction d the limits of the axes are limits along the path: speed
//! v_k/|d_k|, acceleration a_k/|d_k|, jerk J_k/|d_k|, the least of each (derived).

use super::drive::{BLOCK_TIME, Driven};
use super::limit::Limit;
use crate::dynamics::{AxisLimit, Dynamics};
use crate::route::Route;
use crate::route::grid::Stretch;
use geom::tolerance::PARALLEL_RAD;
use motion::profile::{Move, MoveLimits};

/// The least of the axes' limits along the path and whose it is.
#[derive(Clone, Copy)]
struct Least {
    value: f64,
    limit: Limit,
}

impl Route {
    /// Drives a stretch that is one leg on which every axis goes evenly; `None` for any other.
    pub(super) fn straight(
        &self,
        stretch: &Stretch,
        dynamics: &Dynamics,
        jerk: bool,
    ) -> Option<Driven> {
        let axes = dynamics.axes.len();
        let direction = &stretch.first[..axes];
        let leg = stretch.spans.first()?.leg;
        let length = stretch.s[stretch.s.len() - 1] - stretch.s[0];
        let even = stretch.spans.iter().all(|s| s.leg == leg)
            && stretch.second.iter().all(|q| q.abs() * length < PARALLEL_RAD)
            && stretch.first.chunks(axes).all(|q| same(q, direction));
        if !even {
            return None;
        }
        let least = |pick: fn(&crate::AxisDynamics) -> f64, which: AxisLimit| {
            let none = Least { value: f64::INFINITY, limit: Limit::StandStill };
            dynamics.axes.iter().zip(direction).fold(none, |best, (axis, d)| {
                let value = pick(axis) / d.abs();
                let limit = Limit::Axis(axis.name, which);
                if value < best.value { Least { value, limit } } else { best }
            })
        };
        let mut speed = least(|a| a.speed, AxisLimit::Speed);
        let (asked, kind) = self.cap(leg, dynamics);
        if asked <= speed.value {
            let limit = if kind == BLOCK_TIME { Limit::BlockTime } else { Limit::ProgrammedFeed };
            speed = Least { value: asked, limit };
        }
        let mut accel = least(|a| a.accel, AxisLimit::Acceleration);
        let mut ramp = least(|a| a.jerk, AxisLimit::Jerk);
        if dynamics.path_accel < accel.value {
            ramp.value = ramp.value.min(ramp.value * dynamics.path_accel / accel.value);
            accel = Least { value: dynamics.path_accel, limit: Limit::PathAccel };
        }
        let limits = MoveLimits {
            speed: speed.value,
            acceleration: accel.value,
            jerk: if jerk { ramp.value } else { f64::INFINITY },
        };
        drive(stretch, &limits, [speed.limit, accel.limit, ramp.limit])
    }
}

/// Whether two directions are the same but for rounding.
fn same(a: &[f64], b: &[f64]) -> bool {
    a.iter().zip(b).all(|(a, b)| (a - b).abs() < PARALLEL_RAD)
}

/// Times of the stretch's intervals and the limit of each at its middle.
fn drive(
    stretch: &Stretch,
    limits: &MoveLimits,
    [by_speed, by_accel, by_jerk]: [Limit; 3],
) -> Option<Driven> {
    let start = stretch.s[0];
    let whole = Move::rest_to_rest(stretch.s[stretch.s.len() - 1] - start, limits).ok()?;
    let end_s = whole.time_s();
    let mut driven = Driven { time_s: Vec::new(), limit: Vec::new(), after_s: 0.0 };
    let mut before = 0.0;
    for (i, s) in stretch.s.iter().enumerate().skip(1) {
        let now =
            if i + 1 == stretch.s.len() { end_s } else { whole.time_at(s - start).max(before) };
        driven.time_s.push(now - before);
        let state = whole.at(0.5 * (before + now));
        driven.limit.push(if state.speed >= 0.999 * limits.speed {
            by_speed
        } else if state.acceleration.abs() >= 0.999 * limits.acceleration {
            by_accel
        } else {
            by_jerk
        });
        before = now;
    }
    Some(driven)
}
