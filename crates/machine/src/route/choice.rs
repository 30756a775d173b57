//! Which of its solutions each stretch of a path is driven in.
//!
//! Between two rapids the rotary axes follow the tool without turning over; in a rapid they may.
//! A dynamic programme over those stretches picks, for each, one of the two solutions and the
//! number of whole turns: first that all rotary axes stay inside their travel, then that the least
//! time goes into turning.

use crate::{Axis, Kinematics};
use std::f64::consts::{PI, TAU};

/// Angles of one stretch in its first solution: at its ends and their range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Span {
    pub(crate) start: [f64; 2],
    pub(crate) end: [f64; 2],
    pub(crate) low: [f64; 2],
    pub(crate) high: [f64; 2],
}

/// How a stretch is driven: θ (mirrored or not) plus whole turns.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Choice {
    pub(crate) mirrored: bool,
    pub(crate) turns: [i32; 2],
}

/// Whole turns tried on an axis of limited travel, both ways.
const TURNS: i32 = 3;
/// Seconds that stand for leaving the travel by one radian, and for leaving it at all.
const OUTSIDE_S: f64 = 1e6;
/// Seconds that stand for turning over, to break ties.
const FLIP_S: f64 = 1e-3;

impl Choice {
    /// Angles of the first solution as they are driven under this choice.
    pub(crate) fn apply(self, kinematics: &Kinematics, theta: [f64; 2]) -> [f64; 2] {
        let t = if self.mirrored { kinematics.mirrored(theta) } else { theta };
        std::array::from_fn(|k| t[k] + TAU * f64::from(self.turns[k]))
    }
}

/// Chooses for stretches in order, starting from rotary zero.
pub(crate) struct Chooser<'a> {
    pub(crate) kinematics: &'a Kinematics,
    /// The rotary axes.
    pub(crate) axes: &'a [Axis],
}

#[derive(Clone)]
struct State {
    choice: Choice,
    cost: f64,
    from: usize,
    end: [f64; 2],
}

impl Chooser<'_> {
    /// One choice per stretch.
    pub(crate) fn choose(&self, spans: &[Span]) -> Vec<Choice> {
        let rest = State { choice: Choice::default(), cost: 0.0, from: 0, end: [0.0; 2] };
        let mut stages: Vec<Vec<State>> = vec![vec![rest]];
        for span in spans {
            let next = self.stage(&stages[stages.len() - 1], span);
            stages.push(next);
        }
        backwards(&stages)
    }

    fn stage(&self, before: &[State], span: &Span) -> Vec<State> {
        let mut states = Vec::new();
        for mirrored in self.solutions() {
            for turns in self.windings() {
                let best = before
                    .iter()
                    .enumerate()
                    .map(|(i, state)| {
                        self.enter(i, state, span, Choice { mirrored: *mirrored, turns })
                    })
                    .min_by(|a, b| a.cost.total_cmp(&b.cost));
                states.extend(best);
            }
        }
        states
    }

    fn solutions(&self) -> &'static [bool] {
        if self.axes.len() == 2 { &[false, true] } else { &[false] }
    }

    /// Whole turns to try; an endless axis takes those nearest to where it stands.
    fn windings(&self) -> impl Iterator<Item = [i32; 2]> {
        let most = |k: usize| match self.axes.get(k) {
            Some(axis) if axis.travel.is_some() => TURNS,
            _ => 0,
        };
        let (first, second) = (most(0), most(1));
        (-first..=first).flat_map(move |a| (-second..=second).map(move |b| [a, b]))
    }

    fn enter(&self, from: usize, state: &State, span: &Span, choice: Choice) -> State {
        let mut choice = choice;
        let start = choice.apply(self.kinematics, span.start);
        for k in 0..self.axes.len() {
            if self.axes[k].travel.is_none() {
                choice.turns[k] = ((state.end[k] - start[k]) / TAU).round() as i32;
            }
        }
        let start = choice.apply(self.kinematics, span.start);
        let turning = |k: usize| (start[k] - state.end[k]).abs() / self.axes[k].max_speed;
        let (mut longest, mut sum) = (0.0f64, 0.0);
        for k in 0..self.axes.len() {
            longest = longest.max(turning(k));
            sum += turning(k);
        }
        let flip = if choice.mirrored != state.choice.mirrored { FLIP_S } else { 0.0 };
        let cost = state.cost + longest + 1e-3 * sum + flip + self.outside(span, choice);
        State { choice, cost, from, end: choice.apply(self.kinematics, span.end) }
    }

    /// Cost of leaving the travel.
    fn outside(&self, span: &Span, choice: Choice) -> f64 {
        let ends =
            [choice.apply(self.kinematics, span.low), choice.apply(self.kinematics, span.high)];
        let mut cost = 0.0;
        for (k, axis) in self.axes.iter().enumerate() {
            let Some([low, high]) = axis.travel else { continue };
            let (a, b) = (ends[0][k] * axis.direction, ends[1][k] * axis.direction);
            let beyond = (low - a.min(b)).max(a.max(b) - high);
            if beyond > geom::tolerance::PARALLEL_RAD {
                cost += OUTSIDE_S * (1.0 + beyond.min(PI));
            }
        }
        cost
    }
}

fn backwards(stages: &[Vec<State>]) -> Vec<Choice> {
    let cheapest = |states: &[State]| {
        (0..states.len()).min_by(|&a, &b| states[a].cost.total_cmp(&states[b].cost)).unwrap_or(0)
    };
    let mut at = stages.last().map_or(0, |s| cheapest(s));
    let mut choices = Vec::with_capacity(stages.len());
    for states in stages.iter().skip(1).rev() {
        choices.push(states[at].choice);
        at = states[at].from;
    }
    choices.reverse();
    choices
}
