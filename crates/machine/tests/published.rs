//! Binds the published checks of speed on arcs, axis positions and the spindle to the machine.

mod shop;

use geom::Vec3;
use machine::route::corner::Arc;
use machine::{CurvePoint, Kinematics, Machine, Mounting, Spindle, SpindleSpec};
use published::{Bindings, Fault, Inputs};
use toolpath::Pose;

fn fault(error: impl std::fmt::Display) -> Fault {
    Fault::new("machine", error)
}

fn corner(inputs: &Inputs) -> Result<Arc, Fault> {
    let turn_rad = inputs.real("turn_deg")?.to_radians();
    Ok(Arc::new(turn_rad, inputs.real("tolerance_mm")?, f64::INFINITY))
}

fn feed_mm_min(arc: &Arc, inputs: &Inputs) -> Result<f64, Fault> {
    let acceleration = inputs.real_or("acceleration_mm_per_s2", f64::INFINITY)?;
    let jerk = inputs.real_or("jerk_mm_per_s3", f64::INFINITY)?;
    Ok(60.0 * arc.speed_mm_s(acceleration, jerk))
}

fn arc_feed_mm_min(inputs: &Inputs) -> Result<f64, Fault> {
    feed_mm_min(&Arc { radius_mm: inputs.real("radius_mm")?, trim_mm: 0.0 }, inputs)
}

/// Linear axis of a pose whose tool stands at two given angles.
fn linear_mm(kinematics: &Kinematics, inputs: &Inputs) -> Result<f64, Fault> {
    let (a, c) = (inputs.real("a_deg")?.to_radians(), inputs.real("c_deg")?.to_radians());
    let axis = Vec3::new(a.sin() * c.sin(), -a.sin() * c.cos(), a.cos());
    let tip =
        Vec3::new(inputs.real("tip_x_mm")?, inputs.real("tip_y_mm")?, inputs.real("tip_z_mm")?);
    let found = kinematics.inverse(&Pose { tip, axis }, [0.0; 2]).map_err(fault)?;
    let same = |p: &&machine::AxisPosition| (p.rotary[1] - a).abs() < 1e-6;
    let at = found.iter().find(same).ok_or_else(|| fault("no solution at that angle"))?;
    match inputs.word("axis")? {
        "X" => Ok(at.linear.x),
        "Y" => Ok(at.linear.y),
        "Z" => Ok(at.linear.z),
        other => Err(fault(format!("no axis {other}"))),
    }
}

fn trunnion_mm(inputs: &Inputs) -> Result<f64, Fault> {
    let mut spec = shop::spec("XYZ-AC");
    let centre_mm = [0.0, 0.0, inputs.real("a_centre_z_mm")?];
    let axis = spec.axes.get_mut("A").ok_or_else(|| fault("no A axis"))?;
    axis.rotary_centre_mm = Some(centre_mm);
    let machine = Machine::new(&spec).map_err(fault)?;
    linear_mm(&Kinematics::new(&machine, &Mounting::default()), inputs)
}

fn head_mm(inputs: &Inputs) -> Result<f64, Fault> {
    let mut spec = shop::spec("XYZ+AC");
    spec.pivot_length_mm = Some(inputs.real("pivot_mm")?);
    let machine = Machine::new(&spec).map_err(fault)?;
    linear_mm(&Kinematics::new(&machine, &Mounting::default()), inputs)
}

fn spindle_torque_nm(inputs: &Inputs) -> Result<f64, Fault> {
    let (power_kw, torque_nm) = (inputs.real("power_kw")?, inputs.real("torque_nm")?);
    let rpm = inputs.real("speed_rpm")?;
    let turned = |rpm: f64| 1e3 * power_kw / (rpm * std::f64::consts::TAU / 60.0);
    let base_rpm = 1e3 * power_kw / torque_nm * 60.0 / std::f64::consts::TAU;
    let point = |rpm, torque_nm| CurvePoint { rpm, power_kw, torque_nm };
    let top_rpm = 20_000.0;
    let spec = SpindleSpec {
        max_rpm: Some(top_rpm),
        duty: Some("S1".to_owned()),
        curve: vec![point(base_rpm, torque_nm), point(top_rpm, turned(top_rpm))],
        ..SpindleSpec::default()
    };
    let spindle = Spindle::new(&spec).map_err(fault)?;
    spindle.available(rpm).map(|a| a.torque_nm).ok_or_else(|| fault("beyond the curve"))
}

#[test]
fn published_checks_hold() {
    let mut bindings = Bindings::new(env!("CARGO_MANIFEST_DIR"));
    bindings
        .bind(&["arc-speed-acceleration", "arc-speed-jerk"], arc_feed_mm_min)
        .bind(&["corner-arc-radius"], |i| Ok(corner(i)?.radius_mm))
        .bind(&["corner-arc-trim"], |i| Ok(corner(i)?.trim_mm))
        .bind(&["corner-feed"], |i| feed_mm_min(&corner(i)?, i))
        .bind(&["trunnion-linear"], trunnion_mm)
        .bind(&["head-linear"], head_mm)
        .bind(&["spindle-torque"], spindle_torque_nm)
        .run();
}
