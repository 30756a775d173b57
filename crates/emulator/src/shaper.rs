//! What becomes of the interpolated positions before they are the axes' own: filters and lags.

use crate::legs::Q;
use std::collections::VecDeque;

/// Works on positions sample by sample.
pub(crate) trait Shaper {
    /// Stands at `q`; the next motion is a rapid or a feed.
    fn rest(&mut self, q: &Q, rapid: bool);
    /// Takes the next commanded position and gives the one of the axes.
    fn push(&mut self, q: &Q) -> Q;
}

/// Moving averages in a row, each axis with its own.
#[derive(Debug, Clone)]
pub(crate) struct Averages {
    feed: Vec<[usize; 5]>,
    rapid: Vec<[usize; 5]>,
    stages: Vec<[Average; 5]>,
}

/// A mean over the last `length` intervals of a signal that is straight between its samples.
#[derive(Debug, Clone, Default)]
struct Average {
    length: usize,
    kept: VecDeque<f64>,
    sum: f64,
}

impl Average {
    fn rest(&mut self, at: f64, length: usize) {
        self.length = length;
        self.kept.clear();
        self.kept.extend(std::iter::repeat_n(at, length + 1));
        self.sum = at * length as f64;
    }

    fn push(&mut self, value: f64) -> f64 {
        if self.length == 0 {
            return value;
        }
        let newest = self.kept[self.length];
        let oldest = self.kept.pop_front().unwrap_or(value);
        let second = self.kept.front().copied().unwrap_or(value);
        self.sum += 0.5 * (newest + value) - 0.5 * (oldest + second);
        self.kept.push_back(value);
        self.sum / self.length as f64
    }
}

/// Whole samples in a time.
fn samples(time_s: f64, sample_s: f64) -> usize {
    (time_s / sample_s).round() as usize
}

impl Averages {
    /// Stages of times per axis, s, for feeds and for rapids; as many of each.
    pub(crate) fn new(feed_s: &[[f64; 5]], rapid_s: &[[f64; 5]], sample_s: f64) -> Self {
        let count = |times: &[[f64; 5]]| -> Vec<[usize; 5]> {
            times.iter().map(|t| t.map(|t| samples(t, sample_s))).collect()
        };
        let stages = feed_s.iter().map(|_| std::array::from_fn(|_| Average::default())).collect();
        Self { feed: count(feed_s), rapid: count(rapid_s), stages }
    }
}

impl Shaper for Averages {
    fn rest(&mut self, q: &Q, rapid: bool) {
        let lengths = if rapid { &self.rapid } else { &self.feed };
        for (stage, lengths) in self.stages.iter_mut().zip(lengths) {
            for i in 0..5 {
                stage[i].rest(q[i], lengths[i]);
            }
        }
    }

    fn push(&mut self, q: &Q) -> Q {
        self.stages.iter_mut().fold(*q, |q, stage| std::array::from_fn(|i| stage[i].push(q[i])))
    }
}

/// First-order lags, each axis with its own.
#[derive(Debug, Clone)]
pub(crate) struct Lags {
    feed_s: [f64; 5],
    rapid_s: [f64; 5],
    sample_s: f64,
    now_s: [f64; 5],
    command: Q,
    actual: Q,
}

impl Lags {
    pub(crate) fn new(feed_s: [f64; 5], rapid_s: [f64; 5], sample_s: f64) -> Self {
        Self { feed_s, rapid_s, sample_s, now_s: feed_s, command: [0.0; 5], actual: [0.0; 5] }
    }
}

impl Shaper for Lags {
    fn rest(&mut self, q: &Q, rapid: bool) {
        self.now_s = if rapid { self.rapid_s } else { self.feed_s };
        self.command = *q;
        self.actual = *q;
    }

    fn push(&mut self, q: &Q) -> Q {
        for i in 0..5 {
            // exact for a command that is straight between samples
            let tau = self.now_s[i];
            let behind = tau * (q[i] - self.command[i]) / self.sample_s;
            let decay = (-self.sample_s / tau).exp();
            self.actual[i] = q[i] - behind + (self.actual[i] - self.command[i] + behind) * decay;
        }
        self.command = *q;
        self.actual
    }
}
