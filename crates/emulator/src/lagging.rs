//! Feed stepped by tables, smoothed afterwards: the interpolator knows no acceleration, the axes'
//! time constants do the rest (acceleration after interpolation, exponential or bell-shaped).

use crate::Hidden;
use crate::course::{Programmed, leg_limits, must_stop};
use crate::drive::{Cursor, Generator, Prepared, Step};
use crate::legs::{Chain, Leg};
use crate::limits::Heed;
use crate::shaper::{Averages, Lags, Shaper};
use crate::span::Span;

/// Parameters of the family.
#[derive(Debug, Clone, PartialEq)]
pub struct Lagging {
    /// Time constant of each axis at a feed, s.
    pub feed_tau_s: [f64; 5],
    /// Time constant of each axis at a rapid, s.
    pub rapid_tau_s: [f64; 5],
    /// Whether the smoothing is bell-shaped (two averages) and not exponential.
    pub bell: bool,
    /// Angle of a corner in rad and the share of the feed that it is passed with, by rising angle.
    pub corner_share: Vec<[f64; 2]>,
    /// Length before and after a corner on which the share holds, mm or deg.
    pub zone: f64,
    /// Acceleration towards the centre that an arc may take, mm/s².
    pub arc_accel: f64,
}

impl Lagging {
    /// Share of the feed at a corner of that angle, between the entries of the table.
    fn share(&self, angle: f64) -> f64 {
        let after = self.corner_share.partition_point(|[a, _]| *a <= angle);
        match (self.corner_share.get(after.wrapping_sub(1)), self.corner_share.get(after)) {
            (Some([a, low]), Some([b, high])) => low + (high - low) * (angle - a) / (b - a),
            (Some([_, share]), None) | (None, Some([_, share])) => *share,
            (None, None) => 1.0,
        }
    }
}

/// Runs every span at its speed.
struct Steady;

impl Generator for Steady {
    fn step(&mut self, at: &mut Cursor, spans: &[Span], _: usize, left: f64) -> Step {
        let span = &spans[at.span];
        at.v = span.cap;
        let to_end = (span.length - at.s).max(0.0) / span.cap;
        if to_end <= left {
            at.s = span.length;
            return Step { used_s: to_end, ended: true };
        }
        at.s += span.cap * left;
        Step { used_s: left, ended: false }
    }
}

pub(crate) fn prepare<'a>(hidden: &'a Hidden, family: &Lagging, legs: &'a [Leg]) -> Prepared<'a> {
    let chain = Chain::of(hidden);
    let mut spans = Vec::new();
    let mut places = Vec::new();
    let mut share_before = 1.0;
    for (k, leg) in legs.iter().enumerate() {
        let next = legs.get(k + 1);
        let stop = must_stop(leg, next, true);
        let share_after = match next {
            Some(next) if !stop && !leg.rapid => family.share(leg.angle_to(next)),
            _ => 1.0,
        };
        let zone = family.zone.min(0.5 * leg.length);
        let parts = [(zone, share_before), (leg.length - 2.0 * zone, 1.0), (zone, share_after)];
        let cap = speed(hidden, family, &chain, leg);
        let mut start = 0.0;
        for (part, (length, share)) in parts.into_iter().enumerate() {
            let ends = part == 2;
            spans.push(Span {
                length,
                cap: cap * share,
                accel: f64::INFINITY,
                jerk: f64::INFINITY,
                exit: if ends && stop { 0.0 } else { f64::INFINITY },
                leg: k,
                ends: ends.then_some(k),
                rapid: leg.rapid,
            });
            places.push((k, start));
            start += length;
        }
        share_before = share_after;
    }
    Prepared {
        spans,
        course: Box::new(Programmed { chain, legs, places }),
        generator: Box::new(Steady),
        shaper: shaper(hidden, family),
    }
}

fn speed(hidden: &Hidden, family: &Lagging, chain: &Chain<'_>, leg: &Leg) -> f64 {
    let heed = Heed { axes: &hidden.axes, rapid: false, bends: false, jerk: false };
    let cap = leg.feed.min(leg_limits(chain, leg, &heed).speed);
    cap.min((family.arc_accel * leg.radius()).sqrt())
}

fn shaper(hidden: &Hidden, family: &Lagging) -> Box<dyn Shaper> {
    let (feed, rapid) = (family.feed_tau_s, family.rapid_tau_s);
    if !family.bell {
        return Box::new(Lags::new(feed, rapid, hidden.sample_s));
    }
    let stages = |t: [f64; 5]| [t, t.map(|t| 0.5 * t)];
    Box::new(Averages::new(&stages(feed), &stages(rapid), hidden.sample_s))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_corner_takes_its_share_from_the_table() {
        let family = Lagging {
            feed_tau_s: [0.03; 5],
            rapid_tau_s: [0.1; 5],
            bell: false,
            corner_share: vec![[0.1, 1.0], [0.5, 0.6], [1.5, 0.2]],
            zone: 1.0,
            arc_accel: 1000.0,
        };
        for (angle, share) in [(0.0, 1.0), (0.3, 0.8), (0.5, 0.6), (1.0, 0.4), (3.0, 0.2)] {
            assert!((family.share(angle) - share).abs() < 1e-12, "{angle}");
        }
    }
}
