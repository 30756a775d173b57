//! Distribution of the deviations from general libraries and from a dense optimisation.
//!
//! The times are computed by `scripts/reference/motion/run.py` and committed with the versions of
//! the libraries; the tests assert median and maximum over all cases.

mod curves;

use curves::Curve;
use motion::path::{AxisLimits, plan, plan_without_jerk};
use motion::profile::{Move, MoveLimits};
use serde_json::Value;

const STRAIGHT: &str = include_str!("../../../scripts/reference/motion/results/straight.json");
const CURVED: &str = include_str!("../../../scripts/reference/motion/results/curved.json");

fn cases(text: &str, key: &str) -> Vec<Value> {
    let document: Value = serde_json::from_str(text).expect("JSON");
    assert!(document["made_with"]["toppra"].is_string(), "results carry no versions");
    document[key].as_array().expect("an array of cases").clone()
}

fn number(case: &Value, key: &str) -> f64 {
    case[key].as_f64().expect(key)
}

/// Median and maximum of |deviation|.
fn spread(deviations: impl Iterator<Item = f64>) -> (f64, f64) {
    let mut sorted: Vec<f64> = deviations.map(f64::abs).collect();
    sorted.sort_by(f64::total_cmp);
    (sorted[sorted.len() / 2], sorted[sorted.len() - 1])
}

/// A sum of sines per axis with its limits, on a grid.
fn curve(case: &Value, points: usize) -> (Curve, Vec<AxisLimits>) {
    let rows = |key: &str| -> Vec<Value> { case[key].as_array().expect(key).clone() };
    let triple = |v: &Value| [0, 1, 2].map(|i| v[i].as_f64().expect("a number"));
    let slope: Vec<f64> = rows("slope").iter().map(|v| v.as_f64().expect("a number")).collect();
    let terms: Vec<Vec<[f64; 3]>> = rows("terms")
        .iter()
        .map(|axis| axis.as_array().expect("terms").iter().map(triple).collect())
        .collect();
    let length = number(case, "length");
    let s: Vec<f64> = (0..points).map(|i| length * i as f64 / (points - 1) as f64).collect();
    let (mut first, mut second) = (Vec::new(), Vec::new());
    for &at in &s {
        for (slope, terms) in slope.iter().zip(&terms) {
            first.push(
                slope + terms.iter().map(|[c, w, p]| c * w * (w * at + p).cos()).sum::<f64>(),
            );
            second.push(-terms.iter().map(|[c, w, p]| c * w * w * (w * at + p).sin()).sum::<f64>());
        }
    }
    let limits = rows("limits")
        .iter()
        .map(|v| {
            let [speed, acceleration, jerk] = triple(v);
            AxisLimits { speed, acceleration, jerk }
        })
        .collect();
    (Curve { axes: slope.len(), s, first, second, feed: Vec::new() }, limits)
}

/// Straight moves, rest to rest and between two speeds, against a trajectory library.
#[test]
fn straight_moves() {
    let moves = cases(STRAIGHT, "moves");
    assert!(moves.len() >= 400);
    let off = moves.iter().map(|m| {
        let limits = MoveLimits {
            speed: number(m, "speed"),
            acceleration: number(m, "acceleration"),
            jerk: number(m, "jerk"),
        };
        let planned =
            Move::new(number(m, "distance"), number(m, "start"), number(m, "end"), &limits);
        planned.expect("a move").time_s() / number(m, "time_s") - 1.0
    });
    let (median, worst) = spread(off);
    println!("straight: median {median:.1e}, worst {worst:.1e}");
    assert!(median < 1e-12 && worst < 1e-9, "median {median:e}, worst {worst:e}");
}

/// Curved paths under speed and acceleration limits against a general planner.
#[test]
fn curved_paths_without_jerk() {
    let curves = cases(CURVED, "curves");
    assert!(curves.len() >= 20);
    let off = curves.iter().map(|case| {
        let (curve, limits) = curve(case, 2001);
        let t = plan_without_jerk(&curve.grid(), &limits).expect("a plan").total_s;
        t / number(case, "without_jerk_s") - 1.0
    });
    let (median, worst) = spread(off);
    println!("without jerk: median {median:.1e}, worst {worst:.1e}");
    assert!(median < 2e-4 && worst < 1e-3, "median {median:e}, worst {worst:e}");
}

/// Curved paths under jerk limits against the dense optimisation; never faster than without jerk.
#[test]
fn curved_paths_with_jerk() {
    let curves = cases(CURVED, "curves");
    let off = curves.iter().map(|case| {
        let (curve, limits) = curve(case, 2001);
        let t = plan(&curve.grid(), &limits).expect("a plan").total_s;
        let bound = plan_without_jerk(&curve.grid(), &limits).expect("a plan").total_s;
        assert!(t >= bound, "{}: {t} below {bound}", case["name"]);
        t / number(case, "with_jerk_s") - 1.0
    });
    let (median, worst) = spread(off);
    println!("with jerk: median {median:.1e}, worst {worst:.1e}");
    assert!(median < 1e-3 && worst < 1e-2, "median {median:e}, worst {worst:e}");
}

/// Largest share of acceleration and jerk limits on the motion between the points of a plan: a
/// cubic x(s) through speeds and accelerations, with the exact derivatives of the path. The first
/// and last tenth of a second are left out of the jerk, where x(s) is no cubic.
fn used_between_points(case: &Value, points: usize) -> Vec<(f64, f64)> {
    let (coarse, limits) = curve(case, points);
    let (fine, _) = curve(case, 4 * points - 3);
    let plan = plan(&coarse.grid(), &limits).expect("a plan");
    let mut used = Vec::new();
    let mut t = 0.0;
    let h = coarse.s[1] - coarse.s[0];
    for i in 0..points - 1 {
        t += plan.time_s[i];
        let (a, b) = (plan.speed[i].powi(2), plan.speed[i + 1].powi(2));
        let (ua, ub) = (2.0 * plan.acceleration[i] * h, 2.0 * plan.acceleration[i + 1] * h);
        let (c2, c3) = (3.0 * (b - a) - 2.0 * ua - ub, 2.0 * (a - b) + ua + ub);
        let x = a + 0.5 * ua + 0.25 * c2 + 0.125 * c3;
        let u = (ua + c2 + 0.75 * c3) / (2.0 * h);
        let bend = (2.0 * c2 + 3.0 * c3) / (2.0 * h * h);
        let (mut acceleration, mut jerk) = (0.0f64, 0.0f64);
        for (k, l) in limits.iter().enumerate() {
            let at = |j: usize| (4 * i + j) * limits.len() + k;
            let (q1, q2) = (fine.first[at(2)], fine.second[at(2)]);
            let q3 = (fine.second[at(3)] - fine.second[at(1)]) / (0.5 * h);
            acceleration = acceleration.max((q1 * u + q2 * x).abs() / l.acceleration);
            jerk = jerk.max(x.sqrt() * (q1 * bend + 3.0 * q2 * u + q3 * x).abs() / l.jerk);
        }
        let inside = t > 0.1 && t < plan.total_s - 0.1;
        used.push((acceleration, if inside { jerk } else { 0.0 }));
    }
    used
}

/// Limits hold between the points as well, by a motion made of cubics through the points.
#[test]
fn limits_hold_between_the_points() {
    let (mut acceleration, mut jerk) = (Vec::new(), Vec::new());
    for case in cases(CURVED, "curves") {
        let used = used_between_points(&case, 4001);
        acceleration.extend(used.iter().map(|u| u.0));
        jerk.extend(used.iter().map(|u| u.1));
    }
    acceleration.sort_by(f64::total_cmp);
    jerk.sort_by(f64::total_cmp);
    let at = |v: &[f64], share: f64| v[((v.len() - 1) as f64 * share) as usize];
    println!(
        "acceleration 99.9 % {:.4}, max {:.4}; jerk 99 % {:.4}, 99.9 % {:.4}, max {:.4}",
        at(&acceleration, 0.999),
        at(&acceleration, 1.0),
        at(&jerk, 0.99),
        at(&jerk, 0.999),
        at(&jerk, 1.0)
    );
    assert!(at(&acceleration, 1.0) < 1.01);
    assert!(at(&jerk, 0.99) < 1.02);
}
