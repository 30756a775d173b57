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
}

impl Cap {
    const NONE: Self = Self { speed: f64::INFINITY, limit: Limit::StandStill, zone: 0.0 };

    fn lower(&mut self, speed: f64, limit: Limit) {
        if speed < self.speed {
            *self = Self { speed, limit, zone: self.zone };
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

    /// Largest |dq/ds| of axis `k` on an interval.
    fn most(&self, interval: usize, k: usize) -> f64 {
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
        for (point, cap) in caps.iter_mut().enumerate() {
            let bend = &stretch.second[point * self.axes()..(point + 1) * self.axes()];
            let (square, k) = self.least(|k| self.chain.dynamics.axes[k].accel / bend[k].abs());
            cap.lower(square.sqrt(), self.of_axis(k, AxisLimit::Acceleration));
        }
        for (i, span) in stretch.spans.iter().enumerate() {
            if span.corner {
                let cap = self.corner(i);
                caps[i] = cap;
                caps[i + 1] = cap;
            }
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
        let mut jump = [0.0; 5];
        for (k, jump) in jump.iter_mut().enumerate().take(self.axes()) {
            *jump = self.direction(i + 1, k) - self.direction(i, k);
        }
        let (corner, sharp) = self.sharp(i, &jump);
        let control = &self.chain.route.control;
        let (short, block) = (before.length.min(after.length), before.block.min(after.block));
        if sharp == 0.0 {
            self.curve(&mut cap, short, &jump);
            if self.chain.jerk && before.bow > 0.0 && after.bow > 0.0 {
                cap.lower(self.arc_by_jerk(i, short, &jump), Limit::RadialAccel);
            }
        } else if control.corner != Corner::Spread {
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
            Corner::Spread => {
                let (spread, zone) = self.spread(&corner, sharp, block);
                cap.lower(passes(spread), Limit::CornerTolerance);
                cap.zone = zone;
            }
            Corner::Arc | Corner::Blend | Corner::FeedShare => {}
        }
        cap
    }

    /// Share of the acceleration that the curvature of a polyline may take.
    fn facet(&self) -> f64 {
        self.chain.dynamics.setting(Setting::Facet).unwrap_or(1.0)
    }

    /// Speed at a corner of jump δ that is spread over h on both sides, no longer than a share of the
    /// shorter `block`, and the length on which that speed holds: curvature rises to δ/h in a straight
    /// line, and the corner is missed by δ h/6. With limited jerk v³ δ/h² ≤ J as well (derived).
    fn spread(&self, jump: &[f64; 5], size: f64, block: f64) -> (f64, f64) {
        let dynamics = self.chain.dynamics;
        let turn = jump[3].hypot(jump[4]);
        let setting = |s: Setting| dynamics.setting(s);
        let turn_tolerance = setting(Setting::TurnTolerance)
            .map_or(dynamics.path_tolerance_mm / TURN_LEVER_MM, f64::to_radians);
        let half_cos = (1.0 - 0.25 * size * size).max(0.0).sqrt();
        let narrow = setting(Setting::SpreadNarrow).map_or(1.0, |power| half_cos.powf(power));
        let by_tip = narrow * corner::reach(size, dynamics.path_tolerance_mm);
        let by_turn = corner::reach(turn, turn_tolerance);
        let longest = setting(Setting::SpreadMost).unwrap_or(f64::INFINITY);
        let free = by_tip.min(by_turn).min(longest);
        let h = free.min(self.facet() * block);
        let zone =
            if h < free { 0.5 * block } else { setting(Setting::SpreadZone).unwrap_or(0.0) * h };
        let (accel, _) = self.least(|k| dynamics.axes[k].accel / jump[k].abs());
        let by_accel = (accel.min(dynamics.radial_accel / size) * h).sqrt();
        if !self.chain.jerk {
            return (by_accel, zone);
        }
        let (jerk, _) = self.least(|k| dynamics.axes[k].jerk / jump[k].abs());
        (by_accel.min((jerk * h * h).cbrt()), zone)
    }

    /// Speed on the arc that would round a corner of `sharp`, its ends no further than `most` away.
    ///
    /// Curvature rises to δ/l and falls again over the trim l on each side, so that with limited jerk
    /// v³ 2 δ/l² ≤ J as well (derived).
    fn arc(&self, jump: &[f64; 5], size: f64, (sharp, most): (f64, f64)) -> f64 {
        let dynamics = self.chain.dynamics;
        let turn = corner::angle(sharp).min(3.0);
        let arc = Arc::new(turn, dynamics.path_tolerance_mm, most);
        let (accel, _) = self.least(|k| dynamics.axes[k].accel * size / jump[k].abs());
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
        let (square, k) = self.least(|k| dynamics.axes[k].accel * short / jump[k].abs());
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
            let jump: [f64; 5] = std::array::from_fn(|k| {
                if k < self.axes() {
                    self.direction(joint + 1, k) - self.direction(joint, k)
                } else {
                    0.0
                }
            });
            let size = linear_size(&jump);
            let [a, b] = [joint - 1, joint].map(|i| self.leg(i));
            let smooth = a.bow > 0.0 && b.bow > 0.0;
            if self.chain.route.control.corner == Corner::Spread && !smooth {
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
        let axes = &self.chain.dynamics.axes;
        if let (Some(step), true) = (self.chain.dynamics.setting(Setting::StepTurn), k > 2) {
            return deg_to_rad(step / 60.0);
        }
        let linear = axes.iter().take(3).map(|a| a.accel).fold(0.0, f64::max);
        let own = if k < 3 { 1.0 } else { axes[k].accel / linear };
        self.chain.dynamics.corner_step_mm_s * own
    }

    /// Speeds from which the path can stop within the blocks seen ahead.
    fn look_ahead(&self, caps: &mut [Cap], ramp_s: f64) {
        let s = &self.chain.stretch.s;
        let ends: Vec<usize> = (1..s.len())
            .filter(|&p| p == s.len() - 1 || self.leg(p - 1).run != self.leg(p).run)
            .collect();
        let seen = self.chain.dynamics.look_ahead.max(1.0) as usize;
        let mut block = 0;
        for point in 0..s.len() - 1 {
            while block + 1 < ends.len() && ends[block] <= point {
                block += 1;
            }
            let horizon = ends[(block + seen - 1).min(ends.len() - 1)];
            let distance = s[horizon] - s[point];
            if horizon + 1 < s.len() && distance > 0.0 {
                let accel = self.acceleration(point).0;
                // while the next block is read the path goes on
                let unread_s = 2.0 * self.chain.dynamics.block_time_s;
                let speed = brake_from(distance, accel, ramp_s + unread_s);
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
