//! Binds the published checks of moves and paths to the planners.

mod curves;

use curves::circle;
use motion::path::{AxisLimits, plan};
use motion::profile::{Move, MoveLimits, Ramp};
use published::{Bindings, Fault, Inputs};

fn limits(inputs: &Inputs) -> Result<MoveLimits, Fault> {
    Ok(MoveLimits {
        speed: inputs.real_or("speed_mm_per_s", f64::INFINITY)?,
        acceleration: inputs.real("acceleration_mm_per_s2")?,
        jerk: inputs.real_or("jerk_mm_per_s3", f64::INFINITY)?,
    })
}

fn time_s(inputs: &Inputs) -> Result<f64, Fault> {
    let planned = Move::rest_to_rest(inputs.real("distance_mm")?, &limits(inputs)?);
    planned.map(|m| m.time_s()).map_err(|e| Fault::new("move", e))
}

fn ramp(inputs: &Inputs) -> Result<Ramp, Fault> {
    let (from, to) = (inputs.real("from_mm_per_s")?, inputs.real("to_mm_per_s")?);
    Ok(Ramp::new(from, to, &limits(inputs)?))
}

fn arc_s(inputs: &Inputs) -> Result<f64, Fault> {
    let each = AxisLimits {
        speed: f64::INFINITY,
        acceleration: inputs.real("acceleration_mm_per_s2")?,
        jerk: f64::INFINITY,
    };
    let curve = circle(inputs.real("radius_mm")?, inputs.real("angle_deg")?.to_radians(), 2001);
    plan(&curve.grid(), &[each; 2]).map(|p| p.total_s).map_err(|e| Fault::new("path", e))
}

#[test]
fn published_checks_hold() {
    let moves = [
        "trapezoid",
        "triangle",
        "s-curve-all-limits",
        "s-curve-acceleration",
        "s-curve-speed",
        "s-curve-jerk",
    ];
    let mut bindings = Bindings::new(env!("CARGO_MANIFEST_DIR"));
    bindings
        .bind(&moves, time_s)
        .bind(&["speed-change-time"], |i| Ok(ramp(i)?.time_s()))
        .bind(&["speed-change-length"], |i| Ok(ramp(i)?.length()))
        .bind(&["arc-each-axis"], arc_s)
        .run();
}
