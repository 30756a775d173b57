//! Legs as they are programmed, cut into spans.

use crate::legs::{Chain, Leg, Q, combine};
use crate::limits::{Heed, Limits};
use crate::span::Course;

/// Which leg a span lies on, and where it starts there.
pub(crate) struct Programmed<'a> {
    pub(crate) chain: Chain<'a>,
    pub(crate) legs: &'a [Leg],
    pub(crate) places: Vec<(usize, f64)>,
}

impl Course for Programmed<'_> {
    fn joints(&self, span: usize, s: f64) -> Q {
        let (leg, start) = self.places[span.min(self.places.len() - 1)];
        let leg = &self.legs[leg];
        self.chain.joints(leg.frame, &leg.at((start + s).min(leg.length)))
    }
}

/// Limits of a whole leg.
pub(crate) fn leg_limits(chain: &Chain<'_>, leg: &Leg, heed: &Heed<'_>) -> Limits {
    let heed = Heed { rapid: leg.rapid, ..*heed };
    heed.along(|s| chain.joints(leg.frame, &leg.at(s)), leg.length, leg.parts())
}

/// Derivatives of the joints by length at the start and at the end of a leg.
pub(crate) fn end_tangents(chain: &Chain<'_>, leg: &Leg) -> [Q; 2] {
    let (length, joints) = (leg.length, |s: f64| chain.joints(leg.frame, &leg.at(s)));
    if leg.is_even() {
        let t = combine(&joints(0.0), &joints(length), |a, b| (b - a) / length);
        return [t, t];
    }
    let step = length * 1e-4;
    let slope = |a: f64, b: f64| combine(&joints(a), &joints(b), |p, q| (q - p) / (b - a));
    [slope(0.0, step), slope(length - step, length)]
}

/// Whether a control has to stop between two legs whatever its family.
pub(crate) fn must_stop(leg: &Leg, next: Option<&Leg>, rapid_stops: bool) -> bool {
    leg.stop
        || next.is_none_or(|next| {
            next.only_turns != leg.only_turns || (rapid_stops && next.rapid != leg.rapid)
        })
}
