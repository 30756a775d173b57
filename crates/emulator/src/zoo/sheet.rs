//! The data sheet of a drawn machine: speeds right, accelerations optimistic, much left out.

use super::{Chassis, Kind};
use crate::draw::Draw;
use crate::{AxisHidden, Family, Hidden};
use machine::{AxisSpec, MachineSpec, SpindleSpec};

/// What sheets have right: layout, travel, speeds, pivot.
pub(super) fn kinematic(chassis: Chassis, axes: &[AxisHidden], pivot_mm: f64) -> MachineSpec {
    let mut spec = MachineSpec {
        id: "specimen".into(),
        name: "Specimen".into(),
        layout: chassis.layout().into(),
        pivot_length_mm: (chassis == Chassis::Head).then_some(pivot_mm),
        ..MachineSpec::default()
    };
    let names = ["X", "Y", "Z"].iter().chain(chassis.rotary());
    for (name, axis) in names.zip(axes) {
        let rotary = !["X", "Y", "Z"].contains(name);
        let mut row = AxisSpec::default();
        if rotary {
            row.max_feed_deg_min = Some(axis.speed.to_degrees() * 60.0);
        } else {
            row.max_feed_mm_min = Some(axis.speed * 60.0);
            row.travel_mm = Some([-1000.0, 1000.0]);
        }
        spec.axes.insert((*name).into(), row);
    }
    spec
}

fn off(draw: &mut Draw, value: f64, low: f64, high: f64) -> f64 {
    value * draw.between(low, high)
}

/// The sheet: `frame` and what else is printed.
pub(super) fn sheet(
    draw: &mut Draw,
    kind: Kind,
    frame: MachineSpec,
    hidden: &Hidden,
) -> MachineSpec {
    let mut spec = frame;
    let accel_off = draw.between(0.95, 1.2);
    let jerk_given = draw.chance(0.4);
    let order: &[&str] = match spec.layout.as_str() {
        "XYZ" => &["X", "Y", "Z"],
        "XYZ-AC" => &["X", "Y", "Z", "C", "A"],
        _ => &["X", "Y", "Z", "C", "B"],
    };
    for (name, axis) in order.iter().zip(&hidden.axes) {
        let accel = off(draw, axis.accel * accel_off, 0.96, 1.04);
        let jerk = off(draw, axis.jerk, 0.75, 1.25);
        let Some(row) = spec.axes.get_mut(*name) else { continue };
        if row.max_feed_deg_min.is_some() {
            row.accel_deg_s2 = Some(accel.to_degrees());
            row.jerk_deg_s3 = jerk_given.then_some(jerk.to_degrees());
        } else {
            row.accel_m_s2 = Some(accel / 1000.0);
            row.jerk_m_s3 = jerk_given.then_some(jerk / 1000.0);
        }
    }
    let tolerance = match &hidden.family {
        Family::Rounded(family) => Some(off(draw, family.tolerance_mm, 0.8, 1.25)),
        Family::Band(family) => Some(off(draw, family.tolerance_mm, 0.8, 1.25)),
        _ => draw.chance(0.3).then_some(0.01),
    };
    spec.path_tolerance_mm = tolerance;
    let block_ms = off(draw, hidden.block_time_s * 1000.0, 0.4, 1.3);
    spec.block_time_ms = draw.chance(0.6).then_some(block_ms);
    spec.tool_change_s = Some(off(draw, hidden.tool_change_s, 0.75, 1.0));
    spec.spindle_ramp_s = Some(off(draw, hidden.spindle_ramp_s, 0.75, 1.1));
    let waits = matches!(kind, Kind::Lagging | Kind::Stopping);
    spec.in_position_s = (waits && draw.chance(0.3)).then_some(0.05);
    spec.m_codes.insert("M8".into(), 0.6);
    spec.spindle = SpindleSpec { max_rpm: Some(hidden.spindle_rpm), ..SpindleSpec::default() };
    spec
}
