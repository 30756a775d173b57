//! What a check of the loads needs and nobody gave: what cannot be said for want of it, and what to do.

use super::Loads;
use crate::job::Prepared;
use crate::scene::Scene;
use machine::Spindle;
use study::OperationKind;
use study::outcome::{Load, LoadKind};

/// Continuous duty after IEC 60034-1.
const CONTINUOUS: &str = "S1";

/// In the order in which it matters. `law` is why there is no force law, if there is none.
pub(super) fn of(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    law: Option<&str>,
    loads: &Loads,
) -> Vec<String> {
    let mut out = spindle(&scene.study.machine.spindle, 60.0 * prepared.rev_s);
    let cutter = prepared.cutter;
    if cutter.runout_mm.is_none() {
        out.push(format!(
            "the runout of cutter {} is not given, so that the largest chip and force of a tooth are not \
             checked: measure it at the tip and give runout_um",
            cutter.id
        ));
    }
    if cutter.spec.stickout_mm.is_none() {
        out.push(format!(
            "the stick-out of cutter {} is not given, so that bending, deflection and chatter are not \
             checked: give stickout_mm",
            cutter.id
        ));
    }
    let material = &scene.study.part.material;
    if let Some(why) = law {
        out.push(format!(
            "force, torque, power, deflection and chatter are not checked: {why}; give the material's \
             coefficients of the cutting force in a file of its own"
        ));
    } else if loads.chatter.margin.is_none() && cutter.spec.stickout_mm.is_some() {
        out.push(format!(
            "chatter is not checked: {}; give a frequency response measured at the tip (frf_x, frf_y)",
            loads.chatter.rests_on
        ));
    }
    if let Some(why) = loads.life.missing.as_ref().filter(|_| loads.life.minutes.is_none()) {
        out.push(format!(
            "tool life is not checked: {why}; give the life law of {} in a material file of its own",
            material.id
        ));
    }
    let tolerance = scene.study.feature_of(prepared.operation).tolerance_mm;
    if prepared.operation.kind == OperationKind::FinishWall && tolerance.is_none() {
        out.push(
            "the form that the wall may have is not given, so that its error is not checked: give \
             tolerance_um"
                .to_owned(),
        );
    }
    out
}

/// What the curves leave open at a speed.
fn spindle(spindle: &Spindle, rpm: f64) -> Vec<String> {
    if spindle.curves.is_empty() {
        return vec![
            "the spindle's curve is not given, so that torque and power are not checked: give curve and \
             duty under [spindle]"
                .to_owned(),
        ];
    }
    if spindle.curves.iter().all(|c| c.at(rpm).is_none()) {
        return vec![format!(
            "no curve of the spindle reaches {rpm:.0} rev/min, so that torque and power are not checked: \
             carry the curve on to the spindle's fastest speed"
        )];
    }
    if spindle.curve(CONTINUOUS).is_none_or(|c| c.at(rpm).is_none()) {
        let duties: Vec<&str> = spindle.curves.iter().map(|c| c.duty.as_str()).collect();
        return vec![format!(
            "the spindle's curve of continuous duty, {CONTINUOUS}, is not given at {rpm:.0} rev/min (given: \
             {}), so that lasting torque and power are not checked: give it under [spindle] or [[spindle.also]]",
            duties.join(", ")
        )];
    }
    Vec::new()
}

/// Where no load was computed at all.
pub(super) fn nothing(loads: &[Load]) -> Vec<String> {
    let why = loads.iter().find(|l| l.kind == LoadKind::Force).and_then(|l| l.missing.clone());
    let line = |why: String| {
        format!("no load is checked: {why}; check allowance_mm, the step-over and the axis")
    };
    why.map(line).into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use machine::spec::{CurvePoint, DutyCurve, SpindleSpec};

    fn curve() -> Vec<CurvePoint> {
        [(0.0, 0.0, 80.0), (2400.0, 20.0, 80.0), (15_000.0, 20.0, 12.7)]
            .map(|(rpm, power_kw, torque_nm)| CurvePoint { rpm, power_kw, torque_nm })
            .to_vec()
    }

    fn found(
        duty: Option<&str>,
        curve: Vec<CurvePoint>,
        also: Vec<DutyCurve>,
        rpm: f64,
    ) -> Vec<String> {
        let duty = duty.map(str::to_owned);
        let spec = SpindleSpec { duty, curve, also, ..Default::default() };
        spindle(&Spindle::new(&spec).unwrap(), rpm)
    }

    #[test]
    fn what_the_curves_leave_open_is_named_with_a_remedy() {
        assert!(found(Some("S1"), curve(), Vec::new(), 9000.0).is_empty());
        let also = vec![DutyCurve { duty: "S1".to_owned(), curve: curve() }];
        assert!(found(Some("S6-40"), curve(), also, 9000.0).is_empty());
        let cases = [
            (found(None, Vec::new(), Vec::new(), 9000.0), "not given, so that torque and power"),
            (found(Some("S6-40"), curve(), Vec::new(), 9000.0), "S1, is not given"),
            (found(Some("S1"), curve(), Vec::new(), 1e6), "no curve of the spindle reaches"),
        ];
        for (lines, words) in cases {
            assert!(lines.len() == 1 && lines[0].contains(words), "{lines:?}");
            assert!(lines[0].contains(": give") || lines[0].contains(": carry"), "{lines:?}");
        }
    }
}
