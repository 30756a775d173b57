//! Caps of a path that is averaged over a length.
//!
//! A mean over the length w leaves a corner that turns by φ by w/4 sin(φ/2), an arc of radius r by
//! w²/(24 r), and its second derivative is the change of direction from w/2 before to w/2 behind, over
//! w (all derived). A corner gets the longest w that keeps the tolerance for all that turns near it;
//! averages about neighbouring corners are alike or do not meet.

use super::caps::{Cap, Caps};
use super::limit::Limit;
use crate::{AxisPosition, Corner, Setting};

/// Least sine and turn that count.
const NONE: f64 = 1e-12;
/// Longest length of the average where a file does not say, mm: common practice, no source.
const MOST_MM: f64 = 1.0;
/// Parts in which the average beside a joint is looked at.
const PARTS: usize = 3;

/// A joint between two blocks.
struct Joint {
    /// Interval of no length that it is.
    interval: usize,
    at: f64,
    turn_rad: f64,
    /// Change of the rotary axes' direction.
    rotary: f64,
}

/// The joints of a stretch, and what lies between them.
struct Joints<'a, 'b> {
    caps: &'a Caps<'b>,
    all: Vec<Joint>,
    /// Sums of turns and of rotary changes before each joint.
    sums: Vec<[f64; 2]>,
    most: f64,
}

impl Caps<'_> {
    /// The caps of the path's average, at the intervals that are joints of blocks.
    pub(super) fn averaged(&self) -> Vec<(usize, Cap)> {
        if self.chain.route.control.corner != Corner::Average {
            return Vec::new();
        }
        let joints = Joints::of(self);
        let lengths = joints.lengths();
        let cap = |(k, joint): (usize, &Joint)| {
            let sides = joints.speeds(k, &lengths);
            let speed = sides[0].min(sides[1]);
            let (limit, zone) = (Limit::CornerTolerance, 0.5 * lengths[k]);
            (joint.interval, Cap { speed, limit, zone, sides: Some(sides), shortens: 1.0 })
        };
        joints.all.iter().enumerate().map(cap).collect()
    }
}

impl<'a, 'b> Joints<'a, 'b> {
    fn of(caps: &'a Caps<'b>) -> Self {
        let chain = caps.chain;
        let spans = &chain.stretch.spans;
        let joint = |i: usize| chain.leg(i).run != chain.leg(i - 1).run;
        let all: Vec<Joint> = (1..spans.len())
            .filter(|&i| spans[i].corner && joint(i))
            .map(|interval| {
                let [turn_rad, rotary] = caps.turns(interval);
                Joint { interval, at: chain.stretch.s[interval], turn_rad, rotary }
            })
            .collect();
        let mut sums = vec![[0.0; 2]];
        for (k, joint) in all.iter().enumerate() {
            sums.push([sums[k][0] + joint.turn_rad, sums[k][1] + joint.rotary]);
        }
        let most = chain.dynamics.setting(Setting::AverageMost).unwrap_or(MOST_MM);
        Self { caps, all, sums, most }
    }

    /// Length of the average at every joint.
    fn lengths(&self) -> Vec<f64> {
        let s = &self.caps.chain.stretch.s;
        let mut lengths: Vec<f64> = (0..self.all.len()).map(|k| self.alone(k)).collect();
        let (first, last) = (s[0], s[s.len() - 1]);
        let apart = |own: f64, other: f64, between: f64| own.min(other.max(2.0 * between - other));
        let mut before = (0.0, first);
        for (k, joint) in self.all.iter().enumerate() {
            lengths[k] = apart(lengths[k], before.0, joint.at - before.1);
            before = (lengths[k], joint.at);
        }
        let mut after = (0.0, last);
        for (k, joint) in self.all.iter().enumerate().rev() {
            lengths[k] = apart(lengths[k], after.0, after.1 - joint.at);
            after = (lengths[k], joint.at);
        }
        lengths
    }

    /// Length of the average at a joint by all that turns near it.
    fn alone(&self, k: usize) -> f64 {
        let (joint, dynamics) = (&self.all[k], self.caps.chain.dynamics);
        let near = 0.5 * self.most;
        let low = self.all.partition_point(|j| j.at < joint.at - near);
        let high = self.all.partition_point(|j| j.at <= joint.at + near);
        let [turn, rotary] = [0, 1].map(|i| self.sums[high][i] - self.sums[low][i]);
        let half = 0.5 * turn.min(std::f64::consts::PI);
        let by_tip = 4.0 * dynamics.path_tolerance_mm / half.sin().max(NONE);
        let by_turn = 8.0 * self.caps.turn_tolerance() / rotary.max(NONE);
        let arc = |interval: usize| {
            let radius = self.caps.chain.leg(interval).radius();
            (24.0 * radius * dynamics.path_tolerance_mm).sqrt()
        };
        let arcs = arc(joint.interval - 1).min(arc(joint.interval + 1));
        by_tip.min(by_turn).min(arcs).min(self.most)
    }

    /// Speeds at which the axes turn the average before and behind a joint, up to half of the blocks
    /// there: by the mean bend of each of some parts. Away from a joint the average gets longer as long as
    /// it does not meet the joint, and shorter so that it does not meet the next.
    fn speeds(&self, k: usize, lengths: &[f64]) -> [f64; 2] {
        let (s, at, length) = (&self.caps.chain.stretch.s, self.all[k].at, lengths[k]);
        if length <= 0.0 {
            return [f64::INFINITY; 2];
        }
        let other =
            |k: Option<usize>, end: f64| k.map_or((end, 0.0), |k| (self.all[k].at, lengths[k]));
        let before = other(k.checked_sub(1), s[0]);
        let after = other(Some(k + 1).filter(|k| *k < self.all.len()), s[s.len() - 1]);
        [before, after].map(|(end, beyond)| {
            let way = end - at;
            let room = 0.5 * way.abs().min(length);
            let step = (room / PARTS as f64).max(NONE);
            let slope = |i: usize| {
                let off = step * i as f64;
                let length = length.max(2.0 * off).min(beyond.max(2.0 * (way.abs() - off)));
                self.slope(at + way.signum() * off, length)
            };
            let slopes: [[f64; 5]; PARTS + 1] = std::array::from_fn(slope);
            let speed = |pair: &[[f64; 5]]| {
                let bend = std::array::from_fn(|k| (pair[1][k] - pair[0][k]) / step);
                self.caps.bend_speed(self.all[k].interval, &bend)
            };
            slopes.windows(2).map(speed).fold(f64::INFINITY, f64::min)
        })
    }

    /// Direction of the path's average over a length about a place.
    fn slope(&self, at: f64, length: f64) -> [f64; 5] {
        let [from, to] = [-0.5, 0.5].map(|side| self.place(at + side * length));
        std::array::from_fn(|k| (to[k] - from[k]) / length)
    }

    /// Positions of the axes at a length.
    fn place(&self, at: f64) -> [f64; 5] {
        let stretch = self.caps.chain.stretch;
        let next = stretch.s.partition_point(|s| *s <= at).clamp(1, stretch.s.len() - 1);
        let flat = |i: usize| {
            let AxisPosition { linear, rotary } = stretch.positions[i];
            [linear.x, linear.y, linear.z, rotary[0], rotary[1]]
        };
        let (a, b) = (flat(next - 1), flat(next));
        let [low, high] = [stretch.s[next - 1], stretch.s[next]];
        let share = if high > low { ((at - low) / (high - low)).clamp(0.0, 1.0) } else { 1.0 };
        std::array::from_fn(|k| a[k] + share * (b[k] - a[k]))
    }
}
