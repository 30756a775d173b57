//! A feed generator of limited jerk that decides anew at every sample: the highest acceleration from
//! which every limit ahead can still be met.

use crate::drive::{Cursor, Generator, Step};
use crate::span::Span;

/// Halvings in the search for the acceleration.
const HALVINGS: usize = 16;
/// Share of the speed that may be left over where taking the acceleration back should stop the axes.
const TAKEN_BACK: f64 = 1e-3;
/// Rests shorter than this are reached, mm or deg.
const REACHED: f64 = 1e-8;

/// A speed that must not be exceeded at a distance from the start of the span in motion.
#[derive(Debug, Clone, Copy)]
struct Ahead {
    distance: f64,
    speed: f64,
    accel: f64,
    jerk: f64,
}

/// Remembers what lies ahead of the span in motion.
#[derive(Debug, Clone, Default)]
pub(crate) struct Braking {
    known: Option<(usize, usize)>,
    ahead: Vec<Ahead>,
    landing: Option<Landing>,
}

/// The last stretch into a stop: a polynomial of time that ends there with neither speed nor
/// acceleration, as ticks alone do not meet the end of a cube.
#[derive(Debug, Clone, Copy)]
struct Landing {
    from: Cursor,
    passed_s: f64,
    lasts_s: f64,
    /// Factors of the third, fourth and fifth power of the time.
    powers: [f64; 3],
}

impl Landing {
    /// From where the acceleration need only be taken back, over the rest of the path.
    fn new(from: &Cursor, rest: f64) -> Self {
        let t = 3.0 * rest / from.v;
        let place = rest - from.v * t - 0.5 * from.a * t * t;
        let speed = -(from.v + from.a * t) * t;
        let accel = -from.a * t * t;
        let powers = [
            (10.0 * place - 4.0 * speed + 0.5 * accel) / t.powi(3),
            (-15.0 * place + 7.0 * speed - accel) / t.powi(4),
            (6.0 * place - 3.0 * speed + 0.5 * accel) / t.powi(5),
        ];
        Self { from: *from, passed_s: 0.0, lasts_s: t, powers }
    }

    /// Goes on by at most `left`.
    fn step(&mut self, at: &mut Cursor, length: f64, left: f64) -> Step {
        let rest = self.lasts_s - self.passed_s;
        if rest <= left {
            *at = Cursor { span: at.span, s: length, v: 0.0, a: 0.0 };
            return Step { used_s: rest, ended: true };
        }
        self.passed_s += left;
        let t = self.passed_s;
        let [c, d, e] = self.powers;
        let Cursor { s, v, a, .. } = self.from;
        at.s = s + t * (v + t * (0.5 * a + t * (c + t * (d + t * e))));
        at.v = v + t * (a + t * (3.0 * c + t * (4.0 * d + t * 5.0 * e)));
        at.a = a + t * (6.0 * c + t * (12.0 * d + t * 20.0 * e));
        Step { used_s: left, ended: false }
    }
}

/// Path from one speed down to another with no acceleration at either end.
fn ramp(from: f64, to: f64, accel: f64, jerk: f64) -> f64 {
    let change = from - to;
    if change <= 0.0 {
        return 0.0;
    }
    let time = if change * jerk >= accel * accel {
        change / accel + accel / jerk
    } else {
        2.0 * (change / jerk).sqrt()
    };
    0.5 * (from + to) * time
}

/// Path on which speed `v` at acceleration `a` is brought to `to` with no acceleration left; zero
/// where it never comes above, or falls below by itself.
fn braking(v: f64, a: f64, to: f64, accel: f64, jerk: f64) -> f64 {
    let t = a.abs() / jerk;
    let change = 0.5 * a * t.abs();
    if a >= 0.0 {
        let top = v + change;
        if top <= to {
            return 0.0;
        }
        return v * t + a * t * t / 3.0 + ramp(top, to, accel, jerk);
    }
    if v + change < to {
        return 0.0;
    }
    let top = v - change;
    ramp(top, to, accel, jerk) - (top * t - jerk * t * t * t / 6.0)
}

impl Braking {
    fn look(&mut self, now: usize, spans: &[Span], ready: usize) {
        self.ahead.clear();
        let (mut distance, mut lowest) = (0.0, f64::INFINITY);
        let (mut top, mut accel, mut jerk) = (0.0_f64, f64::INFINITY, f64::INFINITY);
        for k in now..ready {
            let span = &spans[k];
            distance += span.length;
            top = top.max(span.cap);
            accel = accel.min(span.accel);
            jerk = jerk.min(span.jerk);
            let last = span.stops() || k + 1 == ready;
            let speed = if last { 0.0 } else { span.exit.min(spans[k + 1].cap) };
            if speed < lowest {
                self.ahead.push(Ahead { distance, speed, accel, jerk });
                lowest = speed;
            }
            let beyond = distance - spans[now].length;
            if last || beyond > ramp(top, 0.0, accel, jerk) + top * accel / jerk {
                break;
            }
        }
    }

    /// Whether all limits can be met from there.
    fn allows(&self, s: f64, v: f64, a: f64) -> bool {
        self.ahead.iter().all(|limit| {
            let room = limit.distance - s;
            if room <= 0.0 {
                return v <= limit.speed * (1.0 + 1e-9);
            }
            braking(v, a, limit.speed, limit.accel, limit.jerk) <= room + REACHED
        })
    }
}

/// State after `h` seconds in which the acceleration goes evenly from `a` to `next`.
fn after(at: &Cursor, next: f64, h: f64) -> (f64, f64) {
    let s = at.s + at.v * h + (2.0 * at.a + next) * h * h / 6.0;
    (s, at.v + 0.5 * (at.a + next) * h)
}

/// When the path `rest` is done, acceleration changing evenly by `jerk`, at most `h`; Newton's method
/// inside a bracket, as the speed is never negative.
fn crossing(at: &Cursor, jerk: f64, rest: f64, h: f64) -> f64 {
    let (mut low, mut high) = (0.0, h);
    let mut t = if at.v * h > rest { rest / at.v } else { h };
    for _ in 0..40 {
        let over = at.v * t + 0.5 * at.a * t * t + jerk * t * t * t / 6.0 - rest;
        if over.abs() <= 1e-14 + 1e-12 * rest {
            break;
        }
        if over < 0.0 {
            low = t;
        } else {
            high = t;
        }
        let newton = t - over / (at.v + at.a * t + 0.5 * jerk * t * t);
        t = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
    }
    t
}

impl Braking {
    /// The highest acceleration after `h` seconds that is allowed.
    fn choose(&self, at: &Cursor, span: &Span, next_cap: f64, h: f64) -> f64 {
        let tops = |v: f64, a: f64, cap: f64| {
            let peak = v + 0.5 * a.max(0.0) * a.max(0.0) / span.jerk;
            peak <= (cap * (1.0 + 1e-9)).max(if a <= 0.0 { at.v } else { 0.0 })
        };
        let fits = |next: f64| {
            let (s, v) = after(at, next, h);
            if s <= span.length {
                return tops(v, next, span.cap) && self.allows(s, v, next);
            }
            // what the next span allows is looked at from its start
            let jerk = (next - at.a) / h;
            let t = crossing(at, jerk, span.length - at.s, h);
            let (v, a) = (at.v + at.a * t + 0.5 * jerk * t * t, at.a + jerk * t);
            tops(v, 0.0, span.cap) && tops(v, a, next_cap) && self.allows(span.length, v, a)
        };
        let mut high = (at.a + span.jerk * h).min(span.accel.max(at.a - span.jerk * h));
        let mut low = (at.a - span.jerk * h).max((-span.accel).min(at.a + span.jerk * h));
        if fits(high) {
            return high;
        }
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if fits(middle) {
                low = middle;
            } else {
                high = middle;
            }
        }
        low
    }
}

/// Whether taking the acceleration back stops the axes, and about where they should.
fn lands(at: &Cursor, jerk: f64, rest: f64) -> bool {
    let ramp_s = -at.a / jerk;
    let over = at.v + 0.5 * at.a * ramp_s;
    let ratio = 3.0 * rest / (at.v * ramp_s);
    at.a < 0.0 && over <= TAKEN_BACK * at.v && (0.8..1.25).contains(&ratio)
}

impl Generator for Braking {
    fn step(&mut self, at: &mut Cursor, spans: &[Span], ready: usize, left: f64) -> Step {
        if self.known != Some((at.span, ready)) {
            self.look(at.span, spans, ready);
            self.known = Some((at.span, ready));
        }
        let span = &spans[at.span];
        let rest = span.length - at.s;
        if let Some(landing) = &mut self.landing {
            let step = landing.step(at, span.length, left);
            if step.ended {
                self.landing = None;
            }
            return step;
        }
        if span.stops() && rest > REACHED && lands(at, span.jerk, rest) {
            return self.landing.insert(Landing::new(at, rest)).step(at, span.length, left);
        }
        let last = span.stops() || at.span + 1 == ready;
        // the last stretch of a stop is a cube of the time left
        let slow = at.v <= span.jerk * left * left && 3.0 * rest <= at.v * left;
        if rest <= REACHED || (last && slow) {
            let used_s = if rest <= REACHED { 0.0 } else { 3.0 * rest / at.v };
            at.s = span.length;
            if last {
                at.v = 0.0;
                at.a = 0.0;
            }
            return Step { used_s, ended: true };
        }
        let cruising =
            at.a.abs() <= 1e-6 * span.accel && (span.cap - at.v).abs() <= 1e-7 * span.cap;
        let next = if cruising && self.allows(at.s + span.cap * left, span.cap, 0.0) {
            at.v = span.cap;
            at.a = 0.0;
            0.0
        } else {
            let next_cap = if last { 0.0 } else { spans[at.span + 1].cap };
            self.choose(at, span, next_cap, left)
        };
        let (s, v) = after(at, next, left);
        if s >= span.length {
            let jerk = (next - at.a) / left;
            let used_s = crossing(at, jerk, rest, left);
            at.v = (at.v + at.a * used_s + 0.5 * jerk * used_s * used_s).max(0.0);
            at.a += jerk * used_s;
            at.s = span.length;
            return Step { used_s, ended: true };
        }
        at.s = s.max(at.s);
        at.v = v.max(0.0);
        at.a = if v < 0.0 { 0.0 } else { next };
        Step { used_s: left, ended: false }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Steps a long span down from `v`, `a` at full braking by small steps of time.
    fn stepped(v: f64, a: f64, accel: f64, jerk: f64) -> f64 {
        let (mut v, mut a, mut s) = (v, a, 0.0);
        let h = 1e-6;
        while v > 0.0 {
            // raise the acceleration again just in time to end without any
            let up = a < 0.0 && v <= 0.5 * a * a / jerk;
            let next = if up { (a + jerk * h).min(0.0) } else { (a - jerk * h).max(-accel) };
            s += v * h;
            v += 0.5 * (a + next) * h;
            a = next;
            if up && a == 0.0 {
                break;
            }
        }
        s
    }

    #[test]
    fn the_braking_path_is_what_braking_takes() {
        // derived: the same braking stepped through at 1 µs
        for (v, a) in
            [(100.0, 0.0), (100.0, 1500.0), (100.0, -1500.0), (20.0, 800.0), (300.0, -4000.0)]
        {
            let (accel, jerk) = (4000.0, 60_000.0);
            let closed = braking(v, a, 0.0, accel, jerk);
            let slow = stepped(v, a, accel, jerk);
            assert!((closed - slow).abs() < 2e-3 * slow + 1e-3, "{v} {a}: {closed} {slow}");
        }
    }
}
