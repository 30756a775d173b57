//! The rounded path on the axes of the machine, on a grid fine enough for the motion planner.

use super::round::{Rounded, Span};
use super::spline::{Knot, knots};
use crate::kinematics::{AxisPosition, Jet, Kinematics};
use crate::track::Frame;
use geom::Vec3;
use rayon::prelude::*;

/// Longest interval of the grid, mm.
const LONGEST_MM: f64 = 1.0;
/// Largest turn of a rotary axis in one interval, rad (2°).
const TURN_RAD: f64 = 0.035;
/// An interval is longer than its neighbour by at most about this share of the way to it.
const GROWTH: f64 = 0.4;
/// Interval at a stop where one is asked for, mm.
const STOP_MM: f64 = 0.004;
/// Intervals of a span that rounds a corner, and of a span that stands alone between stops.
const CORNER_INTERVALS: f64 = 3.0;

/// A stretch from rest to rest as the motion planner takes it.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Stretch {
    /// Parameter of each point, mm.
    pub(crate) s: Vec<f64>,
    /// dq/ds, point by point, all axes.
    pub(crate) first: Vec<f64>,
    /// d²q/ds².
    pub(crate) second: Vec<f64>,
    /// What each interval belongs to.
    pub(crate) spans: Vec<Span>,
    /// Axis positions at the points.
    pub(crate) positions: Vec<AxisPosition>,
    /// Derivative of the programmed linear coordinates by the parameter, point by point; empty where the
    /// linear axes go alike, as no rotary axis turns, and where corners are rounded.
    pub(crate) ways: Vec<Vec3>,
}

/// Puts a rounded path on the axes.
///
/// `near_stop` asks for short intervals at both ends, as a planner without jerk needs them there.
pub(crate) fn stretch(
    rounded: &Rounded,
    frame: Frame,
    kinematics: &Kinematics,
    near_stop: bool,
) -> Stretch {
    let knots = knots(&rounded.s, &rounded.points);
    let (points, spans) = divide(&knots, &rounded.spans, near_stop.then_some(STOP_MM));
    let axes = 3 + kinematics.rotary_count();
    let on_axes: Vec<[AxisPosition; 3]> =
        points.par_iter().with_min_len(1024).map(|knot| on_axes(knot, frame, kinematics)).collect();
    let order = |o: usize| on_axes.iter().flat_map(move |p| flat(&p[o], axes)).collect();
    Stretch {
        s: points.iter().map(|k| k.s).collect(),
        first: order(1),
        second: order(2),
        spans,
        positions: on_axes.iter().map(|p| p[0]).collect(),
        ways: Vec::new(),
    }
}

/// The first `axes` coordinates.
pub(crate) fn flat(at: &AxisPosition, axes: usize) -> impl Iterator<Item = f64> + use<> {
    let all = [at.linear.x, at.linear.y, at.linear.z, at.rotary[0], at.rotary[1]];
    all.into_iter().take(axes)
}

/// Axis positions, dq/ds and d²q/ds² at a point of the curve.
fn on_axes(knot: &Knot, frame: Frame, kinematics: &Kinematics) -> [AxisPosition; 3] {
    let jet = Jet {
        tip: knot.c.map(|c| Vec3::new(c[0], c[1], c[2])),
        theta: knot.c.map(|c| [c[3], c[4]]),
    };
    place(&jet, frame, kinematics)
}

/// Axis positions of a jet and their derivatives.
pub(crate) fn place(jet: &Jet, frame: Frame, kinematics: &Kinematics) -> [AxisPosition; 3] {
    let linear = match frame {
        Frame::Tip => kinematics.linear_jet(jet).linear,
        Frame::Axes => jet.tip,
    };
    std::array::from_fn(|o| AxisPosition {
        linear: linear[o],
        rotary: kinematics.sense(jet.theta[o]),
    })
}

/// Divides the spans between the knots.
fn divide(knots: &[Knot], spans: &[Span], stop: Option<f64>) -> (Vec<Knot>, Vec<Span>) {
    let mut points = Vec::with_capacity(knots.len() + knots.len() / 4);
    let mut kinds = Vec::with_capacity(points.capacity());
    let length = |i: usize| knots[i + 1].s - knots[i].s;
    let own = |i: usize| if spans[i].corner { length(i) / CORNER_INTERVALS } else { length(i) };
    points.push(knots[0]);
    for i in 0..spans.len() {
        let before = i.checked_sub(1).map(own).or(stop);
        let after = (i + 1 < spans.len()).then(|| own(i + 1)).or(stop);
        let ends = [before, after];
        let (from, to) = (&knots[i], &knots[i + 1]);
        cuts(length(i), own(i), ends, turn_most(from, to), |x| {
            points.push(from.towards(to, x / length(i)));
            kinds.push(spans[i]);
        });
        points.push(*to);
        kinds.push(spans[i]);
    }
    (points, kinds)
}

/// Longest interval by turning of the rotary axes.
fn turn_most(from: &Knot, to: &Knot) -> f64 {
    let rate = |k: usize| from.c[1][k].abs().max(to.c[1][k].abs());
    TURN_RAD / rate(3).max(rate(4))
}

/// Calls `at` with the places inside a span of `length` where the grid has points: intervals no
/// longer than `own` and `most`, growing away from shorter neighbours.
fn cuts(length: f64, own: f64, ends: [Option<f64>; 2], most: f64, mut at: impl FnMut(f64)) {
    let most = own.min(most).min(LONGEST_MM);
    let wanted = |x: f64| {
        let near = ends[0].map_or(most, |h| h + GROWTH * x);
        let far = ends[1].map_or(most, |h| h + GROWTH * (length - x));
        most.min(near).min(far)
    };
    if length <= 1.5 * wanted(0.0).min(wanted(length)) {
        return;
    }
    let mut x = 0.0;
    loop {
        x += wanted(x);
        if length - x < 0.5 * wanted(x) {
            return;
        }
        at(x);
    }
}
