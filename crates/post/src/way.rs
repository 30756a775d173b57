//! The way of a tool to the start of an operation and from its end: rotary axes turned high above
//! everything, then down, in and out along the tool axis.

use crate::job::{Job, Tool};
use geom::Vec3;
use machine::track::Place;
use machine::{AxisName, Kinematics, Mounting};

/// The way to a place of an operation, from above; backwards it is the way out. All places have the
/// rotary angles of the operation, tips in program coordinates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Way {
    /// High enough that nothing on the table is met, however the rotary axes turn, or as high as
    /// the axis Z goes.
    pub(crate) over: Place,
    /// Out of the zone along the tool axis.
    pub(crate) near: Place,
    /// How much `over` lies lower than it should, mm.
    pub(crate) short_mm: f64,
}

/// Finds ways for one tool.
pub(crate) struct Ways {
    pub(crate) kinematics: Kinematics,
    low: Vec3,
    high: Vec3,
    /// Height of the tip over the machine's frame at which everything is clear, mm.
    height_mm: f64,
    /// Highest position of the axis Z in program coordinates, mm; infinite where it is not known.
    top_mm: f64,
    /// Whether the spindle tilts.
    head: bool,
}

impl Ways {
    pub(crate) fn new(job: &Job<'_>, tool: &Tool) -> Self {
        let machine = job.machine;
        let mounting = Mounting { tool_length_mm: tool.length_mm, ..Mounting::default() };
        let margin = job.clear_mm + tool.radius_mm;
        let tilts = |names: &[AxisName]| names.iter().any(|a| *a != AxisName::C);
        let travel = machine.axis(AxisName::Z).and_then(|z| z.travel);
        let zero = machine.reference_mm.z - tool.length_mm;
        Self {
            kinematics: Kinematics::new(machine, &mounting),
            low: job.zone.low - Vec3::splat(margin),
            high: job.zone.high + Vec3::splat(margin),
            height_mm: height_mm(job) + margin,
            top_mm: travel.map_or(f64::INFINITY, |[_, high]| high + zero),
            head: tilts(&machine.layout.head),
        }
    }

    /// The way to a place.
    pub(crate) fn to(&self, at: &Place) -> Way {
        let kinematics = &self.kinematics;
        let axis = kinematics.axis_at(at.rotary);
        let place = |axes: Vec3| Place { linear: kinematics.tip_at(axes, at.rotary), ..*at };
        let mut axes =
            kinematics.linear_at(at.linear + axis * self.out(at.linear, axis), at.rotary);
        if !self.head && axes.z > self.top_mm {
            // the tool axis is the machine's Z: at the top of its travel it is out as far as it goes
            axes.z = self.top_mm;
        }
        let near = place(axes);
        let missing = self.height_mm - kinematics.over_table(axes, at.rotary).z;
        let high = axes.z + missing.max(0.0);
        axes.z = high.min(self.top_mm.max(axes.z));
        Way { over: place(axes), near, short_mm: (high - axes.z).max(0.0) }
    }

    /// How far along its axis a tip has to go until it is out of the zone; never through its floor.
    fn out(&self, tip: Vec3, axis: Vec3) -> f64 {
        let through = |k: usize| {
            let (a, up) = (axis[k], axis[k] > 0.0);
            if a.abs() < geom::tolerance::PARALLEL_RAD || (k == 2 && !up) {
                return f64::INFINITY;
            }
            ((if up { self.high[k] } else { self.low[k] }) - tip[k]) / a
        };
        let least = (0..3).map(through).fold(f64::INFINITY, f64::min);
        if least.is_finite() { least.max(0.0) } else { 0.0 }
    }
}

/// Height over the machine's frame that nothing of the zone reaches: its top, or, where a table
/// tilts it, the sphere in which it can turn.
fn height_mm(job: &Job<'_>) -> f64 {
    let table = &job.machine.layout.table;
    if table.iter().all(|a| *a == AxisName::C) {
        return job.zone.high.z;
    }
    let centre = |name: &AxisName| job.machine.axis(*name).map_or(Vec3::ZERO, |a| a.centre_mm);
    let centres: Vec<Vec3> = table.iter().map(centre).collect();
    let (inner, outer) = (centres[0], centres[centres.len() - 1]);
    let reach = job.zone.corners().iter().map(|c| c.distance(inner)).fold(0.0, f64::max);
    outer.z + reach + inner.distance(outer)
}
