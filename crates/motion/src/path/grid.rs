//! The path as the caller hands it over, and the check of it.

use super::{AxisLimits, PlanError};

/// Largest number of axes.
pub const MAX_AXES: usize = 8;

/// A path on a grid, by slices; nothing is copied.
///
/// With n points and m axes the derivatives stand point by point: `first[i * m + k]` is dq_k/ds at
/// `s[i]`. Equal neighbours `s[i] == s[i + 1]` mark a place where q'' jumps (line to arc): give
/// the values before and after it. Under jerk limits such a jump costs time, spread over the two
/// intervals beside it; a path that shall be fast has none.
///
/// The grid must resolve the path: q' and q'' are taken as straight between neighbouring points.
/// Near stops, and where there are few points, the planner refines the grid on its own.
#[derive(Debug, Clone, Copy)]
pub struct PathGrid<'a> {
    /// Path parameter, n values, not decreasing.
    pub s: &'a [f64],
    /// dq/ds, n·m values, point by point.
    pub first: &'a [f64],
    /// d²q/ds², n·m values, point by point.
    pub second: &'a [f64],
    /// Largest ds/dt on each interval, n − 1 values (infinite: none), or empty.
    pub feed_cap: &'a [f64],
    /// What the cap of each interval is (programmed feed, block time, …), n − 1 values, or empty
    /// for kind 0; returned in [`super::ActiveLimit::FeedCap`].
    pub feed_kind: &'a [u8],
    /// Largest ds/dt at each point, n values (infinite: none), or empty.
    pub point_cap: &'a [f64],
    /// ds/dt at the first point; 0 is a stop.
    pub start_speed: f64,
    /// ds/dt at the last point; 0 is a stop.
    pub end_speed: f64,
}

impl PathGrid<'_> {
    /// Refuses a grid or limits that cannot be planned.
    pub(super) fn check(&self, limits: &[AxisLimits]) -> Result<(), PlanError> {
        let (points, axes) = (self.s.len(), limits.len());
        if points < 2 {
            return Err(PlanError::TooShort { points });
        }
        if axes == 0 || axes > MAX_AXES {
            return Err(PlanError::AxisCount { axes });
        }
        same_length("first", self.first, points * axes)?;
        same_length("second", self.second, points * axes)?;
        empty_or_length("feed_cap", self.feed_cap, points - 1)?;
        empty_or_length("feed_kind", self.feed_kind, points - 1)?;
        empty_or_length("point_cap", self.point_cap, points)?;
        self.check_values()?;
        check_limits(limits)
    }

    fn check_values(&self) -> Result<(), PlanError> {
        every("s", self.s, "a finite number", f64::is_finite)?;
        if let Some(i) = self.s.windows(2).position(|w| w[1] < w[0]) {
            return Err(value("s", i + 1, self.s[i + 1], "not less than its neighbour"));
        }
        if self.s[self.s.len() - 1] <= self.s[0] {
            return Err(value("s", self.s.len() - 1, self.s[0], "greater than the first"));
        }
        every("first", self.first, "a finite number", f64::is_finite)?;
        every("second", self.second, "a finite number", f64::is_finite)?;
        every("feed_cap", self.feed_cap, "greater than 0", |v| v > 0.0)?;
        let inner = self.point_cap.len().max(2) - 1;
        every("point_cap", self.point_cap.get(1..inner).unwrap_or(&[]), GREATER, |v| v > 0.0)?;
        every("point_cap", self.point_cap, "not negative", |v| v >= 0.0)?;
        let ends = [self.start_speed, self.end_speed];
        every("start_speed, end_speed", &ends, "finite, not negative", |v| {
            v >= 0.0 && v.is_finite()
        })
    }

    /// The speed cap at an end: that of the point, and none where the slice is empty.
    pub(super) fn point_cap_at(&self, i: usize) -> f64 {
        self.point_cap.get(i).copied().unwrap_or(f64::INFINITY)
    }

    pub(super) fn feed_cap_at(&self, interval: usize) -> f64 {
        self.feed_cap.get(interval).copied().unwrap_or(f64::INFINITY)
    }

    pub(super) fn feed_kind_at(&self, interval: usize) -> u8 {
        self.feed_kind.get(interval).copied().unwrap_or(0)
    }
}

const GREATER: &str = "greater than 0 (split the path at its stops)";

fn check_limits(limits: &[AxisLimits]) -> Result<(), PlanError> {
    for (index, l) in limits.iter().enumerate() {
        let named = [("speed", l.speed), ("acceleration", l.acceleration), ("jerk", l.jerk)];
        for (what, v) in named {
            if !(v > 0.0) {
                return Err(value(what, index, v, "greater than 0"));
            }
        }
    }
    Ok(())
}

fn value(what: &'static str, index: usize, value: f64, expected: &'static str) -> PlanError {
    PlanError::Value { what, index, value, expected }
}

fn every(
    what: &'static str,
    values: &[f64],
    expected: &'static str,
    good: impl Fn(f64) -> bool,
) -> Result<(), PlanError> {
    match values.iter().position(|&v| !good(v)) {
        Some(index) => Err(value(what, index, values[index], expected)),
        None => Ok(()),
    }
}

fn same_length<T>(what: &'static str, values: &[T], expected: usize) -> Result<(), PlanError> {
    if values.len() == expected {
        return Ok(());
    }
    Err(PlanError::Length { what, got: values.len(), expected })
}

fn empty_or_length<T>(what: &'static str, values: &[T], expected: usize) -> Result<(), PlanError> {
    if values.is_empty() { Ok(()) } else { same_length(what, values, expected) }
}
