//! How fast a curve may be run, looked for at points along it before it is run.

use crate::AxisHidden;
use crate::legs::Q;

/// Of an axis' acceleration, what a bend may take, and what is left along the path: on a circle the
/// two complement each other; where both fall on one axis, as on a rotary one, they add up to 1.4.
const ACROSS: f64 = 0.8;
const ALONG: f64 = 0.6;
/// Shorter steps drown differences of third order in rounding, mm or deg.
const LEAST_STEP: f64 = 1e-4;

/// Largest speed, acceleration and jerk along a curve, in its own unit of length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Limits {
    pub(crate) speed: f64,
    pub(crate) accel: f64,
    pub(crate) jerk: f64,
}

/// Which limits of the axes hold.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Heed<'a> {
    pub(crate) axes: &'a [AxisHidden],
    /// Whether the accelerations of rapids hold.
    pub(crate) rapid: bool,
    /// Whether bends are slowed for the axes' acceleration.
    pub(crate) bends: bool,
    /// Whether bends are slowed for the axes' jerk as well.
    pub(crate) jerk: bool,
}

/// A curve of joints at even steps.
#[derive(Debug, Clone)]
pub(crate) struct Points {
    joints: Vec<Q>,
    step: f64,
}

impl Points {
    /// Cuts a curve that starts at 0 into equal parts, fewer where they would be too short.
    pub(crate) fn on(curve: impl Fn(f64) -> Q, length: f64, parts: usize) -> Self {
        let parts = parts.min((length / LEAST_STEP) as usize).max(1);
        let step = length / parts as f64;
        Self { joints: (0..=parts).map(|k| curve(step * k as f64)).collect(), step }
    }
}

impl Heed<'_> {
    /// Limits along a curve of joints that starts at 0, looked at in `parts` equal parts; one part:
    /// the joints run evenly.
    pub(crate) fn along(&self, curve: impl Fn(f64) -> Q, length: f64, parts: usize) -> Limits {
        self.through(&Points::on(curve, length, parts))
    }

    /// Limits on a curve through `points`.
    pub(crate) fn through(&self, points: &Points) -> Limits {
        let Points { joints, step } = points;
        let first = differences(joints, *step);
        let mut limits = Limits { speed: f64::INFINITY, accel: f64::INFINITY, jerk: f64::INFINITY };
        let bent = self.bends && first.len() > 1;
        let along = if bent { ALONG } else { 1.0 };
        for (i, axis) in self.axes.iter().enumerate() {
            let most = largest(&first, i);
            let accel = if self.rapid { axis.rapid_accel } else { axis.accel };
            limits.speed = limits.speed.min(axis.speed / most);
            limits.accel = limits.accel.min(along * accel / most);
            limits.jerk = limits.jerk.min(along * axis.jerk / most);
        }
        if bent {
            limits.speed = limits.speed.min(self.bend_speed(&first, *step));
        }
        limits
    }

    fn bend_speed(&self, first: &[Q], step: f64) -> f64 {
        let second = differences(first, step);
        let third = differences(&second, step);
        let mut speed = f64::INFINITY;
        for (i, axis) in self.axes.iter().enumerate() {
            let accel = if self.rapid { axis.rapid_accel } else { axis.accel };
            speed = speed.min((ACROSS * accel / largest(&second, i)).sqrt());
            if self.jerk {
                speed = speed.min((axis.jerk / largest(&third, i)).cbrt());
            }
        }
        speed
    }
}

fn differences(points: &[Q], step: f64) -> Vec<Q> {
    points
        .windows(2)
        .map(|pair| std::array::from_fn(|i| (pair[1][i] - pair[0][i]) / step))
        .collect()
}

fn largest(points: &[Q], axis: usize) -> f64 {
    points.iter().map(|q| q[axis].abs()).fold(0.0, f64::max)
}
