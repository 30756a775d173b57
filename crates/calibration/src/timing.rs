//! The time of a stretch on a machine, without driving all its loops.

use crate::stretch::{Action, Stretch};
use machine::track::{Track, Wait};
use machine::{Event, Machine, Scenario, TrackOptions, TrackTimer};

/// Loops of the two reckonings between which the time of one more loop is taken; fewer of those that
/// have many moves.
const LOOPS: [u32; 2] = [1, 3];
const MANY: usize = 60;

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

    /// Time of the whole stretch on `machine`, s; `None` where the machine cannot drive it.
    ///
    /// Loops repeat, so that the time grows evenly once the first is done.
    pub fn time_s(&self, machine: &Machine) -> Option<f64> {
        let time = |loops: u32| {
            let track = self.track(loops);
            let timer = TrackTimer::new(&track, machine, &TrackOptions::default()).ok()?;
            timer.times(&Scenario::default()).ok().map(|t| t.total_s)
        };
        let [few, more] = if self.actions.len() > MANY { [1, 2] } else { LOOPS };
        if self.repeats <= more {
            return time(self.repeats);
        }
        let (once, often) = (time(few)?, time(more)?);
        let one = (often - once) / f64::from(more - few);
        Some(often + one * f64::from(self.repeats - more))
    }
}
