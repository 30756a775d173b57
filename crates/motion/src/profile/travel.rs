//! A straight move between two speeds over a given distance.

use thiserror::Error;

use super::{MoveLimits, Ramp};

/// Position, speed and acceleration at one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct State {
    /// Distance from the start of the move.
    pub position: f64,
    /// Speed.
    pub speed: f64,
    /// Acceleration.
    pub acceleration: f64,
}

/// A stretch of steady jerk.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Segment {
    /// When it begins, s from the start of the move.
    pub start_s: f64,
    /// How long it lasts, s.
    pub time_s: f64,
    /// Jerk.
    pub jerk: f64,
    /// State where it begins.
    pub state: State,
}

/// Why a move is not possible.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum MoveError {
    /// A limit, speed or distance that is not allowed.
    #[error("{quantity} is {value}, expected {expected}")]
    Value {
        /// What was given.
        quantity: &'static str,
        /// Its value.
        value: f64,
        /// What was expected.
        expected: &'static str,
    },
    /// The distance is shorter than the ramp between the end speeds.
    #[error(
        "{distance} is too short to change speed from {from} to {to}, which needs {needed}; lengthen the move or bring the speeds closer"
    )]
    TooShort {
        /// Distance of the move.
        distance: f64,
        /// Speed before.
        from: f64,
        /// Speed after.
        to: f64,
        /// Length of the ramp between the speeds.
        needed: f64,
    },
}

/// The fastest straight move with zero acceleration at its ends.
#[derive(Debug, Clone, PartialEq)]
pub struct Move {
    segments: Vec<Segment>,
    time_s: f64,
    peak_speed: f64,
}

impl Move {
    /// Plans a move over `distance` from `start_speed` to `end_speed`.
    pub fn new(
        distance: f64,
        start_speed: f64,
        end_speed: f64,
        limits: &MoveLimits,
    ) -> Result<Self, MoveError> {
        check(distance, start_speed, end_speed, limits)?;
        let peak_speed = peak_speed(distance, start_speed, end_speed, limits)?;
        let up = Ramp::new(start_speed, peak_speed, limits);
        let down = Ramp::new(peak_speed, end_speed, limits);
        let steady = (distance - up.length() - down.length()).max(0.0);
        let cruise_s = if steady > 0.0 { steady / peak_speed } else { 0.0 };
        Ok(Self {
            time_s: up.time_s() + cruise_s + down.time_s(),
            segments: segments(&up, cruise_s, &down, limits),
            peak_speed,
        })
    }

    /// Plans a move from rest to rest.
    pub fn rest_to_rest(distance: f64, limits: &MoveLimits) -> Result<Self, MoveError> {
        Self::new(distance, 0.0, 0.0, limits)
    }

    /// Time of the move, s.
    pub fn time_s(&self) -> f64 {
        self.time_s
    }

    /// Highest speed reached.
    pub fn peak_speed(&self) -> f64 {
        self.peak_speed
    }

    /// Stretches of steady jerk, in order; with infinite jerk, of steady acceleration.
    pub fn segments(&self) -> &[Segment] {
        &self.segments
    }

    /// State `t_s` after the start; before and after the move, that at its ends.
    pub fn at(&self, t_s: f64) -> State {
        let after = self.segments.partition_point(|s| s.start_s <= t_s);
        match self.segments.get(after.saturating_sub(1)) {
            Some(segment) => segment.at((t_s - segment.start_s).clamp(0.0, segment.time_s)),
            None => State { position: 0.0, speed: 0.0, acceleration: 0.0 },
        }
    }

    /// When the move has gone `distance`, s; its ends outside of it.
    pub fn time_at(&self, distance: f64) -> f64 {
        let after = self.segments.partition_point(|s| s.state.position <= distance);
        let Some(segment) = after.checked_sub(1).map(|last| &self.segments[last]) else {
            return 0.0;
        };
        segment.start_s + segment.time_to(distance)
    }
}

/// Halvings that find a time.
const HALVINGS: usize = 60;

impl Segment {
    /// Time from its beginning to where the move has gone `distance`, s, at most as long as it lasts.
    fn time_to(&self, distance: f64) -> f64 {
        let State { position, speed, acceleration } = self.state;
        if self.jerk == 0.0 && acceleration == 0.0 && speed > 0.0 {
            return ((distance - position) / speed).clamp(0.0, self.time_s);
        }
        let (mut low, mut high) = (0.0, self.time_s);
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if self.at(middle).position < distance {
                low = middle;
            } else {
                high = middle;
            }
        }
        0.5 * (low + high)
    }

    /// State `t_s` after the segment begins.
    pub fn at(&self, t_s: f64) -> State {
        let State { position, speed, acceleration } = self.state;
        State {
            position: position + t_s * (speed + t_s * (acceleration / 2.0 + t_s * self.jerk / 6.0)),
            speed: speed + t_s * (acceleration + t_s * self.jerk / 2.0),
            acceleration: acceleration + t_s * self.jerk,
        }
    }
}

/// The peak speed: the limit if the ramps to it fit, else where they meet.
fn peak_speed(d: f64, from: f64, to: f64, limits: &MoveLimits) -> Result<f64, MoveError> {
    let needed = Ramp::new(from, to, limits).length();
    if d < needed * (1.0 - ROUNDING) {
        return Err(MoveError::TooShort { distance: d, from, to, needed });
    }
    let room = |peak: f64| {
        d - Ramp::new(from, peak, limits).length() - Ramp::new(peak, to, limits).length()
    };
    if room(limits.speed) >= 0.0 {
        return Ok(limits.speed);
    }
    if from == 0.0 && to == 0.0 {
        return Ok(rest_to_rest_peak(d, limits));
    }
    Ok(bisect(from.max(to), limits.speed, room))
}

/// Rounding of a ramp's length, relative: a move of just that length is allowed.
const ROUNDING: f64 = 1e-14;

/// Peak speed from rest to rest below the speed limit.
fn rest_to_rest_peak(d: f64, limits: &MoveLimits) -> f64 {
    let (a, j) = (limits.acceleration, limits.jerk);
    let to_full = a / j;
    if d >= 2.0 * a * to_full * to_full {
        // (a/2)(√((a/J)² + 4d/a) − a/J), free of cancellation
        return 2.0 * d / ((to_full * to_full + 4.0 * d / a).sqrt() + to_full);
    }
    let quarter_s = (d / (2.0 * j)).cbrt();
    j * quarter_s * quarter_s
}

/// Where the falling `room` passes zero, to the last bit.
fn bisect(mut low: f64, mut high: f64, room: impl Fn(f64) -> f64) -> f64 {
    loop {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            return low;
        }
        if room(middle) >= 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
}

/// The seven segments, those without duration left out.
fn segments(up: &Ramp, cruise_s: f64, down: &Ramp, limits: &MoveLimits) -> Vec<Segment> {
    let mut list = Vec::with_capacity(7);
    let mut state = State { position: 0.0, speed: up.from, acceleration: 0.0 };
    let mut start_s = 0.0;
    let mut push = |time_s: f64, jerk: f64, acceleration: f64| {
        state.acceleration = acceleration;
        let segment = Segment { start_s, time_s, jerk, state };
        if time_s > 0.0 {
            list.push(segment);
            state = segment.at(time_s);
            start_s += time_s;
        }
    };
    for (ramp, sense) in [(up, 1.0), (down, -1.0)] {
        let jerk = if limits.jerk.is_finite() { sense * limits.jerk } else { 0.0 };
        let top = if ramp.steady_time_s > 0.0 {
            limits.acceleration
        } else {
            jerk.abs() * ramp.jerk_time_s
        };
        push(ramp.jerk_time_s, jerk, 0.0);
        push(ramp.steady_time_s, 0.0, sense * top);
        push(ramp.jerk_time_s, -jerk, sense * top);
        if sense > 0.0 {
            push(cruise_s, 0.0, 0.0);
        }
    }
    if list.is_empty() {
        list.push(Segment { start_s: 0.0, time_s: 0.0, jerk: 0.0, state });
    }
    list
}

fn check(d: f64, from: f64, to: f64, limits: &MoveLimits) -> Result<(), MoveError> {
    let refuse = |quantity, value, expected| Err(MoveError::Value { quantity, value, expected });
    if !(limits.speed > 0.0 && limits.speed.is_finite()) {
        return refuse("speed limit", limits.speed, "greater than 0, finite");
    }
    if !(limits.acceleration > 0.0) {
        return refuse("acceleration limit", limits.acceleration, "greater than 0");
    }
    if !(limits.jerk > 0.0) {
        return refuse("jerk limit", limits.jerk, "greater than 0");
    }
    if !(d >= 0.0 && d.is_finite()) {
        return refuse("distance", d, "finite, not negative");
    }
    for (quantity, v) in [("start speed", from), ("end speed", to)] {
        if !(0.0..=limits.speed).contains(&v) {
            return refuse(quantity, v, "between 0 and the speed limit");
        }
    }
    Ok(())
}
