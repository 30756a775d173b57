//! A feed generator of constant acceleration: backwards over the spans that are ready, forwards
//! sample by sample.

use crate::drive::{Cursor, Generator, Step};
use crate::span::Span;

/// Remembers the speed allowed at the end of the span in motion.
#[derive(Debug, Clone, Default)]
pub(crate) struct Trapezoid {
    known: Option<(usize, usize)>,
    exit: f64,
}

impl Trapezoid {
    /// Speed at the end of span `now` from which every later limit is met.
    fn exit_speed(now: usize, spans: &[Span], ready: usize) -> f64 {
        if spans[now].stops() {
            return 0.0;
        }
        let (mut top, mut accel, mut distance) = (spans[now].cap, f64::INFINITY, 0.0_f64);
        let mut last = now;
        let mut speed = 0.0;
        while last + 1 < ready {
            last += 1;
            let span = &spans[last];
            top = top.max(span.cap);
            accel = accel.min(span.accel);
            distance += span.length;
            if span.stops() {
                break;
            }
            if distance > top * top / (2.0 * accel) {
                speed = span.cap;
                break;
            }
        }
        for k in (now + 1..=last).rev() {
            let span = &spans[k];
            let reached = speed.min(span.exit) * speed.min(span.exit);
            speed = (reached + 2.0 * span.accel * span.length).sqrt().min(span.cap);
        }
        if last == now { 0.0 } else { speed.min(spans[now].exit).min(spans[now].cap) }
    }
}

impl Generator for Trapezoid {
    fn step(&mut self, at: &mut Cursor, spans: &[Span], ready: usize, left: f64) -> Step {
        if self.known != Some((at.span, ready)) {
            self.exit = Self::exit_speed(at.span, spans, ready);
            self.known = Some((at.span, ready));
        }
        let span = &spans[at.span];
        let (accel, rest) = (span.accel, span.length - at.s);
        let speed = at.v.min(span.cap);
        let top = (speed * speed + 2.0 * accel * rest).sqrt().min(span.cap);
        let out = self.exit.min(top);
        let to_end = 2.0 * rest / (speed + out);
        if rest <= 0.0 || to_end <= left {
            at.v = out;
            at.s = span.length;
            return Step { used_s: if rest <= 0.0 { 0.0 } else { to_end }, ended: true };
        }
        let gap = span.cap - speed;
        let used_s = if gap > 1e-9 * span.cap { left.min(gap / accel) } else { left };
        let half = 0.5 * accel * used_s;
        let room = half * half + self.exit * self.exit + 2.0 * accel * rest - 2.0 * half * speed;
        let braking = (room.max(0.0).sqrt() - half).max(0.0);
        let next = (speed + accel * used_s).min(span.cap).min(braking);
        at.s += 0.5 * (speed + next) * used_s;
        at.v = next;
        Step { used_s, ended: false }
    }
}
