//! A polyline on the axes as it is, for controls that drive through corners at a speed of their own
//! instead of rounding them: straight legs, the directions before and after each corner.

use super::corner;
use super::grid::{Stretch, flat};
use super::leg::{Leg, Polyline, Vertex};
use super::round::Span;
use crate::kinematics::{AxisPosition, Jet, Kinematics};
use crate::track::Frame;
use geom::Vec3;

/// Largest turn of a rotary axis in one interval, rad (2°): tip control bends the axes' paths.
const TURN_RAD: f64 = 0.035;
/// Most intervals of one leg.
const INTERVALS: f64 = 400.0;

/// Stretches from stop to stop. Every corner is two points at the same parameter.
pub(crate) fn chain(
    path: &Polyline,
    kinematics: &Kinematics,
    stops_at_rapids: bool,
    stop_angle_rad: f64,
) -> Vec<Stretch> {
    let axes = 3 + kinematics.rotary_count();
    let mut out = Vec::new();
    let mut current = Stretch::default();
    for i in 0..path.legs.len() {
        current.add_leg(path, i, kinematics, axes);
        let next = path.legs.get(i + 1);
        if next.is_none_or(|next| stops(path, i, next, (stops_at_rapids, stop_angle_rad))) {
            out.push(std::mem::take(&mut current));
        }
    }
    out
}

/// Whether the tool stands still after leg `i`.
fn stops(
    path: &Polyline,
    i: usize,
    next: &Leg,
    (stops_at_rapids, stop_angle_rad): (bool, f64),
) -> bool {
    let leg = &path.legs[i];
    let told = leg.stop || leg.frame != next.frame;
    if told || (stops_at_rapids && leg.is_rapid() != next.is_rapid()) {
        return true;
    }
    let [a, b, c] = [i, i + 1, i + 2].map(|v| path.vertices[v]);
    if leg.only_turns() != next.only_turns() {
        // speeds of another kind: deg and mm
        return true;
    }
    if leg.only_turns() {
        let way = |from: Vertex, to: Vertex| {
            Vec3::new(to.theta[0] - from.theta[0], to.theta[1] - from.theta[1], 0.0)
        };
        return way(a, b).angle_between(way(b, c)) > stop_angle_rad;
    }
    let jump = ((c.tip - b.tip) / next.length - (b.tip - a.tip) / leg.length).length();
    corner::angle(leg.sharpness(next, jump)) > stop_angle_rad
}

impl Stretch {
    fn add_leg(&mut self, path: &Polyline, i: usize, kinematics: &Kinematics, axes: usize) {
        let leg = &path.legs[i];
        let ends = [&path.vertices[i], &path.vertices[i + 1]];
        let turn = (0..2).map(|k| (ends[1].theta[k] - ends[0].theta[k]).abs()).fold(0.0, f64::max);
        let bent = leg.frame == Frame::Tip && axes > 3;
        let count = if bent { (turn / TURN_RAD).ceil().clamp(1.0, INTERVALS) as usize } else { 1 };
        if axes > 3 {
            let way = (ends[1].tip - ends[0].tip) / leg.length;
            self.ways.extend(std::iter::repeat_n(way, count + 1));
        }
        let from = self.s.last().copied().unwrap_or(0.0);
        for j in 0..=count {
            let t = j as f64 / count as f64;
            self.s.push(if j == count { from + leg.length } else { from + t * leg.length });
            let [at, first, second] = on_axes(ends, leg, t, kinematics);
            self.positions.push(at);
            self.first.extend(flat(&first, axes));
            self.second.extend(flat(&second, axes));
            if j > 0 {
                self.spans.push(Span { leg: i as u32, corner: false });
            }
        }
        // the corner itself: an interval of no length between the last leg and this one
        if self.s.len() > count + 1 {
            let at = self.spans.len() - count;
            self.spans.insert(at, Span { leg: i as u32, corner: true });
        }
    }
}

/// Axis positions and their first two derivatives at the share `t` of a leg.
fn on_axes(ends: [&Vertex; 2], leg: &Leg, t: f64, kinematics: &Kinematics) -> [AxisPosition; 3] {
    let [a, b] = ends;
    let tip = [a.tip.lerp(b.tip, t), (b.tip - a.tip) / leg.length, Vec3::ZERO];
    let theta: [f64; 2] = std::array::from_fn(|k| a.theta[k] + t * (b.theta[k] - a.theta[k]));
    let rate: [f64; 2] = std::array::from_fn(|k| (b.theta[k] - a.theta[k]) / leg.length);
    let theta = [theta, rate, [0.0; 2]];
    super::grid::place(&Jet { tip, theta }, leg.frame, kinematics)
}
