//! Depths at a stated probability, and speeds that are proposed.

#![allow(clippy::unwrap_used, reason = "a test may")]

use stability::advice::{Operation, standing};
use stability::cut::{Direction, Immersion};
use stability::limit::{Method, limits};
use stability::sampled::{Sampled, Scatter};
use stability::{Axis, Cut, Mode, Structure};
use units::Interval;

/// The classic cutter: 0.03993 kg at a factor times 922 Hz with its stiffness kept.
fn classic(factor: f64) -> Structure {
    let mode = Mode::new(922.0 * factor, 0.011, 1340.050).unwrap();
    Structure { x: Axis::mode(mode), y: Axis::Rigid }
}

fn slot() -> Cut {
    let immersion = Immersion::of_width(1.0, 1.0, Direction::Down).unwrap();
    Cut::new(2, 600.0, 1.0 / 3.0, immersion).unwrap()
}

const SCATTER: Scatter =
    Scatter { frequency: 0.02, damping: 0.2, stiffness: 0.1, force: 0.1, axes_alike: false };

#[test]
fn two_per_cent_of_frequency_move_the_limit_by_a_factor() {
    // derived: zeroth order at 14 000 rev/min
    for (factor, depth) in
        [(1.0, 2.0730), (0.97, 0.6261), (0.98, 0.8057), (1.02, 3.7498), (1.03, 3.5541)]
    {
        let method = Method::ZerothOrder;
        let found = limits(&classic(factor), &slot(), &[14_000.0], method, 50.0).unwrap();
        let found = found[0].unwrap().depth_mm;
        assert!((found / depth - 1.0).abs() < 1e-4, "{factor}: {found}");
    }
}

#[test]
fn the_depth_at_95_per_cent_is_a_quarter_of_the_best_value() {
    // derived: random sampling with the same scatter by other codes gives about 0.50 and 0.54 mm (normal
    // factors) and 0.56 mm (log-normal ones) for 5 %; 3000 draws each, so good to some hundredths
    let sampled = Sampled::new(&classic(1.0), &slot(), &SCATTER, 1000).unwrap();
    let at = |p| sampled.depths_mm(&[14_000.0], p, Method::ZerothOrder, 50.0).unwrap()[0].unwrap();
    let sure = at(0.95);
    assert!((sure - 0.54).abs() < 0.04, "{sure}");
    assert!(at(0.5) > 2.0 * sure && at(0.99) < sure);
    // a tenth of the draws comes near
    let few = Sampled::new(&classic(1.0), &slot(), &SCATTER, 100).unwrap();
    let coarse = few.depths_mm(&[14_000.0], 0.95, Method::ZerothOrder, 50.0).unwrap()[0].unwrap();
    assert!((coarse / sure - 1.0).abs() < 0.15, "{coarse} {sure}");
}

#[test]
fn without_scatter_every_draw_is_the_best_value() {
    let sampled = Sampled::new(&classic(1.0), &slot(), &Scatter::default(), 8).unwrap();
    let method = Method::SemiDiscretisation;
    let one = limits(&classic(1.0), &slot(), &[9000.0], method, 50.0).unwrap()[0].unwrap();
    let found = sampled.depths_mm(&[9000.0], 0.9, method, 50.0).unwrap();
    assert_eq!(found, [Some(one.depth_mm)]);
}

#[test]
fn a_cut_that_is_too_deep_is_told_the_nearest_speed_that_takes_it() {
    let (structure, cut) = (classic(1.0), slot());
    let scatter =
        Scatter { frequency: 0.005, damping: 0.1, stiffness: 0.03, force: 0.05, axes_alike: false };
    let sampled = Sampled::new(&structure, &cut, &scatter, 20).unwrap();
    let operation = Operation {
        depth_mm: 0.9,
        speed_rpm: 11_000.0,
        allowed_rpm: Interval::new(2000.0, 24_000.0),
        probability: 0.9,
        deepest_mm: 30.0,
    };
    let found = standing(&structure, &cut, &sampled, &operation).unwrap();
    assert!(found.margin.unwrap() < 1.0 && found.modelled(), "{found:?}");
    assert!(found.depth_mm.unwrap() < found.best_mm.unwrap());
    let better = found.better.unwrap();
    assert!(better.depth_mm >= 0.9, "{better:?}");
    // it is the slow flank of the pocket that ends at 922 Hz · 60/(2 · 2) = 13 830 rev/min
    assert!((11_300.0..13_900.0).contains(&better.speed_rpm), "{better:?}");
    let full = Method::SemiDiscretisation;
    let there = limits(&structure, &cut, &[better.speed_rpm], full, 30.0).unwrap()[0].unwrap();
    assert!(there.depth_mm >= better.depth_mm);
    // no such speed where the spindle does not reach one
    let slow = Operation { allowed_rpm: Interval::new(10_000.0, 11_200.0), ..operation };
    assert_eq!(standing(&structure, &cut, &sampled, &slow).unwrap().better, None);
    // a shallow cut needs none; a slow one is not modelled
    let shallow = Operation { depth_mm: 0.05, speed_rpm: 2600.0, ..operation };
    let found = standing(&structure, &cut, &sampled, &shallow).unwrap();
    assert!(
        found.margin.unwrap() > 1.0 && found.better.is_none() && !found.modelled(),
        "{found:?}"
    );
}

#[test]
fn scatter_out_of_range_and_measured_axes_are_refused() {
    let wide = Scatter { frequency: 1.5, ..SCATTER };
    assert!(Sampled::new(&classic(1.0), &slot(), &wide, 100).is_err());
    let none = Scatter { force: f64::NAN, ..SCATTER };
    assert!(Sampled::new(&classic(1.0), &slot(), &none, 100).is_err());
    assert!(Sampled::new(&classic(1.0), &slot(), &SCATTER, 2).is_err());
}

#[test]
fn axes_that_are_alike_stay_alike() {
    // the limit of a cutter alike in x and y does not change when feed and cross feed change places
    // and the cut changes its way; axes drawn apart break that
    let mode = || Axis::mode(Mode::new(922.0, 0.011, 1340.050).unwrap());
    let structure = Structure { x: mode(), y: mode() };
    let cut = |direction| {
        let immersion = Immersion::of_width(1.0, 0.3, direction).unwrap();
        Cut::new(2, 600.0, 1.0 / 3.0, immersion).unwrap()
    };
    let both = |axes_alike| {
        [Direction::Up, Direction::Down].map(|direction| {
            let scatter = Scatter { axes_alike, ..SCATTER };
            let sampled = Sampled::new(&structure, &cut(direction), &scatter, 60).unwrap();
            let method = Method::ZerothOrder;
            sampled.depths_mm(&[9000.0], 0.9, method, 50.0).unwrap()[0].unwrap()
        })
    };
    let [up, down] = both(true);
    assert!((up / down - 1.0).abs() < 1e-6, "{up} {down}");
    let [up, down] = both(false);
    assert!((up / down - 1.0).abs() > 1e-3, "{up} {down}");
}
