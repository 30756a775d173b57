//! The drive of a control whose interpolator knows no acceleration: the feed, a share of it near
//! corners, and axes that follow by a filter or a lag.
//!
//! The share falls in straight lines from 1 at the angle up to which the feed is kept over those
//! at 30, 90 and 180 degrees.

use super::chain::Chain;
use super::drive::{BLOCK_TIME, Driven};
use super::limit::Limit;
use super::rest::{Behind, filters_s, running_s};
use crate::route::leg::Leg;
use crate::{AxisLimit, Dynamics, Ramp, Setting};
use std::ops::Range;

/// Where a file does not say (common practice, no source): the angle up to which the feed is kept,
/// deg; the shares; the length near a corner, mm.
const FROM_DEG: f64 = 5.0;
const SHARES: [f64; 3] = [0.7, 0.3, 0.2];
const ZONE_MM: f64 = 0.5;
const ANGLES_DEG: [f64; 3] = [30.0, 90.0, 180.0];

/// The table of shares and its zone.
struct Table {
    knots: [[f64; 2]; 4],
    zone_mm: f64,
}

impl Table {
    fn of(dynamics: &Dynamics) -> Self {
        let from = dynamics.setting(Setting::ShareFrom).unwrap_or(FROM_DEG).min(29.0);
        let settings = [Setting::Share30, Setting::Share90, Setting::Share180];
        let share = |i: usize| dynamics.setting(settings[i]).unwrap_or(SHARES[i]).min(1.0);
        let knot = |i: usize| [ANGLES_DEG[i], share(i)];
        Self {
            knots: [[from, 1.0], knot(0), knot(1), knot(2)],
            zone_mm: dynamics.setting(Setting::Zone).unwrap_or(ZONE_MM),
        }
    }

    fn share(&self, angle_deg: f64) -> f64 {
        let after = self.knots.partition_point(|[a, _]| *a <= angle_deg);
        if after == 0 || after == self.knots.len() {
            return self.knots[after.saturating_sub(1)][1];
        }
        let [[a, low], [b, high]] = [self.knots[after - 1], self.knots[after]];
        low + (high - low) * (angle_deg - a) / (b - a)
    }
}

/// Drives one stretch.
pub(super) fn drive(chain: &Chain<'_>) -> Driven {
    let table = Table::of(chain.dynamics);
    let spans = &chain.stretch.spans;
    let mut driven = Driven { time_s: vec![0.0; spans.len()], limit: Vec::new(), after_s: 0.0 };
    driven.limit.resize(spans.len(), Limit::ProgrammedFeed);
    let filters_s =
        if chain.leg(0).is_rapid() { rapids_s(chain) } else { filters_s(chain.dynamics) };
    let mut behind = Behind::new(filters_s);
    let mut before = 1.0;
    for range in moves(chain) {
        let rapid = chain.leg(range.start).is_rapid();
        let after = if range.end < spans.len() && !rapid {
            table.share(chain.turn_rad(range.end).to_degrees())
        } else {
            1.0
        };
        let from = chain.stretch.s[range.start];
        let whole = chain.stretch.s[range.end] - from;
        let zone = table.zone_mm.min(0.5 * whole);
        for i in range.filter(|&i| !spans[i].corner) {
            let (speed, limit) = speed(chain, i, chain.leg(i));
            let [a, b] = [i, i + 1].map(|p| chain.stretch.s[p] - from);
            let direction = chain.direction(i);
            let parts = [
                ([0.0, zone], before),
                ([zone, whole - zone], 1.0),
                ([whole - zone, whole], after),
            ];
            for ([low, high], share) in parts {
                let time_s = (b.min(high) - a.max(low)).max(0.0) / (share * speed);
                driven.time_s[i] += time_s;
                behind.go(&direction, time_s, share * speed, 0.0);
            }
            let slow = (b - a) / speed < 0.5 * driven.time_s[i];
            driven.limit[i] = if slow { Limit::CornerStep } else { limit };
        }
        before = after;
    }
    driven.after_s = match chain.route.control.ramp {
        Ramp::Jerk => 0.0,
        Ramp::Lag => behind.settled_s(chain),
        Ramp::Filter => {
            let moving = (0..spans.len()).rev().filter(|&i| !spans[i].corner);
            running_s(filters_s, moving.map(|i| (chain.direction(i), driven.time_s[i])))
        }
    };
    driven
}

/// Filters, or constants of the lag, of the axes at a rapid, s: the time in which each reaches its
/// speed.
fn rapids_s(chain: &Chain<'_>) -> [f64; 5] {
    let axes = &chain.dynamics.axes;
    std::array::from_fn(|k| axes.get(k).map_or(f64::MIN_POSITIVE, |a| a.speed / a.accel))
}

/// The intervals of each programmed move; the corner between two moves is in neither.
fn moves(chain: &Chain<'_>) -> Vec<Range<usize>> {
    let spans = &chain.stretch.spans;
    let mut out: Vec<Range<usize>> = Vec::new();
    for i in 0..spans.len() {
        let goes_on = i > 0 && chain.leg(i).run == chain.leg(i - 1).run;
        match out.last_mut() {
            Some(last) if goes_on => last.end = i + 1,
            _ => {
                let start = if spans[i].corner { i + 1 } else { i };
                out.push(start..i + 1);
            }
        }
    }
    out
}

/// Speed on a leg, and what holds it.
fn speed(chain: &Chain<'_>, interval: usize, leg: &Leg) -> (f64, Limit) {
    let (mut speed, kind) = chain.route.cap(chain.stretch.spans[interval].leg, chain.dynamics);
    let mut limit = if kind == BLOCK_TIME { Limit::BlockTime } else { Limit::ProgrammedFeed };
    // one speed for a whole move, also where its axes do not run evenly
    let bent = chain.bents.get(interval).and_then(Option::as_ref);
    let most = bent.map_or_else(|| chain.direction(interval), |bent| bent.first);
    for (axis, d) in chain.dynamics.axes.iter().zip(most) {
        if axis.speed / d.abs() < speed {
            (speed, limit) = (axis.speed / d.abs(), Limit::Axis(axis.name, AxisLimit::Speed));
        }
    }
    if leg.bow > 0.0 {
        let most = (chain.dynamics.radial_accel * leg.radius()).sqrt();
        if most < speed {
            (speed, limit) = (most, Limit::RadialAccel);
        }
    }
    (speed, limit)
}
