//! From the values of a file to a machine: every figure checked, every missing one assumed by name.

use crate::assume::{self, Spread, StandIn};
use crate::control::named;
use crate::fitted;
use crate::model::RotaryTurn;
use crate::setting;
use crate::{
    Assumption, Axis, AxisName, AxisSpec, Control, Corner, Layout, Machine, MachineError,
    MachineSpec, Ramp, Spindle, Stated,
};
use geom::Vec3;
use std::collections::BTreeMap;
use units::convert::{deg_to_rad, m_to_mm, mm_min_to_mm_s};

const REFERENCE_MM: [f64; 3] = [0.0, 0.0, 400.0];
const MS: f64 = 1e-3;
const NOT_NEGATIVE: &str = "a number that is 0 or greater";
const POSITIVE: &str = "a number greater than 0";

impl Machine {
    /// Checks `spec` and completes it; every assumption is listed in the result.
    pub fn new(spec: &MachineSpec) -> Result<Self, MachineError> {
        let layout = Layout::parse(&spec.layout)?;
        let mut listed = Listed::default();
        refuse_strange_axes(spec, &layout)?;
        let axes = layout
            .axes()
            .map(|name| axis(spec, name, &layout, &mut listed))
            .collect::<Result<Vec<_>, _>>()?;
        let mut machine = Self {
            id: spec.id.clone(),
            name: if spec.name.is_empty() { spec.id.clone() } else { spec.name.clone() },
            axes,
            rate_per_hour: optional("rate_per_hour", spec.rate_per_hour)?,
            currency: spec.currency.clone(),
            block_time_s: listed
                .figure(
                    "block_time_ms",
                    spec.block_time_ms,
                    assume::SHEET_BLOCK_TIME,
                    assume::BLOCK_TIME,
                )?
                .scaled(MS),
            path_tolerance_mm: tolerance(spec, &mut listed)?,
            tool_change_s: listed.figure(
                "tool_change_s",
                spec.tool_change_s,
                assume::SHEET_TOOL_CHANGE,
                assume::TOOL_CHANGE,
            )?,
            magazine: magazine(spec.magazine)?,
            pivot_length_mm: pivot(spec, &layout)?,
            spindle_ramp_s: optional("spindle_ramp_s", spec.spindle_ramp_s)?.unwrap_or(0.0),
            in_position_s: optional("in_position_s", spec.in_position_s)?.unwrap_or(0.0),
            m_codes: m_codes(&spec.m_codes)?,
            tip_control: spec.tip_control.unwrap_or(true),
            rotary_turn: rotary_turn(spec.rotary_turn.as_deref())?,
            dialect: spec.dialect.clone().unwrap_or_else(|| "a".into()),
            reference_mm: point("reference_mm", spec.reference_mm.unwrap_or(REFERENCE_MM))?,
            control: control(spec, &mut listed)?,
            spindle: Spindle::new(&spec.spindle)?,
            assumptions: listed.assumptions,
            fit_error: None,
            layout,
        };
        fitted::apply(&mut machine, &spec.fit)?;
        Ok(machine)
    }
}

fn rotary_turn(word: Option<&str>) -> Result<RotaryTurn, MachineError> {
    match word {
        None | Some("standing") => Ok(RotaryTurn::Standing),
        Some("tip-control") => Ok(RotaryTurn::TipControl),
        Some(other) => Err(MachineError::wrong(
            "rotary_turn",
            format!("\"{other}\""),
            "standing or tip-control",
            "take standing where the rotary axes turn by themselves, Z at its reference",
        )),
    }
}

/// Collects the assumptions as figures are read.
#[derive(Default)]
struct Listed {
    assumptions: Vec<Assumption>,
}

impl Listed {
    /// A figure in the unit of its key.
    fn figure(
        &mut self,
        key: &str,
        given: Option<f64>,
        sheet: Spread,
        missing: StandIn,
    ) -> Result<Stated, MachineError> {
        match given {
            Some(value) => Ok(Stated::sheet(not_negative(key, value)?, sheet)),
            None => Ok(self.assume(key, missing, 1.0)),
        }
    }

    fn assume(&mut self, key: &str, missing: StandIn, scale: f64) -> Stated {
        let stated = Stated::assumed(missing, scale);
        self.assumptions.push(Assumption {
            key: key.to_owned(),
            value: stated.value,
            low: stated.low,
            high: stated.high,
            why: format!("{} (common practice, no source)", missing.why),
        });
        stated
    }
}

fn check(key: &str, value: f64, good: bool, expected: &str) -> Result<f64, MachineError> {
    if good && value.is_finite() {
        return Ok(value);
    }
    Err(MachineError::wrong(key, value, expected, "correct the figure, or leave the key out"))
}

fn not_negative(key: &str, value: f64) -> Result<f64, MachineError> {
    check(key, value, value >= 0.0, NOT_NEGATIVE)
}

fn positive(key: &str, value: f64) -> Result<f64, MachineError> {
    check(key, value, value > 0.0, POSITIVE)
}

fn optional(key: &str, value: Option<f64>) -> Result<Option<f64>, MachineError> {
    value.map(|v| not_negative(key, v)).transpose()
}

fn point(key: &str, value: [f64; 3]) -> Result<Vec3, MachineError> {
    for v in value {
        check(key, v, v.abs() < 1e6, "three lengths in mm")?;
    }
    Ok(Vec3::from_array(value))
}

fn tolerance(spec: &MachineSpec, listed: &mut Listed) -> Result<Stated, MachineError> {
    let key = "path_tolerance_mm";
    let value =
        listed.figure(key, spec.path_tolerance_mm, assume::SHEET_TOLERANCE, assume::TOLERANCE)?;
    check(key, value.value, value.value <= 1.0, "at most 1 mm; a control rounds by some µm")?;
    Ok(value)
}

/// The control; figures of shapes that it does not have are not listed as assumed.
fn control(spec: &MachineSpec, listed: &mut Listed) -> Result<Control, MachineError> {
    let given = &spec.control;
    let corner = named("control.corner", given.corner.as_deref(), &Corner::ALL, Corner::word)?;
    let ramp = named("control.ramp", given.ramp.as_deref(), &Ramp::ALL, Ramp::word)?;
    let (corner, ramp) = (corner.unwrap_or_default(), ramp.unwrap_or_default());
    let mut unlisted = Listed::default();
    let for_step = if corner == Corner::SpeedStep { &mut *listed } else { &mut unlisted };
    let key = "control.corner_step_mm_min";
    let step = given.corner_step_mm_min.map(|v| positive(key, v)).transpose()?;
    let step = for_step.figure(key, step, assume::SHEET_CORNER_STEP, assume::CORNER_STEP)?;
    let for_filter = if ramp != Ramp::Jerk { listed } else { &mut unlisted };
    let filter = for_filter.figure(
        "control.filter_ms",
        given.filter_ms,
        assume::SHEET_FILTER,
        assume::FILTER,
    )?;
    if given.look_ahead_blocks == Some(0) {
        let remedy = "give the number of blocks, or leave the key out";
        return Err(MachineError::wrong("control.look_ahead_blocks", 0, "at least 1", remedy));
    }
    let accel = |key: &str, value: Option<f64>| -> Result<Option<Stated>, MachineError> {
        let value = value.map(|v| positive(key, v)).transpose()?;
        Ok(value.map(|v| Stated::sheet(v, assume::SHEET_ACCEL).scaled(m_to_mm(1.0))))
    };
    Ok(Control {
        corner,
        ramp,
        corner_step_mm_s: step.scaled(mm_min_to_mm_s(1.0)),
        filter_s: filter.scaled(MS),
        look_ahead: given.look_ahead_blocks,
        reads_ahead: given.reads_ahead.unwrap_or(false),
        stop_angle_rad: stop_angle(given.stop_angle_deg)?,
        rapid_stops: given.rapid_stops.unwrap_or(spec.in_position_s.is_some_and(|s| s > 0.0)),
        step_passes: matches!(corner, Corner::Arc | Corner::Spread)
            && given.corner_step_mm_min.is_some(),
        path_accel_mm_s2: accel("control.path_accel_m_s2", given.path_accel_m_s2)?,
        radial_accel_mm_s2: accel("control.radial_accel_m_s2", given.radial_accel_m_s2)?,
        settings: setting::settings(&given.settings)?,
    })
}

/// Turning by which a path turns back on itself: jump 1.99 of the unit tangent.
const TURNS_BACK_DEG: f64 = 168.5;

fn stop_angle(given: Option<f64>) -> Result<f64, MachineError> {
    let angle = given.unwrap_or(TURNS_BACK_DEG);
    let key = "control.stop_angle_deg";
    Ok(check(key, angle, angle > 0.0 && angle <= 180.0, "more than 0 and at most 180 deg")?
        .to_radians())
}

fn magazine(places: Option<u32>) -> Result<Option<u32>, MachineError> {
    if places == Some(0) {
        let remedy = "give the number of places, or leave the key out";
        return Err(MachineError::wrong("magazine", 0, "at least 1", remedy));
    }
    Ok(places)
}

fn pivot(spec: &MachineSpec, layout: &Layout) -> Result<f64, MachineError> {
    let key = "pivot_length_mm";
    let turning = layout.head.iter().any(|a| *a != AxisName::C);
    match (spec.pivot_length_mm, turning) {
        (Some(length), true) => positive(key, length),
        (Some(_), false) => Err(MachineError::wrong(
            key,
            "given",
            "no pivot length on a layout whose head does not tilt",
            "drop the key, or write the tilting axis after + in `layout`",
        )),
        (None, true) => Err(MachineError::missing(
            key,
            "the distance from the rotary centre of the head to the spindle nose, mm",
            "take it from the machine's sheet",
        )),
        (None, false) => Ok(0.0),
    }
}

fn m_codes(given: &BTreeMap<String, f64>) -> Result<BTreeMap<String, f64>, MachineError> {
    given
        .iter()
        .map(|(word, &seconds)| {
            let key = format!("m_codes.{word}");
            let number = word.trim().to_ascii_uppercase();
            let digits = number.strip_prefix('M').unwrap_or_default();
            match digits.parse::<u32>() {
                Ok(n) => Ok((format!("M{n}"), not_negative(&key, seconds)?)),
                Err(_) => {
                    let remedy = "write the word with its number: M8 = 0.8";
                    Err(MachineError::wrong(&key, word, "M and a number", remedy))
                }
            }
        })
        .collect()
}

fn refuse_strange_axes(spec: &MachineSpec, layout: &Layout) -> Result<(), MachineError> {
    for key in spec.axes.keys() {
        let known = layout.axes().any(|a| a.letter() == key);
        if !known {
            let names: Vec<_> = layout.axes().map(AxisName::letter).collect();
            let expected = format!("one of the layout's axes: {}", names.join(", "));
            let remedy = "drop the section, or name the axis in `layout`";
            return Err(MachineError::wrong(&format!("axis.{key}"), key, &expected, remedy));
        }
    }
    Ok(())
}

fn axis(
    spec: &MachineSpec,
    name: AxisName,
    layout: &Layout,
    listed: &mut Listed,
) -> Result<Axis, MachineError> {
    let key = format!("axis.{name}");
    let given = spec.axes.get(name.letter()).ok_or_else(|| {
        let remedy = format!("add [{key}] with travel and max_feed");
        MachineError::missing(&key, &format!("a section, as the layout is {layout}"), &remedy)
    })?;
    refuse_other_units(&key, name, given)?;
    let mut axis =
        if name.is_rotary() { rotary(&key, given, listed)? } else { linear(&key, given, listed)? };
    axis.name = name;
    if name.is_rotary() {
        let centre = given.rotary_centre_mm.or(spec.rotary_centre_mm).unwrap_or([0.0; 3]);
        axis.centre_mm = point("rotary_centre_mm", centre)?;
    }
    Ok(axis)
}

fn refuse_other_units(key: &str, name: AxisName, given: &AxisSpec) -> Result<(), MachineError> {
    let mm = [
        ("travel_mm", given.travel_mm.is_some()),
        ("max_feed_mm_min", given.max_feed_mm_min.is_some()),
        ("accel_m_s2", given.accel_m_s2.is_some()),
        ("jerk_m_s3", given.jerk_m_s3.is_some()),
    ];
    let deg = [
        ("travel_deg", given.travel_deg.is_some()),
        ("max_feed_deg_min", given.max_feed_deg_min.is_some()),
        ("accel_deg_s2", given.accel_deg_s2.is_some()),
        ("jerk_deg_s3", given.jerk_deg_s3.is_some()),
        ("rotary_centre_mm", given.rotary_centre_mm.is_some()),
        ("direction", given.direction.is_some()),
    ];
    let (strange, kind, unit) =
        if name.is_rotary() { (&mm[..], "rotary", "deg") } else { (&deg[..], "linear", "mm") };
    match strange.iter().find(|(_, there)| *there) {
        None => Ok(()),
        Some((word, _)) => Err(MachineError::wrong(
            &format!("{key}.{word}"),
            "given",
            &format!("keys in {unit}, as {name} is a {kind} axis"),
            &format!("use the {unit} keys: travel_{unit}, max_feed_{unit}_min …"),
        )),
    }
}

fn travel(key: &str, ends: Option<[f64; 2]>) -> Result<Option<[f64; 2]>, MachineError> {
    let Some([low, high]) = ends else { return Ok(None) };
    if low.is_finite() && high.is_finite() && low < high {
        return Ok(Some([low, high]));
    }
    let found = format!("[{low}, {high}]");
    Err(MachineError::wrong(key, found, "two numbers, the lower end first", "correct the ends"))
}

fn speed(key: &str, given: Option<f64>) -> Result<f64, MachineError> {
    let value = given.ok_or_else(|| {
        MachineError::missing(
            key,
            "the fastest feed of the axis",
            "take it from the machine's sheet",
        )
    })?;
    positive(key, value)
}

fn linear(key: &str, given: &AxisSpec, listed: &mut Listed) -> Result<Axis, MachineError> {
    let accel_key = format!("{key}.accel_m_s2");
    let jerk_key = format!("{key}.jerk_m_s3");
    if let Some(a) = given.accel_m_s2 {
        check(&accel_key, a, a > 0.0 && a <= 200.0, "more than 0 and at most 200 m/s2")?;
    }
    if let Some(j) = given.jerk_m_s3 {
        check(&jerk_key, j, j > 0.0 && j <= 1e6, "more than 0 and at most 1e6 m/s3")?;
    }
    let accel =
        listed.figure(&accel_key, given.accel_m_s2, assume::SHEET_ACCEL, assume::LINEAR_ACCEL)?;
    let jerk =
        listed.figure(&jerk_key, given.jerk_m_s3, assume::SHEET_JERK, assume::LINEAR_JERK)?;
    Ok(Axis {
        name: AxisName::X,
        travel: travel(&format!("{key}.travel_mm"), given.travel_mm)?,
        max_speed: mm_min_to_mm_s(speed(&format!("{key}.max_feed_mm_min"), given.max_feed_mm_min)?),
        accel: accel.scaled(m_to_mm(1.0)),
        jerk: jerk.scaled(m_to_mm(1.0)),
        direction: 1.0,
        centre_mm: Vec3::ZERO,
    })
}

fn rotary(key: &str, given: &AxisSpec, listed: &mut Listed) -> Result<Axis, MachineError> {
    let speed_deg_s = speed(&format!("{key}.max_feed_deg_min"), given.max_feed_deg_min)? / 60.0;
    let accel_key = format!("{key}.accel_deg_s2");
    let jerk_key = format!("{key}.jerk_deg_s3");
    let accel = match given.accel_deg_s2 {
        Some(a) => Stated::sheet(positive(&accel_key, a)?, assume::SHEET_ACCEL),
        None => assumed_ramp(listed, &accel_key, assume::ROTARY_RAMP_S, speed_deg_s),
    };
    let jerk = match given.jerk_deg_s3 {
        Some(j) => Stated::sheet(positive(&jerk_key, j)?, assume::SHEET_JERK),
        None => assumed_ramp(listed, &jerk_key, assume::ROTARY_JERK_S, accel.value),
    };
    let ends = travel(&format!("{key}.travel_deg"), given.travel_deg)?;
    Ok(Axis {
        name: AxisName::A,
        travel: ends.map(|e| e.map(deg_to_rad)),
        max_speed: deg_to_rad(speed_deg_s),
        accel: accel.scaled(deg_to_rad(1.0)),
        jerk: jerk.scaled(deg_to_rad(1.0)),
        direction: direction(&format!("{key}.direction"), given.direction)?,
        centre_mm: Vec3::ZERO,
    })
}

/// A rate that is reached in an assumed time: `reached` over that time.
fn assumed_ramp(listed: &mut Listed, key: &str, time: StandIn, reached: f64) -> Stated {
    let per_time = StandIn { value: 1.0 / time.value, ..time };
    listed.assume(key, per_time, reached)
}

fn direction(key: &str, given: Option<f64>) -> Result<f64, MachineError> {
    match given {
        None => Ok(1.0),
        Some(v) => check(key, v, v == 1.0 || v == -1.0, "1 or -1"),
    }
}
