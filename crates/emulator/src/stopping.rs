//! An older control: exact stops at corners, few blocks ahead, slow reading, and a position loop
//! whose lag is waited for.

use crate::Hidden;
use crate::course::{Programmed, end_tangents, leg_limits, must_stop};
use crate::drive::Prepared;
use crate::legs::{Chain, Leg};
use crate::limits::Heed;
use crate::shaper::Lags;
use crate::span::Span;
use crate::trapezoid::Trapezoid;

/// Parameters of the family.
#[derive(Debug, Clone, PartialEq)]
pub struct Stopping {
    /// Corners above this angle are exact stops, rad.
    pub stop_angle_rad: f64,
    /// Step of speed that an axis may take at the corners below it, mm/s or rad/s.
    pub step: [f64; 5],
    /// Time constant of the position loop of each axis, s.
    pub lag_s: [f64; 5],
}

pub(crate) fn prepare<'a>(hidden: &'a Hidden, family: &Stopping, legs: &'a [Leg]) -> Prepared<'a> {
    let chain = Chain::of(hidden);
    let heed = Heed { axes: &hidden.axes, rapid: false, bends: true, jerk: false };
    let mut spans = Vec::with_capacity(legs.len());
    for (k, leg) in legs.iter().enumerate() {
        let limits = leg_limits(&chain, leg, &heed);
        let next = legs.get(k + 1);
        let exit = match next {
            Some(next)
                if !must_stop(leg, Some(next), hidden.rapid_stops)
                    && leg.angle_to(next) <= family.stop_angle_rad =>
            {
                corner_speed(hidden, family, &chain, leg, next)
            }
            _ => 0.0,
        };
        spans.push(Span {
            length: leg.length,
            cap: leg.feed.min(limits.speed),
            accel: limits.accel,
            jerk: limits.jerk,
            exit,
            leg: k,
            ends: Some(k),
            rapid: leg.rapid,
        });
    }
    let places = (0..legs.len()).map(|k| (k, 0.0)).collect();
    Prepared {
        spans,
        course: Box::new(Programmed { chain, legs, places }),
        generator: Box::new(Trapezoid::default()),
        shaper: Box::new(Lags::new(family.lag_s, family.lag_s, hidden.sample_s)),
    }
}

fn corner_speed(
    hidden: &Hidden,
    family: &Stopping,
    chain: &Chain<'_>,
    leg: &Leg,
    next: &Leg,
) -> f64 {
    let [_, out] = end_tangents(chain, leg);
    let [into, _] = end_tangents(chain, next);
    (0..hidden.axes.len())
        .map(|i| family.step[i] / (into[i] - out[i]).abs().max(1e-12))
        .fold(f64::INFINITY, f64::min)
}
