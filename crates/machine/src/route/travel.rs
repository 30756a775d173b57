//! Whether every axis stays inside its travel: which does not, where, and by how much.

use super::grid::Stretch;
use super::leg::Leg;
use crate::kinematics::AxisPosition;
use crate::{AxisName, Machine};
use geom::tolerance::COINCIDENT_MM;

/// An axis that has to go beyond one end of its travel; machine coordinates, mm or rad.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TravelExceeded {
    /// Which axis.
    pub axis: AxisName,
    /// Run in which it goes furthest beyond.
    pub run: usize,
    /// Where it would have to go.
    pub position: f64,
    /// The end of its travel.
    pub end: f64,
}

impl TravelExceeded {
    /// How far beyond the end, mm or rad.
    pub fn beyond(&self) -> f64 {
        (self.position - self.end).abs()
    }
}

impl std::fmt::Display for TravelExceeded {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (scale, unit) =
            if self.axis.is_rotary() { (1f64.to_degrees(), "deg") } else { (1.0, "mm") };
        let Self { axis, run, position, end } = self;
        write!(
            f,
            "axis {axis} has to go to {:.3} {unit} in run {run}, {:.3} {unit} beyond its travel to {:.3} {unit}",
            position * scale,
            self.beyond() * scale,
            end * scale
        )
    }
}

/// Position of axis `k` of the layout.
fn position(at: &AxisPosition, k: usize) -> f64 {
    if k < 3 { at.linear[k] } else { at.rotary[k - 3] }
}

/// The worst place beyond each end of each axis, in the order of the axes.
pub(crate) fn check(
    machine: &Machine,
    tool_length_mm: f64,
    stretches: &[Stretch],
    legs: &[Leg],
) -> Vec<TravelExceeded> {
    let mut found = Vec::new();
    for (k, axis) in machine.axes.iter().enumerate() {
        let Some([low, high]) = axis.travel else { continue };
        let zero = match axis.name {
            AxisName::X => machine.reference_mm.x,
            AxisName::Y => machine.reference_mm.y,
            AxisName::Z => machine.reference_mm.z - tool_length_mm,
            _ => 0.0,
        };
        let extremes = extremes(stretches, k);
        let Some([lowest, highest]) = extremes else { continue };
        let ends = [(lowest, low, low - lowest.0 + zero), (highest, high, highest.0 - zero - high)];
        for ((at, stretch, point), end, beyond) in ends {
            if beyond > COINCIDENT_MM {
                let run = run_at(&stretches[stretch], point, legs);
                found.push(TravelExceeded { axis: axis.name, run, position: at - zero, end });
            }
        }
    }
    found
}

/// A position with its stretch and point.
type Place = (f64, usize, usize);

fn extremes(stretches: &[Stretch], k: usize) -> Option<[Place; 2]> {
    let mut ends: Option<[Place; 2]> = None;
    for (i, stretch) in stretches.iter().enumerate() {
        for (j, at) in stretch.positions.iter().enumerate() {
            let here = (position(at, k), i, j);
            let [lowest, highest] = ends.get_or_insert([here; 2]);
            // the move that first gets there, not the one that goes on from it
            if here.0 < lowest.0 - COINCIDENT_MM {
                *lowest = here;
            }
            if here.0 > highest.0 + COINCIDENT_MM {
                *highest = here;
            }
        }
    }
    ends
}

fn run_at(stretch: &Stretch, point: usize, legs: &[Leg]) -> usize {
    let interval = point.saturating_sub(1).min(stretch.spans.len() - 1);
    legs[stretch.spans[interval].leg as usize].run as usize
}
