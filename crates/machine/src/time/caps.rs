//! What bounds the speed and the acceleration along a path whose corners are kept.
//!
//! At a corner of jump δ of dq/ds the speed is the least step_k/|δ_k|, or that of the arc that would
//! round the corner ([`Arc`]). A polyline that stands for a curve has the curvature δ over the length
//! of its legs, so that no axis may exceed a_k there either: v² ≤ a_k ℓ/|δ_k|. All derived.

use super::chain::Chain;
use super::limit::Limit;
use crate::dynamics::AxisLimit;
use crate::route::corner::{self, Arc};
use crate::route::leg::Leg;
use crate::{AxisName, Corner, Setting};
use geom::tolerance::PARALLEL_RAD;
use units::convert::deg_to_rad;

/// Jump of the direction up to which a joint may belong to a curve.
const BENDS: f64 = 0.5;
/// Jump of the direction below which an arc meets its neighbour without a corner: what arcs written
/// to a thousandth of a millimetre leave.
const ROUND: f64 = 2e-3;
/// Lever at which rotary axes may be rounded like the tip, mm.
const TURN_LEVER_MM: f64 = 10.0;

/// A cap on the speed at a point, and whose it is.
#[derive(Debug, Clone, Copy)]
pub(super) struct Cap {
    pub(super) speed: f64,
    pub(super) limit: Limit,
    /// Length on both sides on which it holds, mm.
    pub(super) zone: f64,
    /// Where the path bends on that length, so that less acceleration is left along it: its own speeds
    /// there, before and behind.
    pub(super) sides: Option<[f64; 2]>,
    /// Length of the rounded path over that of the corner that it cuts.
    pub(super) shortens: f64,
}

impl Cap {
    const NONE: Self = Self {
        speed: f64::INFINITY,
        limit: Limit::StandStill,
        zone: 0.0,
        sides: None,
        shortens: 1.0,
    };

    fn lower(&mut self, speed: f64, limit: Limit) {
        if speed < self.speed {
            *self = Self { speed, limit, ..*self };
        }
    }
}

/// The caps of one stretch.
pub(super) struct Caps<'a> {
    pub(super) chain: &'a Chain<'a>,
}

impl Caps<'_> {
    fn axes(&self) -> usize {
        self.chain.dynamics.axes.len()
    }

    fn leg(&self, interval: usize) -> &Leg {
        self.chain.leg(interval)
    }

    /// dq/ds of axis `k` at a point.
    fn direction(&self, point: usize, k: usize) -> f64 {
        self.chain.stretch.first[point * self.axes() + k]
    }

    /// Largest |dq/ds| of axis `k` on an interval; on an arc that of the whole arc, which has one
    /// acceleration.
    fn most(&self, interval: usize, k: usize) -> f64 {
        if let Some(bent) = self.chain.bents.get(interval).and_then(Option::as_ref) {
            return bent.first[k];
        }
        self.direction(interval, k).abs().max(self.direction(interval + 1, k).abs())
    }

    /// The least of a quantity of the axes, and whose it is; an axis at rest gives infinity.
    fn least(&self, of: impl Fn(usize) -> f64) -> (f64, usize) {
        let mut best = (f64::INFINITY, 0);
        for k in 0..self.axes() {
            let value = of(k);
            if value < best.0 {
                best = (value, k);
            }
        }
        best
    }

    fn of_axis(&self, k: usize, limit: AxisLimit) -> Limit {
        Limit::Axis(self.chain.dynamics.axes.get(k).map_or(AxisName::X, |a| a.name), limit)
    }

    /// Largest acceleration along the path on an interval, and what sets it.
    pub(super) fn acceleration(&self, interval: usize) -> (f64, Limit) {
        let dynamics = self.chain.dynamics;
        let (accel, k) = self.least(|k| dynamics.axes[k].accel / self.most(interval, k));
        let accel = accel * self.chain.accel_share(interval);
        if dynamics.path_accel < accel {
            return (dynamics.path_accel, Limit::PathAccel);
        }
        (accel, self.of_axis(k, AxisLimit::Acceleration))
    }

    /// Largest jerk along the path on an interval.
    pub(super) fn jerk(&self, interval: usize) -> f64 {
        let (jerk, _) = self.least(|k| self.chain.dynamics.axes[k].jerk / self.most(interval, k));
        jerk * self.chain.arc_share(interval)
    }

    /// Largest speed along the path by the speeds of the axes.
    pub(super) fn axis_speed(&self, interval: usize) -> (f64, Limit) {
        let axes = &self.chain.dynamics.axes;
        let (speed, k) = self.least(|k| axes[k].speed / self.most(interval, k));
        (speed, self.of_axis(k, AxisLimit::Speed))
    }

    /// Caps at the points; `ramp_s` is the time in which acceleration is reached.
    pub(super) fn at_points(&self, ramp_s: f64) -> Vec<Cap> {
        let stretch = self.chain.stretch;
        let mut caps = vec![Cap::NONE; stretch.s.len()];
        for (i, span) in stretch.spans.iter().enumerate() {
            if span.corner {
                let cap = self.corner(i);
                caps[i] = cap;
                caps[i + 1] = cap;
            }
        }
        for (i, averaged) in self.averaged() {
            let speed = averaged.speed.min(caps[i].speed);
            let limit = if averaged.speed <= speed { averaged.limit } else { caps[i].limit };
            caps[i] = Cap { speed, limit, ..averaged };
            caps[i + 1] = caps[i];
        }
        if self.chain.dynamics.look_ahead.is_finite() {
            self.look_ahead(&mut caps, ramp_s);
        }
        caps
    }

    /// What of the jump of dq/ds at interval `i` is a corner: all but what the pieces of arcs turn at
    /// their joints. Gives that of every axis and the size of its linear part.
    fn sharp(&self, i: usize, jump: &[f64; 5]) -> ([f64; 5], f64) {
        let (before, after) = (self.leg(i - 1), self.leg(i));
        if before.bow == 0.0 && after.bow == 0.0 {
            return (*jump, linear_size(jump));
        }
        let mut sharp = *jump;
        if self.chain.stretch.positions[i].rotary == [0.0; 2] {
            sharp[..3].copy_from_slice(&self.chain.jump(i).to_array());
        } else {
            let whole = linear_size(jump);
            let share = before.sharpness(after, whole) / whole.max(f64::MIN_POSITIVE);
            sharp[..3].iter_mut().for_each(|d| *d *= share);
        }
        let size = linear_size(&sharp);
        if size < ROUND { ([0.0, 0.0, 0.0, sharp[3], sharp[4]], 0.0) } else { (sharp, size) }
    }

    /// The cap at the corner that is interval `i`.
    fn corner(&self, i: usize) -> Cap {
        let (before, after) = (self.leg(i - 1), self.leg(i));
        let mut cap = Cap::NONE;
        let jump = self.jump(i);
        let (corner, sharp) = self.sharp(i, &jump);
        let control = &self.chain.route.control;
        let (short, block) = (before.length.min(after.length), before.block.min(after.block));
        if sharp == 0.0 {
            self.curve(&mut cap, short, &jump);
            if self.chain.jerk && before.bow > 0.0 && after.bow > 0.0 {
                cap.lower(self.arc_by_jerk(i, short, &jump), Limit::RadialAccel);
            }
        } else if !matches!(control.corner, Corner::Spread | Corner::Average) {
            self.curve(&mut cap, self.facet() * short, &jump);
        }
        let (step, _) = self.least(|k| self.step(k) / corner[k].abs());
        let passes = |speed: f64| if control.step_passes { speed.max(step) } else { speed };
        match control.corner {
            Corner::SpeedStep => cap.lower(step, Limit::CornerStep),
            Corner::Arc | Corner::Blend if sharp > PARALLEL_RAD => {
                let arc = self.arc(&corner, sharp, (sharp, 0.5 * block));
                cap.lower(passes(arc), Limit::CornerTolerance);
            }
            Corner::Spread if corner.iter().any(|d| *d != 0.0) => {
                let ends = self.ends(i, &corner);
                let spread = self.spread(i, &ends, self.programmed(i, sharp), block);
                let speed = passes(spread.speed).min(cap.speed);
                cap = Cap { speed, sides: Some([speed; 2]), ..spread };
            }
            Corner::Spread => {}
            Corner::Arc | Corner::Blend | Corner::Average | Corner::FeedShare => {}
        }
        cap
    }

    /// Acceleration of axis `k` that a bend may take.
    fn bend_accel(&self, k: usize) -> f64 {
        let dynamics = self.chain.dynamics;
        dynamics.axes[k].accel * dynamics.setting(Setting::BendAccel).unwrap_or(1.0)
    }

    /// Speed at which the axes follow the second derivative of a move during which rotary axes turn.
    pub(super) fn turn_speed(&self, interval: usize, bend: &[f64; 5]) -> (f64, Limit) {
        let rapid = if self.leg(interval).is_rapid() { self.chain.rapid_share() } else { 1.0 };
        let (square, k) = self.least(|k| rapid * self.bend_accel(k) / bend[k].abs());
        (square.sqrt(), self.of_axis(k, AxisLimit::Acceleration))
    }

    /// Speed at which the axes follow a second derivative by length, at an interval.
    pub(super) fn bend_speed(&self, interval: usize, bend: &[f64; 5]) -> f64 {
        let dynamics = self.chain.dynamics;
        let rapid = self.leg(interval).is_rapid() && self.leg(interval - 1).is_rapid();
        let rapid = if rapid { self.chain.rapid_share() } else { 1.0 };
        let accel = |k: usize| {
            let own = rapid * self.bend_accel(k);
            if k < 3 { own.min(dynamics.radial_accel) } else { own }
        };
        self.least(|k| accel(k) / bend[k].abs()).0.sqrt()
    }

    /// How far rotary axes may be rounded, rad.
    pub(super) fn turn_tolerance(&self) -> f64 {
        let dynamics = self.chain.dynamics;
        let stated = dynamics.setting(Setting::TurnTolerance);
        stated.map_or(dynamics.path_tolerance_mm / TURN_LEVER_MM, f64::to_radians)
    }

    /// What the programmed path turns by at the corner that is interval `i`, rad, and what the rotary
    /// axes' direction changes by.
    pub(super) fn turns(&self, i: usize) -> [f64; 2] {
        let (corner, sharp) = self.sharp(i, &self.jump(i));
        [corner::angle(self.programmed(i, sharp)), corner[3].hypot(corner[4])]
    }

    /// Jump of the programmed path's direction at the corner that is interval `i`, `sharp` being that of
    /// the linear axes: under tip control they jump where rotary axes do, though the path goes straight.
    fn programmed(&self, i: usize, sharp: f64) -> f64 {
        if self.chain.stretch.ways.is_empty() {
            return sharp;
        }
        let jump = self.chain.jump(i).length();
        let bows = self.leg(i - 1).bow > 0.0 || self.leg(i).bow > 0.0;
        if bows && jump < ROUND { 0.0 } else { jump }
    }

    /// Whether rotary axes alone turn at the corner that is interval `i`.
    pub(super) fn only_turns(&self, i: usize) -> bool {
        self.leg(i - 1).only_turns() && self.leg(i).only_turns()
    }

    /// Jump of dq/ds of every axis at the corner that is interval `i`.
    fn jump(&self, i: usize) -> [f64; 5] {
        let mut jump = [0.0; 5];
        for (k, jump) in jump.iter_mut().enumerate().take(self.axes()) {
            *jump = self.direction(i + 1, k) - self.direction(i, k);
        }
        jump
    }

    /// Share of the acceleration that the curvature of a polyline may take.
    fn facet(&self) -> f64 {
        self.chain.dynamics.setting(Setting::Facet).unwrap_or(1.0)
    }

    /// Directions before and behind a corner of that jump; arcs as they are and not by their chords.
    fn ends(&self, i: usize, jump: &[f64; 5]) -> [[f64; 5]; 2] {
        let flat = |point: usize| -> [f64; 5] {
            std::array::from_fn(|k| if k < self.axes() { self.direction(point, k) } else { 0.0 })
        };
        let (mut before, after) = (flat(i), flat(i + 1));
        let chord = self.leg(i - 1).bow > 0.0 || self.leg(i).bow > 0.0;
        if chord && self.chain.stretch.positions[i].rotary == [0.0; 2] {
            let [x, y, z, ..] = before;
            let [_, out] = self.leg(i - 1).tangents(geom::Vec3::new(x, y, z));
            before[..3].copy_from_slice(&out.to_array());
        }
        [before, std::array::from_fn(|k| if chord { before[k] + jump[k] } else { after[k] })]
    }

    /// Speed on the arc that would round a corner of `sharp`, its ends no further than `most` away.
    ///
    /// Curvature rises to δ/l and falls again over the trim l on each side, so that with limited jerk
    /// v³ 2 δ/l² ≤ J as well (derived).
    fn arc(&self, jump: &[f64; 5], size: f64, (sharp, most): (f64, f64)) -> f64 {
        let dynamics = self.chain.dynamics;
        let turn = corner::angle(sharp).min(3.0);
        let arc = Arc::new(turn, dynamics.path_tolerance_mm, most);
        let (accel, _) = self.least(|k| self.bend_accel(k) * size / jump[k].abs());
        let by_accel = (accel.min(dynamics.radial_accel) * arc.radius_mm).sqrt();
        if !self.chain.jerk {
            return by_accel;
        }
        let (jerk, _) = self.least(|k| dynamics.axes[k].jerk * size / jump[k].abs());
        by_accel.min((jerk * arc.trim_mm.powi(2) / (2.0 * sharp)).cbrt())
    }

    /// Speed of a curve that a polyline stands for, its legs being `short`.
    fn curve(&self, cap: &mut Cap, short: f64, jump: &[f64; 5]) {
        let dynamics = self.chain.dynamics;
        let size = linear_size(jump);
        let (square, k) = self.least(|k| self.bend_accel(k) * short / jump[k].abs());
        cap.lower(square.sqrt(), self.of_axis(k, AxisLimit::Acceleration));
        cap.lower((dynamics.radial_accel * short / size).sqrt(), Limit::RadialAccel);
    }

    /// Speed on an arc of radius R on which the acceleration turns with the path: v³/R² ≤ J (derived).
    fn arc_by_jerk(&self, i: usize, short: f64, jump: &[f64; 5]) -> f64 {
        let size = linear_size(jump);
        let moves = |k: usize| jump[k].abs().max(self.direction(i, k).abs()) > PARALLEL_RAD;
        let (jerk, _) = self.least(|k| {
            if k < 3 && moves(k) { self.chain.dynamics.axes[k].jerk } else { f64::INFINITY }
        });
        let radius = short / size;
        (jerk * radius * radius).cbrt()
    }

    /// Cap on an interval between two joints at which a curve goes on: it must not speed up between
    /// them only because its chords are straight.
    pub(super) fn between_joints(&self, interval: usize) -> Cap {
        let spans = &self.chain.stretch.spans;
        let at = |joint: Option<usize>| {
            let joint = joint.filter(|&j| spans.get(j).is_some_and(|s| s.corner))?;
            let jump = self.jump(joint);
            let size = linear_size(&jump);
            let [a, b] = [joint - 1, joint].map(|i| self.leg(i));
            let smooth = a.bow > 0.0 && b.bow > 0.0;
            let spread =
                matches!(self.chain.route.control.corner, Corner::Spread | Corner::Average);
            if spread && !smooth {
                return None;
            }
            let sharp = size > BENDS;
            let mut cap = Cap::NONE;
            let share = if smooth { 1.0 } else { self.facet() };
            self.curve(&mut cap, share * a.length.min(b.length), &jump);
            (!sharp).then_some(cap)
        };
        match (at(interval.checked_sub(1)), at(Some(interval + 1))) {
            (Some(a), Some(b)) if a.speed > b.speed => a,
            (Some(_), Some(b)) => b,
            _ => Cap::NONE,
        }
    }

    /// Largest step of the speed of axis `k` at a corner.
    fn step(&self, k: usize) -> f64 {
        let dynamics = self.chain.dynamics;
        let axes = &dynamics.axes;
        let share =
            [None, Some(Setting::StepY), Some(Setting::StepZ), None, Some(Setting::StepSecond)]
                .get(k)
                .and_then(|share| dynamics.setting((*share)?))
                .unwrap_or(1.0);
        if let (Some(step), true) = (dynamics.setting(Setting::StepTurn), k > 2) {
            return share * deg_to_rad(step / 60.0);
        }
        let passes = self.chain.route.control.step_passes && self.chain.jerk;
        let of = |a: &crate::AxisDynamics| if passes { a.jerk } else { a.accel };
        let linear = axes.iter().take(3).map(of).fold(0.0, f64::max);
        let own = if k < 3 && !passes { 1.0 } else { of(&axes[k]) / linear };
        dynamics.corner_step_mm_s * own * share
    }

    /// Speeds from which the path can stop within the blocks seen ahead. Where a block begins, the last of
    /// them is still being read for a block time: until then the path must be able to stop before it.
    fn look_ahead(&self, caps: &mut [Cap], ramp_s: f64) {
        let s = &self.chain.stretch.s;
        let ends: Vec<usize> = (1..s.len())
            .filter(|&p| p == s.len() - 1 || self.leg(p - 1).run != self.leg(p).run)
            .collect();
        let known = (self.chain.dynamics.look_ahead as usize).max(2) - 2;
        let block_s = self.chain.dynamics.block_time_s;
        let mut block = 0;
        for point in 0..s.len() - 1 {
            while block + 1 < ends.len() && ends[block] <= point {
                block += 1;
            }
            let begins = block == 0 || s[ends[block - 1]] == s[point];
            let seen = known + usize::from(!begins);
            let horizon = ends[(block + seen).min(ends.len() - 1)];
            let distance = s[horizon] - s[point];
            if horizon + 1 < s.len() && distance > 0.0 {
                let accel = self.acceleration(point).0;
                let unread_s = if begins { 2.0 * block_s } else { 0.0 };
                let speed = brake_from(distance, accel, ramp_s + unread_s);
                if speed < caps[point].speed && begins {
                    caps[point].zone = caps[point].zone.max(0.5 * block_s * speed);
                }
                caps[point].lower(speed, Limit::LookAhead);
            }
        }
    }
}

/// Size of the linear part.
fn linear_size(q: &[f64; 5]) -> f64 {
    q[..3].iter().map(|d| d * d).sum::<f64>().sqrt()
}

/// Speed from which a stop takes `distance` at acceleration `accel` that is reached within `ramp_s`:
/// v²/(2a) + v·ramp/2 = distance.
fn brake_from(distance: f64, accel: f64, ramp_s: f64) -> f64 {
    let b = 0.5 * accel * ramp_s;
    (b * b + 2.0 * accel * distance).sqrt() - b
}
