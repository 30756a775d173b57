//! Closed forms of straight moves with their values.

use motion::profile::{Move, MoveLimits, Ramp};

fn limits(speed: f64, acceleration: f64, jerk: f64) -> MoveLimits {
    MoveLimits { speed, acceleration, jerk }
}

/// derived: textbook closed form in three regimes; distances mm, times s.
#[test]
fn rest_to_rest_in_every_regime() {
    let rows = [
        (0.2, 100.0, 4000.0, 6e4, 0.047_425_24),
        (3.0, 100.0, 4000.0, 6e4, 0.116_960_7),
        (25.0, 100.0, 4000.0, 6e4, 0.331_649_7),
        (80.0, 100.0, 4000.0, 6e4, 0.881_649_7),
        (10.0, 500.0, 4000.0, 6e4, 0.174_716_1),
        (25.0, 500.0, 4000.0, 6e4, 0.237_126_2),
        (80.0, 500.0, 4000.0, 6e4, 0.357_259_9),
        (400.0, 500.0, 4000.0, 6e4, 0.991_666_7),
        (200.0, 500.0, 5000.0, 5e4, 0.6),
        (100.0, 100.0, 5000.0, 2e4, 1.141_421_4),
        (1.0, 500.0, 5000.0, 5e4, 0.086_177_388),
    ];
    for (d, v, a, j, expected) in rows {
        let t = Move::rest_to_rest(d, &limits(v, a, j)).expect("a move").time_s();
        assert!((t / expected - 1.0).abs() < 1e-6, "{d} {v}: {t}");
    }
}

/// derived: trapezoid, the limit of infinite jerk.
#[test]
fn without_jerk_limit_a_trapezoid() {
    for (d, v, a, expected) in [(100.0, 500.0, 5000.0, 0.3), (5.0, 500.0, 5000.0, 0.063_245_553)] {
        let t = Move::rest_to_rest(d, &limits(v, a, f64::INFINITY)).expect("a move").time_s();
        assert!((t - expected).abs() < 1e-9, "{t}");
    }
}

/// derived: Δv/a + a/J or 2 √(Δv/J); length = mean speed · time.
#[test]
fn speed_changes() {
    let rows = [
        (20.0, 90.0, 4000.0, 6e4, 0.068_313_01, 3.757_215),
        (20.0, 420.0, 4000.0, 6e4, 0.166_666_7, 36.666_67),
        (0.0, 100.0, 5000.0, 5e4, 0.089_442_719, 4.472_136),
        (50.0, 500.0, 5000.0, 5e4, 0.189_736_66, 52.177_581),
    ];
    for (from, to, a, j, time, length) in rows {
        let ramp = Ramp::new(from, to, &limits(1000.0, a, j));
        assert!((ramp.time_s() / time - 1.0).abs() < 1e-6, "{ramp:?}");
        assert!((ramp.length() / length - 1.0).abs() < 1e-6, "{ramp:?}");
    }
}

/// derived: elasticities of the time of four moves by central differences; they sum to −1 with
/// weights 1, 2 and 3.
#[test]
fn elasticities_of_four_moves() {
    let total = |v: f64, a: f64, j: f64| -> f64 {
        let one = |d| Move::rest_to_rest(d, &limits(500.0 * v, 4000.0 * a, 6e4 * j));
        [0.2, 3.0, 25.0, 400.0].map(|d| one(d).expect("a move").time_s()).iter().sum()
    };
    assert!((total(1.0, 1.0, 1.0) - 1.393_179).abs() < 1e-6);
    assert!((total(1.0, 1.0, 1.1) - 1.374_563).abs() < 1e-6);
    let h: f64 = 1e-4;
    let slope = |f: &dyn Fn(f64) -> f64| (f(h.exp()).ln() - f((-h).exp()).ln()) / (2.0 * h);
    let speed = slope(&|c| total(c, 1.0, 1.0));
    let acceleration = slope(&|c| total(1.0, c, 1.0));
    let jerk = slope(&|c| total(1.0, 1.0, c));
    for (got, expected) in
        [(speed, -0.484_503_5), (acceleration, -0.041_870_67), (jerk, -0.143_918_4)]
    {
        assert!((got - expected).abs() < 1e-6, "{got} {expected}");
    }
    assert!((speed + 2.0 * acceleration + 3.0 * jerk + 1.0).abs() < 1e-7);
}

/// A move too short for its change of speed says how long it must be.
#[test]
fn too_short_says_what_is_needed() {
    let error = Move::new(3.0, 20.0, 90.0, &limits(500.0, 4000.0, 6e4)).expect_err("too short");
    assert!(error.to_string().contains("needs 3.757"), "{error}");
    let nan = Move::rest_to_rest(f64::NAN, &limits(500.0, 4000.0, 6e4)).expect_err("not a number");
    assert!(nan.to_string().starts_with("distance is NaN"), "{nan}");
}
