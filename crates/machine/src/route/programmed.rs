//! A toolpath as the moves that a program asks for: tips and rotary angles, each move divided where
//! the tool axis would leave its great circle.

use super::error::AccountError;
use super::{RouteOptions, trace};
use crate::track::{Feed, Frame, Move, Place, Shape, Track};
use crate::{Kinematics, Machine};
use geom::tolerance::COINCIDENT_MM;
use toolpath::Toolpath;

impl Track {
    /// The moves of `toolpath` on `machine`, in program coordinates and the solutions of the rotary
    /// axes that a [`super::Route`] takes; `block` is the index of the run.
    ///
    /// Under tip control, and on a machine without rotary axes, the moves go where the toolpath goes.
    ///
    /// # Errors
    /// Poses out of reach, feeds that are none.
    pub fn of_toolpath(
        toolpath: &Toolpath,
        machine: &Machine,
        options: &RouteOptions,
    ) -> Result<Self, AccountError> {
        let kinematics = Kinematics::new(machine, &options.mounting);
        let nominal = machine.path_tolerance_mm.value.max(COINCIDENT_MM);
        let tolerance_rad = 0.25 * nominal / options.lever_mm;
        let traced = trace::trace(toolpath, machine, &kinematics, options.lever_mm, tolerance_rad)?;
        let path = traced.path;
        let place =
            |i: usize| Place { linear: path.vertices[i].tip, rotary: path.vertices[i].theta };
        let moves = path.legs.iter().enumerate().map(|(i, leg)| {
            let tip_mm = leg.length * leg.tip_share;
            let feed = if leg.is_rapid() {
                Feed::Rapid
            } else if tip_mm > COINCIDENT_MM {
                Feed::Speed(leg.feed * leg.tip_share)
            } else {
                Feed::Time(leg.length / leg.feed)
            };
            Move {
                to: place(i + 1),
                shape: Shape::Line,
                feed,
                frame: if machine.turns() { Frame::Tip } else { Frame::Axes },
                stop: false,
                block: leg.run,
                tool: 0,
            }
        });
        let moves = moves.collect();
        let start = if path.vertices.is_empty() { Place::default() } else { place(0) };
        Ok(Self { start, moves, waits: Vec::new() })
    }
}
