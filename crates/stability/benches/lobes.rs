//! Limits of stability per second: charts of 200 speeds by both methods, and a fit of modes.

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use stability::cut::{Direction, Immersion};
use stability::limit::{Method, limits};
use stability::{Axis, Cut, Mode, Structure};

fn main() {
    divan::main();
}

fn structure() -> Structure {
    let mode = |hz, zeta, k| Mode::new(hz, zeta, k).expect("a mode");
    Structure {
        x: Axis::Modes(vec![mode(1250.0, 0.035, 9000.0), mode(2400.0, 0.02, 21_000.0)]),
        y: Axis::Modes(vec![mode(1330.0, 0.03, 11_000.0), mode(2300.0, 0.02, 24_000.0)]),
    }
}

fn chart(bencher: Bencher<'_, '_>, width: f64, method: Method) {
    let immersion = Immersion::of_width(1.0, width, Direction::Down).expect("a width");
    let cut = Cut::new(3, 750.0, 0.3, immersion).expect("a cut");
    let speeds: Vec<f64> = (0..200).map(|i| 3000.0 + 85.0 * f64::from(i)).collect();
    let structure = structure();
    bencher
        .counter(ItemsCount::new(speeds.len()))
        .bench(|| limits(black_box(&structure), &cut, &speeds, method, 60.0));
}

#[divan::bench(args = [0.05, 0.5, 1.0], sample_count = 10)]
fn zeroth_order(bencher: Bencher<'_, '_>, width: f64) {
    chart(bencher, width, Method::ZerothOrder);
}

#[divan::bench(args = [0.05, 0.5, 1.0], sample_count = 3)]
fn semi_discretisation(bencher: Bencher<'_, '_>, width: f64) {
    chart(bencher, width, Method::SemiDiscretisation);
}
