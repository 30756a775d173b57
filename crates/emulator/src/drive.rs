//! The clock of the control: reads blocks, asks the generator for the next sample, shapes it, and
//! notes when each move is done.

use crate::legs::{Leg, Q, Refused};
use crate::queue::Queue;
use crate::shaper::Shaper;
use crate::span::{Course, Span};
use crate::{Hidden, Sample, Timing};
use machine::track::Track;

/// Samples without reaching the end of a span after which the control counts as stuck.
const PATIENCE: usize = 20_000_000;

/// Where the commanded point is.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Cursor {
    /// Span in motion.
    pub(crate) span: usize,
    /// Length along it.
    pub(crate) s: f64,
    /// Speed.
    pub(crate) v: f64,
    /// Acceleration; only for generators that limit jerk.
    pub(crate) a: f64,
}

/// What a generator did.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Step {
    /// Time it took, s.
    pub(crate) used_s: f64,
    /// Whether the span's end is reached.
    pub(crate) ended: bool,
}

/// Moves the commanded point along the spans.
pub(crate) trait Generator {
    /// Goes on for at most `left` seconds and at most to the end of the span; spans from `ready`
    /// on are not known yet.
    fn step(&mut self, at: &mut Cursor, spans: &[Span], ready: usize, left: f64) -> Step;
}

/// A family made ready for one track.
pub(crate) struct Prepared<'a> {
    pub(crate) spans: Vec<Span>,
    pub(crate) course: Box<dyn Course + 'a>,
    pub(crate) generator: Box<dyn Generator>,
    pub(crate) shaper: Box<dyn Shaper>,
}

/// One run of one track.
pub(crate) struct Drive<'a> {
    hidden: &'a Hidden,
    legs: &'a [Leg],
    prepared: Prepared<'a>,
    /// First span of every leg, and the number of spans.
    first_span: Vec<usize>,
    queue: Queue,
    at: Cursor,
    now_s: f64,
    /// When each leg is done, s.
    done_s: Vec<f64>,
    samples: Option<Vec<Sample>>,
    standing: bool,
}

impl<'a> Drive<'a> {
    pub(crate) fn new(
        hidden: &'a Hidden,
        legs: &'a [Leg],
        prepared: Prepared<'a>,
        keep_samples: bool,
    ) -> Self {
        let mut first_span = vec![prepared.spans.len(); legs.len() + 1];
        for (index, span) in prepared.spans.iter().enumerate().rev() {
            first_span[span.leg] = index;
        }
        for leg in (0..legs.len()).rev() {
            first_span[leg] = first_span[leg].min(first_span[leg + 1]);
        }
        Self {
            hidden,
            legs,
            prepared,
            first_span,
            queue: Queue::new(hidden.block_time_s, hidden.queue_blocks),
            at: Cursor::default(),
            now_s: 0.0,
            done_s: vec![0.0; legs.len()],
            samples: keep_samples.then(Vec::new),
            standing: true,
        }
    }

    /// Runs everything and says when what was done.
    pub(crate) fn run(mut self, track: &Track) -> Result<Timing, Refused> {
        let mut timing = Timing {
            moves_s: vec![0.0; track.moves.len()],
            waits_s: Vec::with_capacity(track.waits.len()),
            total_s: 0.0,
            samples: Vec::new(),
        };
        let mut leg = 0;
        for wait in &track.waits {
            let until = leg + self.legs[leg..].iter().take_while(|l| l.index < wait.after).count();
            self.stretch(leg, until, &mut timing)?;
            leg = until;
            let seconds = self.hidden.event_s(&wait.event);
            self.now_s += seconds;
            timing.waits_s.push(seconds * self.hidden.clock_factor);
        }
        self.stretch(leg, self.legs.len(), &mut timing)?;
        timing.total_s = timing.moves_s.iter().sum::<f64>() + timing.waits_s.iter().sum::<f64>();
        timing.samples = self.samples.unwrap_or_default();
        Ok(timing)
    }

    /// Legs `from..until`, with nothing to wait for between them.
    fn stretch(&mut self, from: usize, until: usize, timing: &mut Timing) -> Result<(), Refused> {
        if from == until {
            return Ok(());
        }
        self.queue.resume(self.now_s, until);
        self.queue.moved_to(from, self.now_s);
        let mut before = self.now_s;
        let end = self.first_span[until];
        let mut idle = 0;
        while self.at.span < end {
            let span = self.at.span;
            self.sample();
            idle = if self.at.span == span { idle + 1 } else { 0 };
            if idle > PATIENCE {
                let index = self.legs[self.prepared.spans[span].leg].index;
                return Err(Refused { index, why: "the control does not get to its end" });
            }
        }
        for leg in from..until {
            timing.moves_s[self.legs[leg].index] =
                (self.done_s[leg] - before) * self.hidden.clock_factor;
            before = self.done_s[leg];
        }
        Ok(())
    }

    /// One tick of the clock; shorter where it ends in a stop.
    fn sample(&mut self) {
        let dt = self.hidden.sample_s;
        let start = self.now_s;
        if self.standing {
            self.stand();
        }
        let mut left = dt;
        while left > 0.0 {
            let now = start + (dt - left);
            let legs = self.legs;
            let ready_legs = self.queue.ready(now, |leg| legs[leg].idle_blocks);
            let ready = self.first_span[ready_legs];
            if self.at.span >= ready {
                self.at.v = 0.0;
                self.at.a = 0.0;
                let next = self.queue.next_s().unwrap_or(f64::INFINITY);
                left -= (next - now).max(1e-12).min(left);
                continue;
            }
            // what is ready changes within the tick
            let next = self.queue.next_s().map_or(left, |next| left.min((next - now).max(1e-9)));
            let spans = &self.prepared.spans;
            let step = self.prepared.generator.step(&mut self.at, spans, ready, next);
            left -= step.used_s;
            if step.ended && self.span_ended(start + (dt - left), start) {
                return;
            }
        }
        self.now_s = start + dt;
        let q = self.prepared.course.joints(self.at.span, self.at.s);
        let out = self.prepared.shaper.push(&q);
        self.keep(self.now_s, out);
    }

    /// Takes over from standstill.
    fn stand(&mut self) {
        let q = self.prepared.course.joints(self.at.span, 0.0);
        let rapid = self.prepared.spans[self.at.span].rapid;
        self.prepared.shaper.rest(&q, rapid);
        self.keep(self.now_s, q);
        self.standing = false;
    }

    /// Goes to the next span; true where the axes have come to rest.
    fn span_ended(&mut self, now: f64, tick: f64) -> bool {
        let span = self.prepared.spans[self.at.span];
        if let Some(leg) = span.ends {
            self.done_s[leg] = now;
        }
        if span.stops() {
            self.now_s = self.settle(now, tick) + self.hidden.in_position_s;
            if let Some(leg) = span.ends {
                self.done_s[leg] = self.now_s;
            }
            self.standing = true;
            self.at.v = 0.0;
            self.at.a = 0.0;
        }
        self.at.span += 1;
        self.at.s = 0.0;
        if let Some(next) = self.prepared.spans.get(self.at.span)
            && next.leg != span.leg
        {
            let now = if self.standing { self.now_s } else { now };
            self.queue.moved_to(next.leg, now);
        }
        self.standing
    }

    /// When the axes are inside their windows, the command having arrived at `arrived` in the tick
    /// that began at `tick`.
    fn settle(&mut self, arrived: f64, tick: f64) -> f64 {
        let dt = self.hidden.sample_s;
        let target =
            self.prepared.course.joints(self.at.span, self.prepared.spans[self.at.span].length);
        let axes = self.hidden.axes.len();
        let off = |q: &Q| {
            (0..axes).map(|i| (q[i] - target[i]).abs() / self.hidden.window(i)).fold(0.0, f64::max)
        };
        let mut before: Option<f64> = None;
        let mut k = 0;
        loop {
            k += 1;
            let time = tick + dt * f64::from(k);
            let out = self.prepared.shaper.push(&target);
            let now = off(&out);
            if now <= 1.0 {
                // filters run out as a square, and a lag is straight over one tick
                let inside = match before {
                    Some(b) if b > 1.0 => {
                        let (b, now) = (b.sqrt(), now.sqrt());
                        time - dt * (1.0 - now) / (b - now)
                    }
                    _ => arrived,
                };
                let settled = inside.max(arrived);
                self.keep(settled.max(tick), target);
                return settled;
            }
            self.keep(time, out);
            before = Some(now);
        }
    }

    fn keep(&mut self, time_s: f64, joints: Q) {
        if let Some(samples) = &mut self.samples {
            samples.push(Sample { time_s, joints });
        }
    }
}
