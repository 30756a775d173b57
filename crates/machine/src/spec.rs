//! The values of a machine file, key for key and in its units; nothing is checked here.

use crate::ControlSpec;
use std::collections::BTreeMap;

/// A machine as its file describes it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct MachineSpec {
    /// Short name by which a study calls the machine.
    pub id: String,
    /// Name for people; the id where it is empty.
    pub name: String,
    /// `XYZ`, `XYZ-AC`, `XYZ+BC` …
    pub layout: String,
    /// Price of an hour of the machine.
    pub rate_per_hour: Option<f64>,
    /// Currency of that price: `EUR`.
    pub currency: Option<String>,
    /// Time that the control needs for one block, ms.
    pub block_time_ms: Option<f64>,
    /// How far the control may round a corner, mm.
    pub path_tolerance_mm: Option<f64>,
    /// Chip to chip, s.
    pub tool_change_s: Option<f64>,
    /// Places in the magazine.
    pub magazine: Option<u32>,
    /// From the rotary centre of the head to the spindle nose, mm.
    pub pivot_length_mm: Option<f64>,
    /// A point of the rotary axes: of tables in program coordinates, of heads from the pivot; mm.
    pub rotary_centre_mm: Option<[f64; 3]>,
    /// From standstill to the programmed speed of the spindle, s.
    pub spindle_ramp_s: Option<f64>,
    /// Wait at an exact stop and between rapid and feed, s.
    pub in_position_s: Option<f64>,
    /// Seconds that an M word takes, by the word.
    pub m_codes: BTreeMap<String, f64>,
    /// Dialect of its programs: `a`, `b` or a file.
    pub dialect: Option<String>,
    /// Whether its control has tip control; false: programs hold axis positions.
    pub tip_control: Option<bool>,
    /// How the rotary axes turn to the start of an operation: `standing` or `tip-control`.
    pub rotary_turn: Option<String>,
    /// The reference point in program coordinates, mm.
    pub reference_mm: Option<[f64; 3]>,
    /// How the control drives.
    pub control: ControlSpec,
    /// What a fit to measured times adds.
    pub fit: FitSpec,
    /// Axes by their letter.
    pub axes: BTreeMap<String, AxisSpec>,
    /// The spindle.
    pub spindle: SpindleSpec,
}

/// What a fit to measured times adds to a machine file.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FitSpec {
    /// How far the time of a program may be off, as a share (standard deviation).
    pub error_share: Option<f64>,
    /// Both ends of the interval of a fitted figure, by its dotted key and in its unit.
    pub interval: BTreeMap<String, [f64; 2]>,
}

/// One axis as its file describes it: the keys with mm for linear axes, those with deg for rotary.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct AxisSpec {
    /// Ends of travel in machine coordinates, mm.
    pub travel_mm: Option<[f64; 2]>,
    /// Ends of travel, deg.
    pub travel_deg: Option<[f64; 2]>,
    /// Fastest feed, mm/min.
    pub max_feed_mm_min: Option<f64>,
    /// Fastest feed, deg/min.
    pub max_feed_deg_min: Option<f64>,
    /// Acceleration, m/s².
    pub accel_m_s2: Option<f64>,
    /// Acceleration, deg/s².
    pub accel_deg_s2: Option<f64>,
    /// Jerk, m/s³.
    pub jerk_m_s3: Option<f64>,
    /// Jerk, deg/s³.
    pub jerk_deg_s3: Option<f64>,
    /// 1, or −1 for a rotary axis that turns the other way than ISO 841 has it.
    pub direction: Option<f64>,
    /// A point of this rotary axis where it differs from the machine's `rotary_centre_mm`, mm.
    pub rotary_centre_mm: Option<[f64; 3]>,
}

/// The spindle as its file describes it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SpindleSpec {
    /// Fastest speed, rev/min.
    pub max_rpm: Option<f64>,
    /// Slowest speed, rev/min.
    pub min_rpm: Option<f64>,
    /// Duty of `curve`: `S1`, `S6-40`.
    pub duty: Option<String>,
    /// Power and torque over speed.
    pub curve: Vec<CurvePoint>,
    /// Further curves with their own duty.
    pub also: Vec<DutyCurve>,
}

/// A curve under another duty.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct DutyCurve {
    /// Duty after IEC 60034-1: `S6-40`.
    pub duty: String,
    /// Power and torque over speed.
    pub curve: Vec<CurvePoint>,
}

/// One point of a spindle's curve.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct CurvePoint {
    /// Speed, rev/min.
    pub rpm: f64,
    /// Power at that speed, kW.
    pub power_kw: f64,
    /// Torque at that speed, N m.
    pub torque_nm: f64,
}
