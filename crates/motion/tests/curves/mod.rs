//! Paths with known derivatives, on a grid, for the tests.

#![allow(dead_code, reason = "each test file uses some of the curves")]

use motion::path::PathGrid;

/// A path with its derivatives, owned.
#[derive(Clone)]
pub(crate) struct Curve {
    pub(crate) axes: usize,
    pub(crate) s: Vec<f64>,
    pub(crate) first: Vec<f64>,
    pub(crate) second: Vec<f64>,
    pub(crate) feed: Vec<f64>,
}

impl Curve {
    /// Samples `derivatives(s) -> (q', q'')` at `points` equal steps over `length`.
    pub(crate) fn sample<const N: usize>(
        length: f64,
        points: usize,
        derivatives: impl Fn(f64) -> ([f64; N], [f64; N]),
    ) -> Self {
        let s: Vec<f64> = (0..points).map(|i| length * i as f64 / (points - 1) as f64).collect();
        let (mut first, mut second) = (Vec::new(), Vec::new());
        for &at in &s {
            let (q1, q2) = derivatives(at);
            first.extend(q1);
            second.extend(q2);
        }
        Self { axes: N, s, first, second, feed: Vec::new() }
    }

    /// The same curve with a speed cap on every interval.
    pub(crate) fn with_feed(mut self, feed: f64) -> Self {
        self.feed = vec![feed; self.s.len() - 1];
        self
    }

    /// From rest to rest.
    pub(crate) fn grid(&self) -> PathGrid<'_> {
        PathGrid {
            s: &self.s,
            first: &self.first,
            second: &self.second,
            feed_cap: &self.feed,
            feed_kind: &[],
            point_cap: &[],
            start_speed: 0.0,
            end_speed: 0.0,
        }
    }

    /// The same curve driven backwards.
    pub(crate) fn reversed(&self) -> Self {
        let last = self.s[self.s.len() - 1];
        let flip = |v: &[f64], sign: f64| -> Vec<f64> {
            v.chunks(self.axes).rev().flatten().map(|x| sign * x).collect()
        };
        Self {
            axes: self.axes,
            s: self.s.iter().rev().map(|s| last - s).collect(),
            first: flip(&self.first, -1.0),
            second: flip(&self.second, 1.0),
            feed: self.feed.iter().rev().copied().collect(),
        }
    }
}

/// Part of a circle in two axes.
pub(crate) fn circle(radius: f64, turn_rad: f64, points: usize) -> Curve {
    Curve::sample(radius * turn_rad, points, |s| {
        let (sin, cos) = (s / radius).sin_cos();
        ([-sin, cos], [-cos / radius, -sin / radius])
    })
}

/// A straight line in one axis.
pub(crate) fn line(length: f64, points: usize) -> Curve {
    Curve::sample(length, points, |_| ([1.0], [0.0]))
}
