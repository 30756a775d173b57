//! Whether every axis stays inside its travel over an operation and its ways in and out.

use crate::job::{Job, Piece};
use crate::way::Ways;
use geom::tolerance::COINCIDENT_MM;
use machine::track::Place;
use machine::{AxisName, Kinematics};

/// An axis that would have to go beyond an end of its travel; machine coordinates, mm or deg.
#[derive(Debug, Clone, PartialEq)]
pub struct Beyond {
    /// The axis.
    pub axis: AxisName,
    /// By how much, mm or deg.
    pub by: f64,
    /// The end of its travel, mm or deg.
    pub end: f64,
    /// On the way in or out, and not in the operation itself.
    pub on_the_way: bool,
}

impl std::fmt::Display for Beyond {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let unit = if self.axis.is_rotary() { "deg" } else { "mm" };
        let Self { axis, by, end, .. } = self;
        let place = if self.on_the_way { " on the way to the operation or from it" } else { "" };
        write!(
            f,
            "axis {axis} would have to go {by:.3} {unit} beyond its travel to {end:.3} {unit}{place}"
        )
    }
}

/// The axes that a piece would drive beyond their travel, the worst of each; empty: none.
pub fn beyond(job: &Job<'_>, piece: &Piece) -> Vec<Beyond> {
    let tool = &job.tools[piece.tool];
    let ways = Ways::new(job, tool);
    let track = &piece.track;
    let last = track.moves.last().map_or(track.start, |m| m.to);
    let on_the_way: Vec<Place> = [track.start, last]
        .iter()
        .map(|place| ways.to(place))
        .flat_map(|way| [way.over, way.near])
        .collect();
    let own = std::iter::once(track.start).chain(track.moves.iter().map(|m| m.to));
    let all = own.map(|p| (p, false)).chain(on_the_way.into_iter().map(|p| (p, true)));
    let mut found: Vec<Beyond> = Vec::new();
    for (place, way) in all {
        for one in at(job, &ways.kinematics, tool.length_mm, &place) {
            let one = Beyond { on_the_way: way, ..one };
            match found.iter_mut().find(|b| b.axis == one.axis && b.end == one.end) {
                Some(worst) if worst.by >= one.by => {}
                Some(worst) => *worst = one,
                None => found.push(one),
            }
        }
    }
    found.sort_by_key(|b| b.axis);
    found
}

fn at(job: &Job<'_>, kinematics: &Kinematics, length_mm: f64, place: &Place) -> Vec<Beyond> {
    let machine = job.machine;
    let linear = kinematics.linear_at(place.linear, place.rotary);
    let mut out = Vec::new();
    for (k, axis) in machine.axes.iter().enumerate() {
        let Some([low, high]) = axis.travel else { continue };
        let position = match k {
            0 | 1 => linear[k] - machine.reference_mm[k],
            2 => linear.z - machine.reference_mm.z + length_mm,
            _ => axis.direction * place.rotary[k - 3],
        };
        let scale = if axis.name.is_rotary() { 1f64.to_degrees() } else { 1.0 };
        for (end, by) in [(low, low - position), (high, position - high)] {
            if by > COINCIDENT_MM {
                let (by, end) = (by * scale, end * scale);
                out.push(Beyond { axis: axis.name, by, end, on_the_way: false });
            }
        }
    }
    out
}
