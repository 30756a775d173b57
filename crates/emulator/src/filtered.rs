//! Constant acceleration along the polyline with corner speeds from a step that each axis takes,
//! then two moving averages per axis.
//!
//! Interpolation of this kind: finite impulse response filters after a trapezoidal generator, as in
//! textbooks on the control of machine tools.

use crate::Hidden;
use crate::course::{Programmed, end_tangents, leg_limits, must_stop};
use crate::drive::Prepared;
use crate::legs::{Chain, Leg};
use crate::limits::Heed;
use crate::shaper::Averages;
use crate::span::Span;
use crate::trapezoid::Trapezoid;

/// Parameters of the family.
#[derive(Debug, Clone, PartialEq)]
pub struct Filtered {
    /// Length of the first moving average, s.
    pub first_s: f64,
    /// Length of the second, s; not above the first.
    pub second_s: f64,
    /// Step of speed that each axis may take at a corner, mm/s or rad/s.
    pub step: [f64; 5],
}

pub(crate) fn prepare<'a>(hidden: &'a Hidden, family: &Filtered, legs: &'a [Leg]) -> Prepared<'a> {
    let chain = Chain::of(hidden);
    let heed = Heed { axes: &hidden.axes, rapid: false, bends: true, jerk: false };
    let mut spans = Vec::with_capacity(legs.len());
    let mut tangents = legs.first().map(|leg| end_tangents(&chain, leg));
    for (k, leg) in legs.iter().enumerate() {
        let limits = leg_limits(&chain, leg, &heed);
        let next = legs.get(k + 1);
        let next_tangents = next.map(|leg| end_tangents(&chain, leg));
        let mut exit = 0.0;
        if let (Some(here), Some(there)) = (tangents, next_tangents)
            && !must_stop(leg, next, hidden.rapid_stops)
        {
            let steps = (0..hidden.axes.len())
                .map(|i| family.step[i] / (there[0][i] - here[1][i]).abs().max(1e-12));
            exit = steps.fold(f64::INFINITY, f64::min);
        }
        tangents = next_tangents;
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
    let times = [[family.first_s; 5], [family.second_s; 5]];
    Prepared {
        spans,
        course: Box::new(Programmed { chain, legs, places }),
        generator: Box::new(Trapezoid::default()),
        shaper: Box::new(Averages::new(&times, &times, hidden.sample_s)),
    }
}
