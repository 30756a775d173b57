//! What limited jerk adds to the time of legs that were driven with limited acceleration.
//!
//! Between two places at which the speed is lowest, or comes to be held, the motion rises once and falls
//! once. Both motions between them are in closed form for even limits, with jerk and without; their
//! difference is what jerk costs there (derived). The limits of such a stretch are the means of its legs
//! by the time of their ramps, so that it is exact where legs are alike.

use crate::legs::{Leg, Phases};
use crate::profile::{MoveLimits, Ramp};
use std::ops::Range;

/// Changes of speed below this share are none.
const SAME: f64 = 1e-6;
/// Share of its top by which a part stays below it that does not reach it.
const NEAR_TOP: f64 = 1e-3;
/// Halvings in the search for a speed.
const HALVINGS: u32 = 40;

/// Time that limited jerk adds to every leg, s: `speeds` at the joints and `phases` of the legs as
/// [`crate::legs::drive`] gives them, `jerk` along each leg.
pub fn added_s(legs: &[Leg], jerk: &[f64], speeds: &[f64], phases: &[Phases]) -> Vec<f64> {
    let mut added = vec![0.0; legs.len()];
    let ends = ends(legs, speeds, phases);
    let parts = ends.windows(2).map(|w| Part::of(w, legs, jerk, speeds, phases)).collect();
    // a low speed that jerk does not let be reached is none
    let onwards = joined(parts, |a, b| a.reach(a.from) < b.from, Part::then);
    let mut backwards = onwards;
    backwards.reverse();
    let parts = joined(backwards, |b, a| b.reach(b.to) < a.to, |b, a| a.then(b));
    for part in &parts {
        let (eased_s, reached) = part.eased();
        // where the top is not reached, what holds the legs down near it does not count
        let driven_s = if reached < part.top * (1.0 - NEAR_TOP) {
            phases[part.legs.clone()].iter().map(Phases::time_s).sum()
        } else {
            part.plain_s
        };
        let more = (eased_s - driven_s).max(0.0);
        for leg in part.legs.clone() {
            let share = if part.ramps_s > 0.0 {
                phases[leg].ramps_s() / part.ramps_s
            } else {
                legs[leg].length / part.length
            };
            added[leg] += more * share;
        }
    }
    added
}

/// Joins neighbours between which the speed is not `low`.
fn joined(
    parts: Vec<Part>,
    low: impl Fn(&Part, &Part) -> bool,
    join: impl Fn(&Part, &Part) -> Part,
) -> Vec<Part> {
    let mut out: Vec<Part> = Vec::with_capacity(parts.len());
    for part in parts {
        match out.last_mut() {
            Some(last) if low(last, &part) => *last = join(last, &part),
            _ => out.push(part),
        }
    }
    out
}

/// Joints between which the motion rises once and falls once: those of its low and of its held speeds,
/// no two without length between them.
fn ends(legs: &[Leg], speeds: &[f64], phases: &[Phases]) -> Vec<usize> {
    let mut ends = lows(legs, speeds, phases);
    ends.extend(levels(legs, speeds, phases));
    ends.sort_unstable();
    let last = ends.pop().unwrap_or(legs.len());
    ends.dedup_by(|next, end| legs[*end..*next].iter().all(|l| l.length == 0.0));
    ends.push(last);
    ends
}

/// Joints at which the speed is lowest between two rises, both ends of a piece where it stays lowest;
/// first and last joint included.
fn lows(legs: &[Leg], speeds: &[f64], phases: &[Phases]) -> Vec<usize> {
    let mut lows = vec![0];
    let (mut falling, mut low) = (false, speeds[0]);
    // where it came to be lowest, and up to where it is
    let (mut first, mut last) = (0, 0);
    let mut step = |value: f64, joint: Option<usize>| {
        let higher = value > low * (1.0 + SAME) + f64::MIN_POSITIVE;
        let lower = value < low * (1.0 - SAME);
        if higher && falling {
            let stays = legs[first..last].iter().any(|l| l.length > 0.0);
            lows.extend([first, last].into_iter().take(if stays { 2 } else { 1 }));
        }
        falling = lower || (falling && !higher);
        if higher || lower {
            low = value;
        }
        if let Some(joint) = joint {
            if higher || lower {
                first = joint;
            }
            last = joint;
        }
    };
    for i in 0..legs.len() {
        step(speeds[i] + legs[i].acceleration * phases[i].up_s, None);
        step(speeds[i + 1], Some(i + 1));
    }
    if lows[lows.len() - 1] != legs.len() {
        lows.push(legs.len());
    }
    lows
}

/// Joints at which a speed begins or ends that is held on a leg, the next one being driven faster: no
/// acceleration is left there.
fn levels(legs: &[Leg], speeds: &[f64], phases: &[Phases]) -> Vec<usize> {
    let held = |i: usize, joint: usize| {
        phases[i].steady_s > 0.0 && speeds[joint] >= legs[i].speed * (1.0 - SAME)
    };
    let changes = |s: f64, i: usize| s * legs[i].acceleration > SAME * legs[i].speed;
    let mut levels = Vec::new();
    let mut before: Option<usize> = None;
    for after in (0..legs.len()).filter(|&i| legs[i].length > 0.0) {
        if let Some(before) = before {
            let falls = changes(phases[before].down_s, before) && held(after, after);
            let rises = changes(phases[after].up_s, after) && held(before, before + 1);
            if falls || rises {
                levels.push(after);
            }
        }
        before = Some(after);
    }
    levels
}

/// From one low speed, or one that is held, to the next.
struct Part {
    legs: Range<usize>,
    from: f64,
    to: f64,
    length: f64,
    /// Highest speed on the way.
    top: f64,
    limits: MoveLimits,
    /// What the means of the limits were weighed with.
    weight: f64,
    /// Time without a limit of jerk under the same even limits, s.
    plain_s: f64,
    /// Time of its legs' changes of speed, s.
    ramps_s: f64,
}

impl Part {
    fn of(ends: &[usize], legs: &[Leg], jerk: &[f64], speeds: &[f64], phases: &[Phases]) -> Self {
        let mut part = Self {
            legs: ends[0]..ends[1],
            from: speeds[ends[0]],
            to: speeds[ends[1]],
            length: 0.0,
            top: 0.0,
            limits: MoveLimits { speed: f64::INFINITY, acceleration: 0.0, jerk: 0.0 },
            weight: 0.0,
            plain_s: 0.0,
            ramps_s: 0.0,
        };
        for i in part.legs.clone() {
            let leg = &legs[i];
            let top = speeds[i] + leg.acceleration * phases[i].up_s;
            part.top = part.top.max(top).max(speeds[i + 1]);
            part.length += leg.length;
            part.ramps_s += phases[i].ramps_s();
            let weight = phases[i].ramps_s() + SAME * leg.length;
            part.weight += weight;
            part.limits.acceleration += weight * leg.acceleration;
            part.limits.jerk += weight * jerk[i];
        }
        let weight = part.weight.max(f64::MIN_POSITIVE);
        part.limits.acceleration /= weight;
        part.limits.jerk /= weight;
        part.plain_s = part.plain();
        part
    }

    /// This part and the next as one.
    fn then(&self, next: &Self) -> Self {
        let weight = (self.weight + next.weight).max(f64::MIN_POSITIVE);
        let mean = |a: f64, b: f64| (self.weight * a + next.weight * b) / weight;
        let (a, b) = (&self.limits, &next.limits);
        Self {
            legs: self.legs.start..next.legs.end,
            from: self.from,
            to: next.to,
            length: self.length + next.length,
            top: self.top.max(next.top),
            limits: MoveLimits {
                speed: f64::INFINITY,
                acceleration: mean(a.acceleration, b.acceleration),
                jerk: mean(a.jerk, b.jerk),
            },
            weight,
            plain_s: self.plain_s + next.plain_s,
            ramps_s: self.ramps_s + next.ramps_s,
        }
    }

    fn ramp(&self, from: f64, to: f64) -> Ramp {
        Ramp::new(from, to, &self.limits)
    }

    /// Highest speed that can be reached from `from`, no higher than the top.
    fn reach(&self, from: f64) -> f64 {
        self.highest(from, |v| self.ramp(from, v).length())
    }

    /// Highest speed from `least` up to the top whose `need` of length is there.
    fn highest(&self, least: f64, need: impl Fn(f64) -> f64) -> f64 {
        if self.top <= least || need(self.top) <= self.length {
            return self.top;
        }
        let (mut low, mut high) = (least, self.top);
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if need(middle) <= self.length { low = middle } else { high = middle }
        }
        low
    }

    /// Time with limited acceleration alone, s.
    fn plain(&self) -> f64 {
        let (accel, from, to) = (self.limits.acceleration, self.from, self.to);
        let square = 0.5 * (from * from + to * to) + accel * self.length;
        let top = square.sqrt().min(self.top).max(from).max(to);
        let ramps = (2.0 * top * top - from * from - to * to) / (2.0 * accel);
        (2.0 * top - from - to) / accel + (self.length - ramps).max(0.0) / top.max(SAME)
    }

    /// Time with limited jerk, s, and the speed that is reached.
    fn eased(&self) -> (f64, f64) {
        let (from, to) = (self.from, self.to);
        let need = |v: f64| self.ramp(from, v).length() + self.ramp(v, to).length();
        let top = self.highest(from.max(to), need).max(from).max(to);
        let ramps = [self.ramp(from, top), self.ramp(top, to)];
        let length: f64 = ramps.iter().map(Ramp::length).sum();
        let time: f64 = ramps.iter().map(Ramp::time_s).sum();
        (time + (self.length - length).max(0.0) / top.max(SAME), top)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::legs::drive;
    use crate::profile::Move;

    fn total(legs: &[Leg], caps: &[f64], jerk: f64) -> f64 {
        let (speeds, phases) = drive(legs, caps).expect("sound");
        let added = added_s(legs, &vec![jerk; legs.len()], &speeds, &phases);
        phases.iter().map(Phases::time_s).sum::<f64>() + added.iter().sum::<f64>()
    }

    #[test]
    fn a_move_and_a_corner_are_exact() {
        let limits = MoveLimits { speed: 100.0, acceleration: 5000.0, jerk: 60_000.0 };
        let leg = |length| Leg { length, speed: 100.0, acceleration: 5000.0 };
        let none = f64::INFINITY;
        for length in [0.05, 1.0, 3.0, 40.0] {
            let whole = Move::rest_to_rest(length, &limits).expect("sound").time_s();
            let one = total(&[leg(length)], &[none; 2], limits.jerk);
            let cut =
                total(&[leg(0.5 * length), leg(0.0), leg(0.5 * length)], &[none; 4], 60_000.0);
            assert!((one / whole - 1.0).abs() < 1e-9, "{length}: {one} {whole}");
            assert!((cut / whole - 1.0).abs() < 1e-9, "{length}: {cut} {whole}");
        }
        let half = Move::new(30.0, 0.0, 12.0, &limits).expect("sound").time_s();
        let both = total(&[leg(30.0), leg(30.0)], &[none, 12.0, none], 60_000.0);
        assert!((both / (2.0 * half) - 1.0).abs() < 1e-9, "{both} {half}");
    }

    #[test]
    fn a_speed_that_is_held_on_the_way_down_is_come_to_without_acceleration() {
        // 8 mm as a rapid and 8 mm at 60 mm/s, in line
        let leg = |speed| Leg { length: 8.0, speed, acceleration: 4000.0 };
        let none = Leg { length: 0.0, ..leg(60.0) };
        let legs = [leg(800.0), none, leg(60.0)];
        let limits = |speed| MoveLimits { speed, acceleration: 4000.0, jerk: 30_000.0 };
        let parts = [(0.0, 60.0, 800.0), (60.0, 0.0, 60.0)];
        let exact = |(from, to, speed): (f64, f64, f64)| {
            Move::new(8.0, from, to, &limits(speed)).expect("sound").time_s()
        };
        let exact: f64 = parts.into_iter().map(exact).sum();
        let time = total(&legs, &[f64::INFINITY; 4], 30_000.0);
        assert!((time / exact - 1.0).abs() < 1e-6, "{time} {exact}");
    }

    #[test]
    fn a_corner_that_jerk_cannot_reach_is_passed_slower() {
        // 0.5 mm from rest: 5 m/s2 would give 70 mm/s, 60 m/s3 about 25
        let legs = [0.5, 30.0].map(|length| Leg { length, speed: 100.0, acceleration: 5000.0 });
        let caps = [f64::INFINITY, 69.0, f64::INFINITY];
        let free = [f64::INFINITY; 3];
        let ratio = total(&legs, &caps, 60_000.0) / total(&legs, &free, 60_000.0);
        assert!((ratio - 1.0).abs() < 0.02, "{ratio}");
    }
}
