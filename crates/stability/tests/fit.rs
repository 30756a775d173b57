//! Modes out of responses that were made from known modes.

#![allow(clippy::unwrap_used, reason = "a test may")]

use num_complex::Complex64;
use stability::cut::{Direction, Immersion};
use stability::limit::{Method, limits};
use stability::{Axis, Cut, Mode, Structure, fit, frf};

/// A table as a measurement gives it; `noise` is a share of the peak.
fn table(modes: &[Mode], rest_mm_n: f64, noise: f64) -> Vec<u8> {
    let at = |hz: f64| -> Complex64 {
        let omega = std::f64::consts::TAU * hz;
        modes.iter().map(|m| m.response(omega)).sum::<Complex64>() + rest_mm_n
    };
    let hz = |i: u32| 150.0 + 1.0 * f64::from(i);
    let peak = (0..3850).map(|i| at(hz(i)).norm()).fold(0.0, f64::max);
    let mut text = String::from("frequency [Hz],real [m/N],imaginary [m/N]\n");
    for i in 0..3850 {
        // spread evenly over -1 to 1, the same each time
        let toss = |k: f64| 2.0 * ((f64::from(i) + 1.0) * k).fract() - 1.0;
        let shake = Complex64::new(toss(0.618_033_988_75), toss(0.754_877_666_25));
        let g = (at(hz(i)) + noise * peak * shake) / 1000.0;
        text.push_str(&format!("{},{:e},{:e}\n", hz(i), g.re, g.im));
    }
    text.into_bytes()
}

fn three() -> [Mode; 3] {
    [
        Mode::new(452.0, 0.04, 21_000.0).unwrap(),
        Mode::new(922.0, 0.018, 9_300.0).unwrap(),
        Mode::new(1750.0, 0.025, 26_000.0).unwrap(),
    ]
}

#[test]
fn clean_responses_give_their_modes_back() {
    let measured = frf::read(&table(&three(), 4e-6, 0.0), "tip.csv").unwrap();
    let fitted = fit::modes(&measured).unwrap();
    assert_eq!(fitted.modes().len(), 3);
    for (found, made) in fitted.modes().iter().zip(three()) {
        assert!((found.frequency_hz / made.frequency_hz - 1.0).abs() < 1e-7, "{found:?}");
        assert!((found.damping / made.damping - 1.0).abs() < 1e-6, "{found:?}");
        assert!((found.stiffness_n_mm / made.stiffness_n_mm - 1.0).abs() < 1e-6, "{found:?}");
    }
    assert!((fitted.rest_mm_n() / 4e-6 - 1.0).abs() < 1e-5);
}

#[test]
fn noise_of_two_percent_moves_the_modes_little() {
    let measured = frf::read(&table(&three(), 4e-6, 0.02), "tip.csv").unwrap();
    let fitted = fit::modes(&measured).unwrap();
    assert_eq!(fitted.modes().len(), 3, "{fitted:?}");
    for (found, made) in fitted.modes().iter().zip(three()) {
        assert!((found.frequency_hz / made.frequency_hz - 1.0).abs() < 2e-3, "{found:?}");
        assert!((found.damping / made.damping - 1.0).abs() < 0.06, "{found:?}");
        assert!((found.stiffness_n_mm / made.stiffness_n_mm - 1.0).abs() < 0.06, "{found:?}");
    }
    assert!(fitted.misfit() > 0.01 && fitted.misfit() < 0.15, "{}", fitted.misfit());
}

#[test]
fn limits_of_modes_of_the_table_and_of_the_fit_agree() {
    let immersion = Immersion::of_width(1.0, 0.5, Direction::Down).unwrap();
    let cut = Cut::new(3, 700.0, 0.3, immersion).unwrap();
    let speeds = [4000.0, 7000.0, 11_000.0, 18_000.0];
    let rest = 4e-6;
    let measured = frf::read(&table(&three(), rest, 0.0), "tip.csv").unwrap();
    let fitted = fit::modes(&measured).unwrap();
    let of = |axis: &Axis, method| {
        let structure = Structure { x: axis.clone(), y: axis.clone() };
        let found = limits(&structure, &cut, &speeds, method, 100.0).unwrap();
        found.into_iter().map(|l| l.unwrap().depth_mm).collect::<Vec<f64>>()
    };
    let table = of(&Axis::Measured(measured), Method::ZerothOrder);
    let by_fit = of(&Axis::Fitted(fitted.clone()), Method::ZerothOrder);
    for (a, b) in table.iter().zip(&by_fit) {
        assert!((a / b - 1.0).abs() < 2e-3, "{table:?} {by_fit:?}");
    }
    // the rest without mass as a mode far above, damped so that it does not ring: the same limits to
    // its remaining inertia
    let mut modes = three().to_vec();
    modes.push(Mode::new(60_000.0, 0.7, 1.0 / rest).unwrap());
    let far = of(&Axis::Modes(modes), Method::SemiDiscretisation);
    let full = of(&Axis::Fitted(fitted), Method::SemiDiscretisation);
    let bare = of(&Axis::Modes(three().to_vec()), Method::SemiDiscretisation);
    for i in 0..speeds.len() {
        assert!((far[i] / full[i] - 1.0).abs() < 1e-3, "{far:?} {full:?}");
    }
    assert!((0..speeds.len()).any(|i| (bare[i] / full[i] - 1.0).abs() > 0.01), "{bare:?} {full:?}");
}

#[test]
fn what_has_no_modes_is_refused() {
    // a spring without mass, then noise alone
    let lines = |value: &dyn Fn(u32) -> (f64, f64)| -> Vec<u8> {
        let row = |i: u32| {
            let (re, im) = value(i);
            format!("{},{re:e},{im:e}\n", 100.0 + f64::from(i))
        };
        (0..400).map(row).collect::<String>().into_bytes()
    };
    let spring = frf::read(&lines(&|_| (1e-8, 0.0)), "a.csv").unwrap();
    assert_eq!(fit::modes(&spring), Err(fit::FitError::NoPeak));
    let toss = |i: u32, k: f64| 1e-7 * (2.0 * (f64::from(i + 1) * k).fract() - 1.0);
    let noise = lines(&|i| (toss(i, 0.618_034), toss(i, 0.754_878) - 1e-9));
    let noise = frf::read(&noise, "b.csv").unwrap();
    assert!(
        matches!(fit::modes(&noise), Err(fit::FitError::Poor { .. })),
        "{:?}",
        fit::modes(&noise)
    );
}
