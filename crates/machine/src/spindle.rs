//! What the spindle can deliver at a speed, by duty.

use crate::{CurvePoint, MachineError, SpindleSpec};
use std::f64::consts::PI;

/// A spindle with a curve per duty; the first is the one to reckon with.
#[derive(Debug, Clone, PartialEq)]
pub struct Spindle {
    /// Fastest speed, rev/min; `None` where the machine file says nothing.
    pub max_rpm: Option<f64>,
    /// Slowest speed, rev/min.
    pub min_rpm: f64,
    /// Curves with their duty, the main one first; empty where none is known.
    pub curves: Vec<Curve>,
}

/// Power and torque over speed under one duty.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Duty after IEC 60034-1: `S1`.
    pub duty: String,
    /// Points by rising speed.
    pub points: Vec<CurvePoint>,
}

/// What is available at a speed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Available {
    /// Power, kW.
    pub power_kw: f64,
    /// Torque, N m.
    pub torque_nm: f64,
}

/// kW of 1 N m at 1 rev/min.
const KW_PER_NM_RPM: f64 = 2.0 * PI / 60.0 / 1000.0;

impl Spindle {
    /// Checks and sorts what the file says.
    pub fn new(spec: &SpindleSpec) -> Result<Self, MachineError> {
        let max_rpm = spec.max_rpm.map(|v| positive("spindle.max_rpm", v)).transpose()?;
        let min_rpm = spec.min_rpm.map_or(Ok(0.0), |v| positive("spindle.min_rpm", v))?;
        if max_rpm.is_some_and(|max| max < min_rpm) {
            let remedy = "give min_rpm below max_rpm";
            return Err(MachineError::wrong("spindle.min_rpm", min_rpm, "at most max_rpm", remedy));
        }
        let main = spec.duty.clone().unwrap_or_else(|| "S1".into());
        let mut curves = Vec::new();
        if !spec.curve.is_empty() {
            curves.push(Curve::new(main, &spec.curve, "spindle.curve")?);
        }
        for (i, also) in spec.also.iter().enumerate() {
            let key = format!("spindle.also[{i}].curve");
            curves.push(Curve::new(also.duty.clone(), &also.curve, &key)?);
        }
        Ok(Self { max_rpm, min_rpm, curves })
    }

    /// What the main duty gives at `rpm`; `None` without a curve or outside it.
    pub fn available(&self, rpm: f64) -> Option<Available> {
        self.curves.first()?.at(rpm)
    }

    /// The curve of a duty.
    pub fn curve(&self, duty: &str) -> Option<&Curve> {
        self.curves.iter().find(|c| c.duty.eq_ignore_ascii_case(duty))
    }
}

fn positive(key: &str, value: f64) -> Result<f64, MachineError> {
    if value > 0.0 && value.is_finite() {
        return Ok(value);
    }
    Err(MachineError::wrong(key, value, "a number greater than 0", "correct the figure"))
}

impl Curve {
    fn new(duty: String, points: &[CurvePoint], key: &str) -> Result<Self, MachineError> {
        if points.is_empty() {
            return Err(MachineError::missing(key, "at least one point", "add points or drop it"));
        }
        for (i, p) in points.iter().enumerate() {
            check_point(p, &format!("{key}[{i}]"))?;
        }
        if let Some(i) = points.windows(2).position(|w| w[1].rpm <= w[0].rpm) {
            let place = format!("{key}[{}].rpm", i + 1);
            let remedy = "order the points by speed, each speed once";
            return Err(MachineError::wrong(&place, points[i + 1].rpm, "a higher speed", remedy));
        }
        Ok(Self { duty, points: points.to_vec() })
    }

    /// Power linear in speed between points (exact at constant torque and at constant power), torque
    /// from it, at most the largest that is stated.
    pub fn at(&self, rpm: f64) -> Option<Available> {
        let (first, last) = (self.points.first()?, self.points.last()?);
        if !(rpm >= 0.0 && rpm <= last.rpm) {
            return None;
        }
        if rpm <= first.rpm {
            let torque_nm = first.torque_nm;
            return Some(Available { power_kw: torque_nm * rpm * KW_PER_NM_RPM, torque_nm });
        }
        let i = self.points.partition_point(|p| p.rpm < rpm);
        let (a, b) = (self.points[i - 1], self.points[i]);
        let t = (rpm - a.rpm) / (b.rpm - a.rpm);
        let power_kw = a.power_kw + t * (b.power_kw - a.power_kw);
        let most = a.torque_nm.max(b.torque_nm);
        Some(Available { power_kw, torque_nm: (power_kw / (rpm * KW_PER_NM_RPM)).min(most) })
    }
}

fn check_point(p: &CurvePoint, key: &str) -> Result<(), MachineError> {
    for (name, value) in [("rpm", p.rpm), ("power_kw", p.power_kw), ("torque_nm", p.torque_nm)] {
        if !(value >= 0.0 && value.is_finite()) {
            let place = format!("{key}.{name}");
            let expected = "a number that is 0 or greater";
            return Err(MachineError::wrong(&place, value, expected, "correct the figure"));
        }
    }
    let turning_kw = p.torque_nm * p.rpm * KW_PER_NM_RPM;
    if p.rpm > 0.0 && (p.power_kw > 2.0 * turning_kw || turning_kw > 2.0 * p.power_kw) {
        let expected = format!("about {turning_kw:.2} kW, the torque there times the speed");
        let remedy = "check the units: kW, N m and rev/min";
        return Err(MachineError::wrong(&format!("{key}.power_kw"), p.power_kw, &expected, remedy));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spec() -> SpindleSpec {
        let point = |rpm, power_kw, torque_nm| CurvePoint { rpm, power_kw, torque_nm };
        SpindleSpec {
            max_rpm: Some(15000.0),
            duty: Some("S1".into()),
            curve: vec![
                point(0.0, 0.0, 80.0),
                point(2400.0, 20.106, 80.0),
                point(15000.0, 20.106, 12.8),
            ],
            ..SpindleSpec::default()
        }
    }

    #[test]
    fn constant_torque_then_constant_power() {
        let spindle = Spindle::new(&spec()).unwrap();
        let low = spindle.available(1200.0).unwrap();
        assert!((low.torque_nm - 80.0).abs() < 0.01 && (low.power_kw - 10.053).abs() < 1e-3);
        // derived: 20.106 kW at 6000 rev/min is 32.0 N m
        assert!((spindle.available(6000.0).unwrap().torque_nm - 32.0).abs() < 0.01);
        assert_eq!(spindle.available(15000.1), None);
        assert_eq!(spindle.available(0.0).unwrap().torque_nm, 80.0);
    }

    #[test]
    fn watts_given_for_kilowatts_are_noticed() {
        let mut wrong = spec();
        wrong.curve[1].power_kw = 20106.0;
        let message = Spindle::new(&wrong).unwrap_err().to_string();
        assert!(
            message.contains("spindle.curve[1].power_kw") && message.contains("kW"),
            "{message}"
        );
        let mut unordered = spec();
        unordered.curve[2].rpm = 100.0;
        unordered.curve[2].power_kw = 0.134;
        assert!(Spindle::new(&unordered).unwrap_err().key().contains("[2].rpm"));
    }
}
