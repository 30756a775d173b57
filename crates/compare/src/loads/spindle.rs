//! Torque and power of an operation against the spindle's curves, each by its duty.
//!
//! A peak within a revolution is over long before anything warms: it is judged against the strongest
//! curve that the machine file gives at the speed. What heats the spindle is the root mean square while
//! it cuts: it is judged against the continuous duty, S1.

use super::force::{Answering, Spread, Worst};
use crate::job::Prepared;
use crate::scene::Scene;
use machine::Spindle;
use mechanics::force::power_kw;
use study::outcome::{Load, LoadKind};

/// Continuous duty after IEC 60034-1.
const CONTINUOUS: &str = "S1";
/// N mm per N m.
const N_MM: f64 = 1e3;

/// What the curves give at a speed, N m.
struct Curves {
    /// The strongest curve and its duty.
    peak: Option<(f64, String)>,
    /// The continuous one.
    lasting: Option<f64>,
    words: String,
}

impl Curves {
    fn at(spindle: &Spindle, rpm: f64) -> Self {
        let of = |c: &machine::spindle::Curve| Some((c.at(rpm)?.torque_nm, c.duty.clone()));
        let given: Vec<(f64, String)> = spindle.curves.iter().filter_map(of).collect();
        let mut peak: Option<(f64, String)> = None;
        for one in &given {
            if peak.as_ref().is_none_or(|p| one.0 > p.0) {
                peak = Some(one.clone());
            }
        }
        let lasting = spindle.curve(CONTINUOUS).and_then(|c| Some(c.at(rpm)?.torque_nm));
        let words = match (&peak, lasting) {
            (None, _) => "the spindle's curve is not given at this speed".to_owned(),
            (Some((_, duty)), None) => format!(
                "peak within a revolution by the curve of duty {duty} at {rpm:.0} rev/min; a curve of duty \
                 {CONTINUOUS} is not given, so that nothing is said of lasting load"
            ),
            (Some((_, duty)), Some(_)) if given.len() == 1 => format!(
                "the one curve given, duty {duty}, at {rpm:.0} rev/min, for the peak within a revolution \
                 and for the r.m.s. while cutting"
            ),
            (Some((_, duty)), Some(_)) => format!(
                "peak within a revolution by the curve of duty {duty}, r.m.s. while cutting by {CONTINUOUS}, \
                 at {rpm:.0} rev/min"
            ),
        };
        Self { peak, lasting, words }
    }
}

/// The torque, N m.
pub(super) fn torque(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    worst: [&Worst; 3],
    spread: &Spread,
) -> Answering {
    load(LoadKind::Torque, scene, prepared, worst, spread)
}

/// The power at the cutter, kW.
pub(super) fn power(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    worst: [&Worst; 3],
    spread: &Spread,
) -> Answering {
    load(LoadKind::Power, scene, prepared, worst, spread)
}

fn load(
    kind: LoadKind,
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    [now, high, twice]: [&Worst; 3],
    spread: &Spread,
) -> Answering {
    let rev_s = prepared.rev_s;
    let of = |torque_nm: f64| match kind {
        LoadKind::Power => power_kw(N_MM * torque_nm, rev_s),
        _ => torque_nm,
    };
    let curves = Curves::at(&scene.study.machine.spindle, 60.0 * rev_s);
    let peak = of(now.peak_torque_nm());
    let most = of(high.peak_torque_nm()).max(peak);
    let losses = if kind == LoadKind::Power { "; at the cutter, losses apart" } else { "" };
    Answering {
        load: Load {
            kind,
            mean: Some(of(now.mean_torque_nm())),
            peak: Some(peak),
            peak_range: Some(spread.range(peak, most)),
            limit: curves.peak.as_ref().map(|p| of(p.0)),
            limit_from: format!("{}{losses}", curves.words),
            rms: Some(of(now.rms_torque_nm())),
            rms_limit: curves.lasting.map(of),
            surface: None,
            missing: None,
        },
        at_twice: Some(of(twice.peak_torque_nm())),
        rms_at_twice: Some(of(twice.rms_torque_nm())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use machine::spec::{CurvePoint, DutyCurve, SpindleSpec};

    fn level(power_kw: f64, torque_nm: f64) -> Vec<CurvePoint> {
        let knee = 9549.297 * power_kw / torque_nm;
        [
            (0.0, 0.0, torque_nm),
            (knee, power_kw, torque_nm),
            (4.0 * knee, power_kw, 0.25 * torque_nm),
        ]
        .map(|(rpm, power_kw, torque_nm)| CurvePoint { rpm, power_kw, torque_nm })
        .to_vec()
    }

    fn spindle(duty: &str, also: Vec<DutyCurve>) -> Spindle {
        let curve = level(10.0, 50.0);
        let spec = SpindleSpec { duty: Some(duty.to_owned()), curve, also, ..Default::default() };
        Spindle::new(&spec).unwrap()
    }

    #[test]
    fn peaks_go_by_the_strongest_curve_and_lasting_load_by_s1() {
        let short = DutyCurve { duty: "S6-40".to_owned(), curve: level(15.0, 75.0) };
        let found = Curves::at(&spindle("S1", vec![short]), 1000.0);
        let (peak, duty) = found.peak.unwrap();
        assert!((peak - 75.0).abs() < 1e-4 && duty == "S6-40");
        assert!((found.lasting.unwrap() - 50.0).abs() < 1e-4);
        assert!(found.words.contains("S6-40") && found.words.contains("S1"), "{}", found.words);
        // a short-time curve alone says nothing of lasting load
        let alone = Curves::at(&spindle("S6-40", Vec::new()), 1000.0);
        assert!(alone.lasting.is_none() && alone.words.contains("not given"), "{}", alone.words);
        assert!(Curves::at(&spindle("S1", Vec::new()), 1e6).peak.is_none());
    }
}
