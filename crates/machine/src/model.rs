//! The machine, checked and complete: mm, s and rad, nothing missing.

use crate::{Assumption, AxisName, Control, Layout, Spindle, Stated};
use geom::Vec3;
use std::collections::BTreeMap;

/// How the rotary axes turn to the start of an operation and back from its end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum RotaryTurn {
    /// By themselves, the linear axes standing and Z at its reference.
    #[default]
    Standing,
    /// Under tip control, over the start: the linear axes follow.
    TipControl,
}

/// A machine ready to be reckoned with; made by [`Machine::new`].
#[derive(Debug, Clone, PartialEq)]
pub struct Machine {
    /// Short name by which a study calls the machine.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Which axes it has and what each carries.
    pub layout: Layout,
    /// Axes in the order of [`Layout::axes`].
    pub axes: Vec<Axis>,
    /// Price of an hour of the machine; `None` where it is not known.
    pub rate_per_hour: Option<f64>,
    /// Currency of that price.
    pub currency: Option<String>,
    /// Time that the control needs for one block, s.
    pub block_time_s: Stated,
    /// How far the control may round a corner, mm; 0 for an exact stop at every corner.
    pub path_tolerance_mm: Stated,
    /// Chip to chip, s.
    pub tool_change_s: Stated,
    /// Places in the magazine; `None` where it is not known.
    pub magazine: Option<u32>,
    /// From the rotary centre of the head to the spindle nose, mm.
    pub pivot_length_mm: f64,
    /// From standstill to the programmed speed of the spindle, s.
    pub spindle_ramp_s: f64,
    /// Wait at exact stops and between rapid and feed, s; 0: the control does not stop there.
    pub in_position_s: f64,
    /// Seconds that an M word takes, by the word in capitals.
    pub m_codes: BTreeMap<String, f64>,
    /// Dialect of its programs.
    pub dialect: String,
    /// Whether its control has tip control; otherwise its programs hold axis positions.
    pub tip_control: bool,
    /// How the rotary axes turn to the start of an operation.
    pub rotary_turn: RotaryTurn,
    /// The reference point (zero of the machine coordinates) in program coordinates, mm.
    pub reference_mm: Vec3,
    /// How its control drives.
    pub control: Control,
    /// How far the time of a program may be off after a fit, as a share (standard deviation);
    /// `None` where no fit was made.
    pub fit_error: Option<f64>,
    /// The spindle.
    pub spindle: Spindle,
    /// Every figure that the file leaves out and that was assumed.
    pub assumptions: Vec<Assumption>,
}

/// One axis: mm for linear axes, rad for rotary ones.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    /// Its name.
    pub name: AxisName,
    /// Ends of travel in machine coordinates; `None`: not known, or endless for a rotary axis.
    pub travel: Option<[f64; 2]>,
    /// Fastest speed, mm/s or rad/s.
    pub max_speed: f64,
    /// Acceleration, mm/s² or rad/s².
    pub accel: Stated,
    /// Jerk, mm/s³ or rad/s³.
    pub jerk: Stated,
    /// 1, or −1 for a rotary axis that turns the other way than ISO 841 has it.
    pub direction: f64,
    /// A point of a rotary axis: for tables in program coordinates, for heads from the pivot; mm.
    pub centre_mm: Vec3,
}

impl Machine {
    /// The axis of that name.
    pub fn axis(&self, name: AxisName) -> Option<&Axis> {
        self.axes.iter().find(|a| a.name == name)
    }

    /// Whether the machine has rotary axes.
    pub fn turns(&self) -> bool {
        self.axes.len() > 3
    }
}
