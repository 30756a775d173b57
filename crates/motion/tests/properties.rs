//! Properties that hold for every path: symmetry, scale, monotony, limits kept, convergence.

mod curves;

use curves::Curve;
use motion::path::{ActiveLimit, AxisLimits, Plan, plan, plan_without_jerk};
use motion::profile::{Move, MoveLimits};
use proptest::prelude::*;

/// A wavy path in three axes, the third one turning (rad).
#[derive(Debug, Clone, Copy)]
struct Wave {
    length: f64,
    turns: f64,
    height: f64,
    tilt_rad: f64,
}

impl Wave {
    fn curve(self, points: usize) -> Curve {
        let w = std::f64::consts::TAU * self.turns / self.length;
        Curve::sample(self.length, points, |s| {
            let (sin, cos) = (w * s).sin_cos();
            let (slow, slow_cos) = (0.6 * w * s).sin_cos();
            let (h, t) = (self.height * w, self.tilt_rad * 0.6 * w);
            ([1.0, h * cos, -t * slow], [0.0, -h * w * sin, -t * 0.6 * w * slow_cos])
        })
    }
}

fn wave() -> impl Strategy<Value = Wave> {
    (20.0..150.0, 0.5..4.0, 0.2..6.0, 0.05..0.8)
        .prop_map(|(length, turns, height, tilt_rad)| Wave { length, turns, height, tilt_rad })
}

fn limits() -> impl Strategy<Value = [AxisLimits; 3]> {
    let linear = (50.0..500.0, 1000.0..6000.0, 2e4..2e5);
    let rotary = (0.5..5.0, 5.0..50.0, 100.0..2000.0);
    (linear.clone(), linear, rotary).prop_map(|(x, y, b)| {
        [x, y, b].map(|(speed, acceleration, jerk)| AxisLimits { speed, acceleration, jerk })
    })
}

fn planned(curve: &Curve, limits: &[AxisLimits]) -> Plan {
    plan(&curve.grid(), limits).expect("a plan")
}

fn scaled(limits: &[AxisLimits; 3], speed: f64, acceleration: f64, jerk: f64) -> [AxisLimits; 3] {
    limits.map(|l| AxisLimits {
        speed: l.speed * speed,
        acceleration: l.acceleration * acceleration,
        jerk: l.jerk * jerk,
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn backwards_takes_the_same_time(wave in wave(), limits in limits()) {
        let curve = wave.curve(301);
        let (there, back) = (planned(&curve, &limits), planned(&curve.reversed(), &limits));
        prop_assert!((there.total_s / back.total_s - 1.0).abs() < 1e-4);
        let free = |c: &Curve| plan_without_jerk(&c.grid(), &limits).expect("a plan").total_s;
        prop_assert!((free(&curve) / free(&curve.reversed()) - 1.0).abs() < 1e-9);
    }

    /// derived: with time in other units, v, a, J scale by c, c², c³ and the time by 1/c; this is
    /// the sum rule of the elasticities (speeds + 2 accelerations + 3 jerks = -1) in one step.
    #[test]
    fn time_is_homogeneous_in_the_limits(wave in wave(), limits in limits(), c in 0.3..3.0) {
        let curve = wave.curve(301);
        let (one, other) = (planned(&curve, &limits), planned(&curve, &scaled(&limits, c, c * c, c * c * c)));
        prop_assert!((one.total_s / (c * other.total_s) - 1.0).abs() < 1e-4);
    }

    #[test]
    fn the_unit_of_the_path_parameter_does_not_matter(wave in wave(), limits in limits(), c in 0.01..100.0) {
        let curve = wave.curve(301);
        let mut other = curve.clone();
        other.s.iter_mut().for_each(|s| *s *= c);
        other.first.iter_mut().for_each(|q| *q /= c);
        other.second.iter_mut().for_each(|q| *q /= c * c);
        prop_assert!((planned(&curve, &limits).total_s / planned(&other, &limits).total_s - 1.0).abs() < 1e-4);
    }

    #[test]
    fn better_limits_never_cost_time(wave in wave(), limits in limits(), which in 0usize..3) {
        let curve = wave.curve(301);
        let better = [1.0, 1.0, 1.0].map(|_| 1.0);
        let mut factor: [f64; 3] = better;
        factor[which] = 1.3;
        let faster = planned(&curve, &scaled(&limits, factor[0], factor[1], factor[2]));
        prop_assert!(faster.total_s <= planned(&curve, &limits).total_s * (1.0 + 1e-4));
    }

    #[test]
    fn never_faster_than_without_jerk_and_limits_kept(wave in wave(), limits in limits()) {
        let curve = wave.curve(601);
        let with = planned(&curve, &limits);
        let without = plan_without_jerk(&curve.grid(), &limits).expect("a plan");
        prop_assert!(with.total_s >= without.total_s);
        prop_assert!(with.gap_s < 1e-4 * with.total_s, "gap {}", with.gap_s);
        for (i, (v, u)) in with.speed.iter().zip(&with.acceleration).enumerate() {
            for (k, l) in limits.iter().enumerate() {
                let (q1, q2) = (curve.first[3 * i + k], curve.second[3 * i + k]);
                prop_assert!((q1 * v).abs() <= l.speed * (1.0 + 1e-9));
                prop_assert!((q1 * u + q2 * v * v).abs() <= l.acceleration * 1.02);
            }
        }
    }

    /// Times of the intervals add up, and doubling the grid changes little.
    #[test]
    fn a_finer_grid_gives_the_same_time(wave in wave(), limits in limits()) {
        let (coarse, fine) = (planned(&wave.curve(301), &limits), planned(&wave.curve(1201), &limits));
        prop_assert!((coarse.total_s / fine.total_s - 1.0).abs() < 1e-2);
        prop_assert!((fine.time_s.iter().sum::<f64>() - fine.total_s).abs() < 1e-9);
        prop_assert!(fine.active.iter().all(|l| !matches!(l, ActiveLimit::PointCap)));
    }

    /// A move ends where and as fast as asked, inside its limits.
    #[test]
    fn a_straight_move_keeps_its_promises(
        d in 0.01..500.0, from in 0.0..1.0, to in 0.0..1.0, v in 5.0..1000.0, a in 100.0..1e4, j in 1e3..1e6,
    ) {
        let limits = MoveLimits { speed: v, acceleration: a, jerk: j };
        let (from, to) = (from * v, to * v);
        let needed = motion::profile::Ramp::new(from, to, &limits).length();
        let moved = Move::new(d, from, to, &limits);
        prop_assert_eq!(moved.is_ok(), d >= needed);
        if let Ok(m) = moved {
            let end = m.at(m.time_s());
            prop_assert!((end.position / d - 1.0).abs() < 1e-9, "{} {}", end.position, d);
            prop_assert!((end.speed - to).abs() < 1e-9 * v && end.acceleration.abs() < 1e-6 * a);
            for i in 0..=50 {
                let state = m.at(m.time_s() * f64::from(i) / 50.0);
                prop_assert!(state.speed <= v * (1.0 + 1e-12) && state.speed >= -1e-9 * v);
                prop_assert!(state.acceleration.abs() <= a * (1.0 + 1e-12));
            }
        }
    }
}

/// derived: central differences of the logarithms, 3 axes with all limits at work.
#[test]
fn elasticities_sum_to_minus_one() {
    let limits = [(180.0, 2500.0, 5e4), (150.0, 2000.0, 4e4), (1.5, 12.0, 300.0)]
        .map(|(speed, acceleration, jerk)| AxisLimits { speed, acceleration, jerk });
    let curve = Wave { length: 90.0, turns: 2.0, height: 3.0, tilt_rad: 0.5 }.curve(601);
    let log_time = |v: f64, a: f64, j: f64| planned(&curve, &scaled(&limits, v, a, j)).total_s.ln();
    let step: f64 = 1.03;
    let slope = |up: f64, down: f64| (up - down) / (2.0 * step.ln());
    let speed = slope(log_time(step, 1.0, 1.0), log_time(1.0 / step, 1.0, 1.0));
    let acceleration = slope(log_time(1.0, step, 1.0), log_time(1.0, 1.0 / step, 1.0));
    let jerk = slope(log_time(1.0, 1.0, step), log_time(1.0, 1.0, 1.0 / step));
    let sum = speed + 2.0 * acceleration + 3.0 * jerk;
    assert!((sum + 1.0).abs() < 5e-3, "{speed} {acceleration} {jerk}: {sum}");
    assert!(speed < 0.0 && acceleration <= 1e-4 && jerk < 0.0, "{speed} {acceleration} {jerk}");
}

/// The error of the grid is of second order: halving the step quarters the differences.
#[test]
fn the_sweeps_converge_with_second_order() {
    let wave = Wave { length: 90.0, turns: 2.0, height: 3.0, tilt_rad: 0.5 };
    let limits = [AxisLimits { speed: 1e3, acceleration: 2000.0, jerk: f64::INFINITY }; 3];
    let t = |n: usize| planned(&wave.curve(n), &limits).total_s;
    let [a, b, c] = [401, 1601, 6401].map(t);
    let order = ((a - b) / (b - c)).abs().log2() / 2.0;
    assert!(order > 1.4, "order {order}: {a} {b} {c}");
}

proptest! {
    #[test]
    fn times_of_distances_are_those_of_the_motion(
        distance in 0.01..500.0f64,
        shares in proptest::collection::vec(0.0..1.0f64, 8),
        (speed, acceleration, jerk) in (5.0..500.0, 100.0..6000.0, prop_oneof![Just(f64::INFINITY), 1e3..1e5]),
    ) {
        let whole = Move::rest_to_rest(distance, &MoveLimits { speed, acceleration, jerk }).expect("a move");
        for share in shares {
            let t = share * whole.time_s();
            let there = whole.at(t);
            let again = whole.at(whole.time_at(there.position));
            prop_assert!((again.position - there.position).abs() < 1e-9 * distance);
        }
        prop_assert!(whole.time_at(-1.0) == 0.0);
        prop_assert!((whole.time_at(2.0 * distance) - whole.time_s()).abs() < 1e-9 * whole.time_s());
    }
}
