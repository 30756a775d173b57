//! The machine file.

use super::range;
use crate::text::{Given, Rejected, Sink, Source, Table, parse};
use ::machine::{
    AxisSpec, ControlSpec, CurvePoint, DutyCurve, FitSpec, Machine, MachineError, MachineSpec,
    Setting, SpindleSpec,
};
use std::collections::BTreeMap;

/// What a machine file says.
#[derive(Debug, Clone)]
pub(super) struct ReadMachine {
    /// Its values.
    pub(super) spec: MachineSpec,
    /// The machine that they make.
    pub(super) machine: Machine,
    /// Where the dialect is named.
    pub(super) dialect: Option<Given<String>>,
}

/// The machine of a file, or all its faults; and the file itself.
pub(super) fn read(sink: Sink) -> (Result<Machine, Rejected>, Source) {
    let (read, source) = read_all(sink);
    (read.map(|read| read.machine), source)
}

/// The values of a machine file and the machine that they make, or all its faults.
pub(super) fn read_all(sink: Sink) -> (Result<ReadMachine, Rejected>, Source) {
    let machine = parse(&sink).and_then(|document| {
        let root = Table::root(&document, "the machine file", &sink);
        read_root(root)
    });
    let (source, faults) = sink.into_parts();
    match machine {
        Some(machine) if faults.is_empty() => (Ok(machine), source),
        _ => (Err(Rejected { diagnostics: faults }), source),
    }
}

fn read_root(root: Table<'_>) -> Option<ReadMachine> {
    let before = root.faults();
    let id = root.need_text("id", "trunnion-15k");
    let layout = root.need_text("layout", "XYZ-AC");
    let name = text(&root, "name");
    let dialect = root.text("dialect");
    let spec = MachineSpec {
        id: id.map_or_else(String::new, |i| i.value),
        name: name.unwrap_or_default(),
        layout: layout.map_or_else(String::new, |l| l.value),
        rate_per_hour: root.number("rate_per_hour", &range::RATE),
        currency: text(&root, "currency"),
        block_time_ms: root.number("block_time_ms", &range::BLOCK_MS),
        path_tolerance_mm: root.number("path_tolerance_mm", &range::PATH_TOLERANCE),
        tool_change_s: root.number("tool_change_s", &range::WAIT_S),
        magazine: root.whole("magazine", &range::PLACES),
        pivot_length_mm: root.number("pivot_length_mm", &range::TOOL_LENGTH),
        rotary_centre_mm: root.numbers("rotary_centre_mm", &range::LENGTH),
        spindle_ramp_s: root.number("spindle_ramp_s", &range::WAIT_S),
        in_position_s: root.number("in_position_s", &range::WAIT_S),
        m_codes: read_m_codes(&root),
        dialect: dialect.as_ref().map(|d| d.value.clone()),
        tip_control: root.flag("tip_control"),
        rotary_turn: text(&root, "rotary_turn"),
        reference_mm: root.numbers("reference_mm", &range::LENGTH),
        control: read_control(&root),
        fit: read_fit(&root),
        axes: read_axes(&root),
        spindle: read_spindle(&root),
    };
    let built = (root.faults() == before).then(|| Machine::new(&spec));
    let machine = match built {
        Some(Ok(machine)) => Some(ReadMachine { spec, machine, dialect }),
        Some(Err(error)) => {
            place_fault(&root, &error);
            None
        }
        None => None,
    };
    root.finish();
    machine
}

fn text(table: &Table<'_>, key: &'static str) -> Option<String> {
    table.text(key).map(|t| t.value)
}

fn read_m_codes(root: &Table<'_>) -> BTreeMap<String, f64> {
    let Some(table) = root.table("m_codes") else { return BTreeMap::new() };
    table.named_numbers(&range::WAIT_S).into_iter().map(|(k, v)| (k.value, v)).collect()
}

fn read_control(root: &Table<'_>) -> ControlSpec {
    let Some(table) = root.table("control") else { return ControlSpec::default() };
    let spec = ControlSpec {
        corner: text(&table, "corner"),
        ramp: text(&table, "ramp"),
        corner_step_mm_min: table.number("corner_step_mm_min", &range::CORNER_STEP),
        filter_ms: table.number("filter_ms", &range::FILTER_MS),
        look_ahead_blocks: table.whole("look_ahead_blocks", &range::BLOCKS),
        reads_ahead: table.flag("reads_ahead"),
        rapid_stops: table.flag("rapid_stops"),
        stop_angle_deg: table.number("stop_angle_deg", &range::STOP_DEG),
        path_accel_m_s2: table.number("path_accel_m_s2", &range::ACCEL),
        radial_accel_m_s2: table.number("radial_accel_m_s2", &range::ACCEL),
        settings: Setting::ALL
            .into_iter()
            .filter_map(|s| Some((s, table.number(s.word(), &range::SETTING)?)))
            .collect(),
    };
    table.finish();
    spec
}

fn read_fit(root: &Table<'_>) -> FitSpec {
    let Some(table) = root.table("fit") else { return FitSpec::default() };
    let error_share = table.number("error_share", &range::ERROR_SHARE);
    let interval = table.table("interval").map_or_else(BTreeMap::new, |t| {
        t.named_pairs(&range::FITTED).into_iter().map(|(k, v)| (k.value, v)).collect()
    });
    table.finish();
    FitSpec { error_share, interval }
}

fn read_axes(root: &Table<'_>) -> BTreeMap<String, AxisSpec> {
    let Some(table) = root.table("axis") else {
        if !root.has("axis") {
            root.missing("axis", "a table for each axis", "add [axis.X], [axis.Y], [axis.Z] …");
        }
        return BTreeMap::new();
    };
    table
        .named_tables()
        .into_iter()
        .map(|(name, t)| (name.value.clone(), read_axis(&name, t)))
        .collect()
}

fn read_axis(name: &Given<String>, table: Table<'_>) -> AxisSpec {
    let table = table.renamed(format!("[axis.{}]", name.value));
    let spec = AxisSpec {
        travel_mm: table.numbers("travel_mm", &range::LENGTH),
        travel_deg: table.numbers("travel_deg", &range::TRAVEL_DEG),
        max_feed_mm_min: table.number("max_feed_mm_min", &range::AXIS_FEED),
        max_feed_deg_min: table.number("max_feed_deg_min", &range::AXIS_FEED_DEG),
        accel_m_s2: table.number("accel_m_s2", &range::ACCEL),
        accel_deg_s2: table.number("accel_deg_s2", &range::ACCEL_DEG),
        jerk_m_s3: table.number("jerk_m_s3", &range::JERK),
        jerk_deg_s3: table.number("jerk_deg_s3", &range::JERK_DEG),
        direction: table.number("direction", &range::SIGN),
        rotary_centre_mm: table.numbers("rotary_centre_mm", &range::LENGTH),
    };
    table.finish();
    spec
}

fn read_spindle(root: &Table<'_>) -> SpindleSpec {
    let Some(table) = root.table("spindle") else { return SpindleSpec::default() };
    let also = table.tables("also").into_iter().map(|t| {
        let t = t.renamed("[[spindle.also]]".to_owned());
        let duty = t.need_text("duty", "S6-40").map_or_else(String::new, |d| d.value);
        let curve = read_curve(&t);
        t.finish();
        DutyCurve { duty, curve }
    });
    let also = also.collect();
    let spec = SpindleSpec {
        max_rpm: table.number("max_rpm", &range::RPM),
        min_rpm: table.number("min_rpm", &range::SPEED),
        duty: text(&table, "duty"),
        curve: read_curve(&table),
        also,
    };
    table.finish();
    spec
}

fn read_curve(table: &Table<'_>) -> Vec<CurvePoint> {
    let points = table.tables("curve").into_iter().map(|t| {
        let point = CurvePoint {
            rpm: t.need_number("rpm", &range::SPEED, "2400.0").unwrap_or(0.0),
            power_kw: t.need_number("power_kw", &range::POWER, "20.0").unwrap_or(0.0),
            torque_nm: t.need_number("torque_nm", &range::TORQUE, "80.0").unwrap_or(0.0),
        };
        t.finish();
        point
    });
    points.collect()
}

/// Notes what the model refuses at the key that it names, or at the table nearest above it.
fn place_fault(root: &Table<'_>, error: &MachineError) {
    let span = root.span_of_path(error.key());
    let (message, expected, remedy) = match error {
        MachineError::Missing { key, expected, remedy } => {
            (format!("`{key}` is missing"), expected, remedy)
        }
        MachineError::Wrong { key, found, expected, remedy } => {
            (format!("`{key}` is {found}"), expected, remedy)
        }
    };
    root.report(span, message, expected, remedy);
}
