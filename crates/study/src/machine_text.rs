//! A machine file as text, from its values.

use machine::{AxisSpec, CurvePoint, MachineSpec};
use std::fmt::{Result, Write};

/// The text of a machine file with these values; `remarks` stand above it, one a line.
///
/// Read again, it gives the same values.
pub fn machine_text(spec: &MachineSpec, remarks: &[String]) -> String {
    let mut out = String::new();
    // writing to a text cannot fail
    let _ = write_all(&mut out, spec, remarks);
    out
}

fn quoted(text: &str) -> String {
    toml::Value::from(text).to_string()
}

/// A number as TOML has it: with a point or an exponent.
fn number(value: f64) -> String {
    toml::Value::from(value).to_string()
}

fn list(values: &[f64]) -> String {
    let values: Vec<String> = values.iter().map(|v| number(*v)).collect();
    format!("[{}]", values.join(", "))
}

fn write_all(out: &mut String, spec: &MachineSpec, remarks: &[String]) -> Result {
    for line in remarks {
        writeln!(out, "# {}", line.replace(['\n', '\r'], " "))?;
    }
    writeln!(out, "id = {}", quoted(&spec.id))?;
    if !spec.name.is_empty() {
        writeln!(out, "name = {}", quoted(&spec.name))?;
    }
    writeln!(out, "layout = {}", quoted(&spec.layout))?;
    texts(
        out,
        &[
            ("currency", &spec.currency),
            ("dialect", &spec.dialect),
            ("rotary_turn", &spec.rotary_turn),
        ],
    )?;
    if let Some(tip_control) = spec.tip_control {
        writeln!(out, "tip_control = {tip_control}")?;
    }
    numbers(
        out,
        &[
            ("rate_per_hour", spec.rate_per_hour),
            ("block_time_ms", spec.block_time_ms),
            ("path_tolerance_mm", spec.path_tolerance_mm),
            ("tool_change_s", spec.tool_change_s),
            ("pivot_length_mm", spec.pivot_length_mm),
            ("spindle_ramp_s", spec.spindle_ramp_s),
            ("in_position_s", spec.in_position_s),
        ],
    )?;
    if let Some(places) = spec.magazine {
        writeln!(out, "magazine = {places}")?;
    }
    lists(
        out,
        &[("rotary_centre_mm", spec.rotary_centre_mm), ("reference_mm", spec.reference_mm)],
    )?;
    if !spec.m_codes.is_empty() {
        writeln!(out, "\n[m_codes]")?;
        for (word, seconds) in &spec.m_codes {
            writeln!(out, "{} = {}", key(word), number(*seconds))?;
        }
    }
    let is_linear = |letter: &str| ["X", "Y", "Z"].contains(&letter);
    let (linear, rotary): (Vec<_>, Vec<_>) = spec.axes.iter().partition(|(l, _)| is_linear(l));
    for (letter, axis) in linear.into_iter().chain(rotary) {
        write_axis(out, letter, axis)?;
    }
    write_control(out, spec)?;
    write_spindle(out, spec)?;
    write_fit(out, spec)
}

/// A key: bare where TOML allows it.
fn key(word: &str) -> String {
    let bare =
        !word.is_empty() && word.chars().all(|c| c.is_ascii_alphanumeric() || c == '_' || c == '-');
    if bare { word.to_owned() } else { quoted(word) }
}

fn texts(out: &mut String, keys: &[(&str, &Option<String>)]) -> Result {
    for (key, value) in keys {
        if let Some(value) = value {
            writeln!(out, "{key} = {}", quoted(value))?;
        }
    }
    Ok(())
}

fn numbers(out: &mut String, keys: &[(&str, Option<f64>)]) -> Result {
    for (key, value) in keys {
        if let Some(value) = value {
            writeln!(out, "{key} = {}", number(*value))?;
        }
    }
    Ok(())
}

fn lists<const N: usize>(out: &mut String, keys: &[(&str, Option<[f64; N]>)]) -> Result {
    for (key, value) in keys {
        if let Some(value) = value {
            writeln!(out, "{key} = {}", list(value))?;
        }
    }
    Ok(())
}

fn write_axis(out: &mut String, letter: &str, axis: &AxisSpec) -> Result {
    writeln!(out, "\n[axis.{}]", key(letter))?;
    lists(out, &[("travel_mm", axis.travel_mm), ("travel_deg", axis.travel_deg)])?;
    numbers(
        out,
        &[
            ("max_feed_mm_min", axis.max_feed_mm_min),
            ("max_feed_deg_min", axis.max_feed_deg_min),
            ("accel_m_s2", axis.accel_m_s2),
            ("accel_deg_s2", axis.accel_deg_s2),
            ("jerk_m_s3", axis.jerk_m_s3),
            ("jerk_deg_s3", axis.jerk_deg_s3),
            ("direction", axis.direction),
        ],
    )?;
    lists(out, &[("rotary_centre_mm", axis.rotary_centre_mm)])
}

fn write_control(out: &mut String, spec: &MachineSpec) -> Result {
    let control = &spec.control;
    if *control == machine::ControlSpec::default() {
        return Ok(());
    }
    writeln!(out, "\n[control]")?;
    texts(out, &[("corner", &control.corner), ("ramp", &control.ramp)])?;
    numbers(
        out,
        &[
            ("corner_step_mm_min", control.corner_step_mm_min),
            ("filter_ms", control.filter_ms),
            ("stop_angle_deg", control.stop_angle_deg),
            ("path_accel_m_s2", control.path_accel_m_s2),
            ("radial_accel_m_s2", control.radial_accel_m_s2),
        ],
    )?;
    let settings: Vec<_> = control.settings.iter().map(|(s, v)| (s.word(), Some(*v))).collect();
    numbers(out, &settings)?;
    if let Some(reads) = control.reads_ahead {
        writeln!(out, "reads_ahead = {reads}")?;
    }
    if let Some(stops) = control.rapid_stops {
        writeln!(out, "rapid_stops = {stops}")?;
    }
    if let Some(blocks) = control.look_ahead_blocks {
        writeln!(out, "look_ahead_blocks = {blocks}")?;
    }
    Ok(())
}

fn write_spindle(out: &mut String, spec: &MachineSpec) -> Result {
    let spindle = &spec.spindle;
    if *spindle == machine::SpindleSpec::default() {
        return Ok(());
    }
    writeln!(out, "\n[spindle]")?;
    numbers(out, &[("max_rpm", spindle.max_rpm), ("min_rpm", spindle.min_rpm)])?;
    texts(out, &[("duty", &spindle.duty)])?;
    write_curve(out, &spindle.curve)?;
    for also in &spindle.also {
        writeln!(out, "\n[[spindle.also]]\nduty = {}", quoted(&also.duty))?;
        write_curve(out, &also.curve)?;
    }
    Ok(())
}

fn write_curve(out: &mut String, curve: &[CurvePoint]) -> Result {
    if curve.is_empty() {
        return Ok(());
    }
    writeln!(out, "curve = [")?;
    for CurvePoint { rpm, power_kw, torque_nm } in curve {
        let [rpm, power, torque] = [rpm, power_kw, torque_nm].map(|v| number(*v));
        writeln!(out, "  {{ rpm = {rpm}, power_kw = {power}, torque_nm = {torque} }},")?;
    }
    writeln!(out, "]")
}

fn write_fit(out: &mut String, spec: &MachineSpec) -> Result {
    let Some(share) = spec.fit.error_share else { return Ok(()) };
    writeln!(out, "\n[fit]")?;
    writeln!(
        out,
        "error_share = {}        # of the time of a program, standard deviation",
        number(share)
    )?;
    if !spec.fit.interval.is_empty() {
        writeln!(out, "\n[fit.interval]          # 90 %, in the unit of the key")?;
        for (key, ends) in &spec.fit.interval {
            writeln!(out, "{} = {}", quoted(key), list(ends))?;
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{read, supplied};

    #[test]
    fn every_supplied_machine_comes_back_from_its_text() {
        for id in supplied::machine_ids() {
            let text = supplied::machine(id).expect("it is there");
            let (mut spec, _) = read::machine_values(text.as_bytes(), id).expect("sound");
            spec.m_codes.insert("M8".into(), 0.7);
            spec.control.corner = Some("speed-step".into());
            spec.control.corner_step_mm_min = Some(251.5);
            spec.control.look_ahead_blocks = Some(120);
            spec.tip_control = Some(false);
            spec.rotary_turn = Some("tip-control".into());
            spec.fit.error_share = Some(0.0081);
            spec.fit.interval.insert("axis.X.accel_m_s2".into(), [3.5, 6.5]);
            let again = machine_text(&spec, &["fitted".into()]);
            let (read, _) = read::machine_values(again.as_bytes(), id).expect("sound");
            assert_eq!(read, spec, "{again}");
        }
    }
}
