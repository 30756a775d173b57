//! Times of stretches on a machine.

use crate::stretch::{Action, Stretch};
use machine::track::{Move, Shape, Track, Wait};
use machine::{Event, Machine, Route, RouteOptions};

/// Moves that are reckoned before the time of one more loop is taken: until then the axes, which lag,
/// have come to move alike in every loop. An arc counts as several.
const MOVES: usize = 24;
const MOVES_OF_ARC: usize = 12;

/// A stretch put on the axes of a machine: its geometry, which keeps under other figures as long as
/// the corners are not rounded by it.
#[derive(Debug, Clone)]
pub(crate) struct Laid {
    /// Numbers of loops, the time of so many, and what is waited for in them.
    loops: Vec<(u32, Route, Vec<Event>)>,
    repeats: u32,
}

impl Laid {
    /// Time of the whole stretch on `machine`, s; `None` where it cannot drive it.
    ///
    /// Loops repeat, so that the time grows evenly once the first is done.
    pub(crate) fn time_s(&self, machine: &Machine) -> Option<f64> {
        let dynamics = machine.dynamics();
        let time = |(_, route, events): &(u32, Route, Vec<Event>)| {
            let waits: f64 = events.iter().map(|e| machine.event_s(e, &dynamics)).sum();
            Some(route.time_s(machine).ok()? + waits)
        };
        match self.loops.as_slice() {
            [all] => time(all),
            [a, b] => {
                let (once, often) = (time(a)?, time(b)?);
                let one = (often - once) / f64::from(b.0 - a.0);
                Some(often + one * f64::from(self.repeats - b.0))
            }
            _ => None,
        }
    }
}

impl Stretch {
    /// The motion of `loops` loops, from standing still to standing still.
    pub fn track(&self, loops: u32) -> Track {
        let mut track = Track { start: self.start, ..Track::default() };
        let (mut tool, mut rpm) = (0, 0);
        for action in (0..loops).flat_map(|_| &self.actions) {
            let after = track.moves.len();
            let mut wait = |event| track.waits.push(Wait { after, event, block: 0, tool });
            match action {
                Action::Go(step) => track.moves.push(*step),
                Action::Word(number) => wait(Event::Word(format!("M{number}"))),
                Action::Tool(number) => {
                    wait(Event::ToolChange);
                    tool = *number;
                }
                Action::Spindle(to) => {
                    let [from_rpm, to_rpm] = [rpm, *to].map(f64::from);
                    wait(Event::Spindle { from_rpm, to_rpm });
                    rpm = *to;
                }
            }
        }
        track
    }

    /// The stretch on the axes of `machine`; `None` where it cannot be driven.
    pub(crate) fn laid(&self, machine: &Machine) -> Option<Laid> {
        let lay = |loops: u32| {
            let track = self.track(loops);
            let tolerance_mm = machine.path_tolerance_mm.value;
            let route = Route::of_track(&track, machine, &RouteOptions::default(), tolerance_mm);
            Some((loops, route.ok()?, track.waits.into_iter().map(|w| w.event).collect()))
        };
        let moves = |action: &Action| match action {
            Action::Go(Move { shape: Shape::Arc { .. }, .. }) => MOVES_OF_ARC,
            _ => 1,
        };
        let few = (MOVES / self.actions.iter().map(moves).sum::<usize>().max(1)).max(1) as u32;
        let more = few + few.div_ceil(2);
        let counts = if self.repeats <= more { vec![self.repeats] } else { vec![few, more] };
        let loops: Option<Vec<_>> = counts.into_iter().map(lay).collect();
        Some(Laid { loops: loops?, repeats: self.repeats })
    }

    /// Time of the whole stretch on `machine`, s; `None` where the machine cannot drive it.
    pub fn time_s(&self, machine: &Machine) -> Option<f64> {
        self.laid(machine)?.time_s(machine)
    }
}
