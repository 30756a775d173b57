//! Odd structures and cuts: an answer or none, never a hang, never NaN.

#![allow(clippy::unwrap_used, reason = "a test may")]

use stability::cut::{Direction, Immersion};
use stability::limit::{Method, limits};
use stability::{Axis, Cut, Mode, Structure};

fn modes(list: &[(f64, f64, f64)]) -> Axis {
    Axis::Modes(list.iter().map(|(f, z, k)| Mode::new(*f, *z, *k).unwrap()).collect())
}

fn cut(teeth: u32, kr: f64, width: f64, direction: Direction) -> Cut {
    Cut::new(teeth, 700.0, kr, Immersion::of_width(1.0, width, direction).unwrap()).unwrap()
}

fn sound(structure: &Structure, cut: &Cut, speeds: &[f64], deepest: f64) {
    for method in [Method::ZerothOrder, Method::SemiDiscretisation] {
        for found in limits(structure, cut, speeds, method, deepest).unwrap().iter().flatten() {
            assert!(found.depth_mm > 0.0 && found.depth_mm <= deepest, "{found:?}");
            assert!(found.chatter_hz.is_finite() && found.chatter_hz > 0.0, "{found:?}");
        }
    }
}

#[test]
fn odd_structures_and_cuts() {
    let structures = [
        Structure { x: modes(&[(50.0, 0.001, 1.0)]), y: Axis::Rigid },
        Structure { x: Axis::Rigid, y: modes(&[(8000.0, 0.9, 1e6)]) },
        Structure {
            x: modes(&[(400.0, 0.05, 8000.0), (401.0, 0.05, 8000.0)]),
            y: modes(&[(400.0, 0.05, 8000.0)]),
        },
    ];
    for structure in &structures {
        for (teeth, kr, width, direction) in [
            (1, 0.0, 0.001, Direction::Up),
            (1, 3.0, 1.0, Direction::Down),
            (12, 0.3, 1.0, Direction::Up),
            (7, 0.3, 0.6, Direction::Down),
            (2, 0.3, 0.5, Direction::Down),
        ] {
            sound(structure, &cut(teeth, kr, width, direction), &[900.0, 9000.0, 70_000.0], 500.0);
        }
    }
}

#[test]
fn hundreds_of_waves_between_two_teeth() {
    let structure = Structure { x: modes(&[(922.0, 0.011, 1340.0)]), y: Axis::Rigid };
    sound(&structure, &cut(1, 0.3, 0.5, Direction::Down), &[100.0], 20.0);
}

#[test]
fn the_same_bits_for_any_number_of_threads() {
    let structure =
        Structure { x: modes(&[(922.0, 0.011, 1340.0)]), y: modes(&[(800.0, 0.02, 2000.0)]) };
    let cut = cut(3, 0.3, 0.1, Direction::Down);
    let speeds: Vec<f64> = (0..24).map(|i| 4000.0 + 777.0 * f64::from(i)).collect();
    let run = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| {
            limits(&structure, &cut, &speeds, Method::SemiDiscretisation, 50.0).unwrap()
        })
    };
    assert_eq!(run(1), run(3));
}

#[test]
fn scaling_laws_hold() {
    // twice the stiffness and twice the coefficient leave the depth; twice the frequency at twice the
    // speed as well
    let at = |f: f64, k: f64, kt: f64, rpm: f64, method| {
        let structure = Structure { x: modes(&[(f, 0.02, k)]), y: modes(&[(1.3 * f, 0.03, k)]) };
        let immersion = Immersion::of_width(1.0, 0.2, Direction::Up).unwrap();
        let cut = Cut::new(3, kt, 0.4, immersion).unwrap();
        limits(&structure, &cut, &[rpm], method, 100.0).unwrap()[0].unwrap().depth_mm
    };
    for method in [Method::ZerothOrder, Method::SemiDiscretisation] {
        let one = at(600.0, 5000.0, 500.0, 7000.0, method);
        assert!((at(600.0, 10_000.0, 1000.0, 7000.0, method) / one - 1.0).abs() < 1e-6);
        assert!((at(1200.0, 5000.0, 500.0, 14_000.0, method) / one - 1.0).abs() < 1e-6);
        assert!((at(600.0, 5000.0, 1000.0, 7000.0, method) * 2.0 / one - 1.0).abs() < 1e-6);
    }
}
