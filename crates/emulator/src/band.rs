//! The path averaged over a window of its length that keeps it within a tolerance band, run at the
//! acceleration that the averaged path asks of the axes, with a horizon of time; a short moving
//! average over time limits the jerk.
//!
//! A mean over the window w leaves a corner of the angle φ by w/4 sin(φ/2), and an arc of radius r by
//! w²/(24 r); a mean over the time T leaves a path by a T²/24 (derived).

use crate::AxisHidden;
use crate::Hidden;
use crate::course::must_stop;
use crate::drive::Prepared;
use crate::legs::{Chain, Leg, Q, combine};
use crate::limits::{Heed, Limits, Points};
use crate::shaper::Averages;
use crate::span::{Course, Span};
use crate::trapezoid::Trapezoid;

/// Parameters of the family.
#[derive(Debug, Clone, PartialEq)]
pub struct Band {
    /// Half width of the band, mm.
    pub tolerance_mm: f64,
    /// The same for the rotary axes, rad.
    pub tolerance_rad: f64,
    /// Longest window of the average along the path, mm or deg.
    pub window: f64,
    /// Length of the average over time, s.
    pub filter_s: f64,
    /// How far ahead in time the path is looked at, s.
    pub horizon_s: f64,
}

/// Share of the tolerance that the average along the path may use; the one over time has the rest.
const PATH_SHARE: f64 = 0.6;
/// Parts in which a smoothed stretch is looked at for its limits.
const PARTS: usize = 6;

/// The averaged path.
struct Averaged<'a> {
    chain: Chain<'a>,
    legs: &'a [Leg],
    /// Window at the start of each leg, and zero at the end of the last.
    windows: Vec<f64>,
    /// Longest window on each leg.
    most: Vec<f64>,
    places: Vec<(usize, f64)>,
}

impl Averaged<'_> {
    fn window(&self, k: usize, s: f64) -> f64 {
        let from_start = self.windows[k].max(2.0 * s);
        let from_end = self.windows[k + 1].max(2.0 * (self.legs[k].length - s));
        from_start.min(from_end).min(self.most[k])
    }

    /// Integral of the program coordinates over the length `left` after `s` on leg `k`.
    fn after(&self, mut k: usize, mut s: f64, mut left: f64) -> Q {
        let mut sum = [0.0; 5];
        loop {
            let leg = &self.legs[k];
            let room = leg.length - s;
            if left <= room || k + 1 == self.legs.len() {
                return add(&sum, leg, s, s + left);
            }
            sum = add(&sum, leg, s, leg.length);
            left -= room;
            k += 1;
            s = 0.0;
        }
    }

    /// Integral of the program coordinates over the length `left` before `s` on leg `k`.
    fn before(&self, mut k: usize, mut s: f64, mut left: f64) -> Q {
        let mut sum = [0.0; 5];
        loop {
            let leg = &self.legs[k];
            if left <= s || k == 0 {
                return add(&sum, leg, s - left, s);
            }
            sum = add(&sum, leg, 0.0, s);
            left -= s;
            k -= 1;
            s = self.legs[k].length;
        }
    }

    /// Mean of the program coordinates over the window about `s` on leg `k`.
    fn mean(&self, k: usize, s: f64) -> Q {
        let leg = &self.legs[k];
        let window = self.window(k, s);
        let inside = 0.5 * window <= s && 0.5 * window <= leg.length - s;
        if window < 1e-9 || (inside && leg.radius().is_infinite()) {
            return leg.at(s);
        }
        let before = self.before(k, s, 0.5 * window);
        let after = self.after(k, s, 0.5 * window);
        combine(&before, &after, |a, b| (a + b) / window)
    }

    fn joints_at(&self, k: usize, s: f64) -> Q {
        let leg = &self.legs[k];
        self.chain.joints(leg.frame, &self.mean(k, s.min(leg.length)))
    }
}

impl Course for Averaged<'_> {
    fn joints(&self, span: usize, s: f64) -> Q {
        let (k, start) = self.places[span.min(self.places.len() - 1)];
        self.joints_at(k, start + s)
    }
}

/// `sum` and the integral of a leg from `a` to `b`.
fn add(sum: &Q, leg: &Leg, a: f64, b: f64) -> Q {
    let part = combine(&leg.integral(b), &leg.integral(a), |x, y| x - y);
    combine(sum, &part, |x, y| x + y)
}

/// Largest window at a corner of which the tangent changes by `change` and turns by `angle`.
fn corner_window(family: &Band, angle: f64, turn_change: f64) -> f64 {
    let tip = PATH_SHARE * 4.0 * family.tolerance_mm;
    let by_tip = tip / (0.5 * angle.min(std::f64::consts::PI)).sin().max(1e-12);
    let by_turn = PATH_SHARE * 8.0 * family.tolerance_rad / turn_change.max(1e-12);
    by_tip.min(by_turn).min(family.window)
}

fn stops(hidden: &Hidden, leg: &Leg, next: Option<&Leg>) -> bool {
    must_stop(leg, next, hidden.rapid_stops) || next.is_some_and(|n| n.frame != leg.frame)
}

/// Two windows on corners a leg apart either do not meet or are the same: a window that changes its
/// length over a corner would leave a corner itself.
fn apart(window: f64, other: f64, length: f64) -> f64 {
    window.min(other.max(2.0 * length - other))
}

/// Windows at the starts of the legs: tolerance at every corner, corners near each other together,
/// nothing across a stop.
fn windows(hidden: &Hidden, family: &Band, legs: &[Leg]) -> (Vec<f64>, Vec<f64>) {
    let arc = |leg: &Leg| (PATH_SHARE * 24.0 * leg.radius() * family.tolerance_mm).sqrt();
    let most: Vec<f64> = legs.iter().map(|leg| arc(leg).min(family.window)).collect();
    let mut angles = vec![0.0; legs.len() + 1];
    let mut turns = vec![0.0; legs.len() + 1];
    let mut open = vec![false; legs.len() + 1];
    for (k, pair) in legs.windows(2).enumerate() {
        let change = combine(&pair[1].tangent(0.0), &pair[0].tangent(pair[0].length), |a, b| a - b);
        open[k + 1] = !stops(hidden, &pair[0], Some(&pair[1]));
        turns[k + 1] = change[3].hypot(change[4]);
        angles[k + 1] = if pair[0].only_turns { 0.0 } else { pair[0].angle_to(&pair[1]) };
    }
    let mut windows = vec![0.0; legs.len() + 1];
    for k in (1..legs.len()).filter(|k| open[*k]) {
        let (mut angle, mut turn) = (angles[k], turns[k]);
        let mut gather = |near: &mut dyn Iterator<Item = (usize, usize)>| {
            let mut distance = 0.0;
            for (leg, corner) in near {
                distance += legs[leg].length;
                if distance > 0.5 * family.window || !open[corner] {
                    break;
                }
                angle += angles[corner];
                turn += turns[corner];
            }
        };
        gather(&mut (k..legs.len()).map(|leg| (leg, leg + 1)));
        gather(&mut (0..k).rev().map(|leg| (leg, leg)));
        windows[k] = corner_window(family, angle, turn).min(most[k]).min(most[k - 1]);
    }
    for k in 1..=legs.len() {
        windows[k] = apart(windows[k], windows[k - 1], legs[k - 1].length);
    }
    for k in (0..legs.len()).rev() {
        windows[k] = apart(windows[k], windows[k + 1], legs[k].length);
    }
    (windows, most)
}

/// Axes that bend no more than the average over time may leave the path.
fn kept_by_filter(hidden: &Hidden, family: &Band) -> Vec<AxisHidden> {
    let share = (1.0 - PATH_SHARE) * 24.0 / (family.filter_s * family.filter_s);
    let tolerance = |i: usize| if i < 3 { family.tolerance_mm } else { family.tolerance_rad };
    let least = |i: usize, accel: f64| accel.min(share * tolerance(i));
    let keep = |(i, axis): (usize, &AxisHidden)| AxisHidden {
        accel: least(i, axis.accel),
        rapid_accel: least(i, axis.rapid_accel),
        ..*axis
    };
    hidden.axes.iter().enumerate().map(keep).collect()
}

pub(crate) fn prepare<'a>(hidden: &'a Hidden, family: &Band, legs: &'a [Leg]) -> Prepared<'a> {
    let chain = Chain::of(hidden);
    let (windows, most) = windows(hidden, family, legs);
    let mut course = Averaged { chain, legs, windows, most, places: Vec::new() };
    let kept = kept_by_filter(hidden, family);
    let mut spans: Vec<Span> = Vec::new();
    for (k, leg) in legs.iter().enumerate() {
        let next = legs.get(k + 1);
        let stop = stops(hidden, leg, next);
        let half = |window: f64| (0.5 * window).min(0.5 * leg.length);
        let (first, last) = (half(course.windows[k]), half(course.windows[k + 1]));
        let parts = [(0.0, first), (first, leg.length - first - last), (leg.length - last, last)];
        let there = |(_, (_, length)): &(usize, (f64, f64))| *length > 1e-9;
        for (part, (start, length)) in parts.into_iter().enumerate().filter(there) {
            let bent = part != 1;
            let limits = limits(hidden, &kept, &course, k, start, length, bent);
            let neighbour = match part {
                0 => legs[k.max(1) - 1].feed,
                2 => next.map_or(f64::INFINITY, |n| n.feed),
                _ => f64::INFINITY,
            };
            let feed = leg.feed.min(neighbour);
            spans.push(Span {
                length,
                cap: feed.min(limits.speed).min(2.0 * limits.accel * family.horizon_s),
                accel: limits.accel,
                jerk: limits.jerk,
                exit: f64::INFINITY,
                leg: if part == 2 { k + 1 } else { k },
                ends: None,
                rapid: leg.rapid,
            });
            course.places.push((k, start));
        }
        if let Some(end) = spans.last_mut() {
            end.exit = if stop { 0.0 } else { f64::INFINITY };
            end.ends = Some(k);
        }
    }
    let times = [[family.filter_s; 5]];
    Prepared {
        spans,
        course: Box::new(course),
        generator: Box::new(Trapezoid::default()),
        shaper: Box::new(Averages::new(&times, &times, hidden.sample_s)),
    }
}

fn limits(
    hidden: &Hidden,
    kept: &[AxisHidden],
    course: &Averaged<'_>,
    k: usize,
    start: f64,
    length: f64,
    bent: bool,
) -> Limits {
    let leg = &course.legs[k];
    let heed = Heed { axes: &hidden.axes, rapid: leg.rapid, bends: true, jerk: false };
    let parts = if bent { leg.parts().max(PARTS) } else { leg.parts() };
    let points = Points::on(|s| course.joints_at(k, start + s), length, parts);
    let all = heed.through(&points);
    let within = Heed { axes: kept, ..heed }.through(&points);
    Limits { speed: all.speed.min(within.speed), ..all }
}
