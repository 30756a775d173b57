//! Signed distances and contacts per second.

use cutter::{Cutter, CutterSpec, Form};
use divan::{Bencher, black_box, counter::ItemsCount};
use geom::Vec3;

fn main() {
    divan::main();
}

const FORMS: [&str; 3] = ["ball", "tangent-barrel", "lens"];

fn cutter(name: &str) -> Cutter {
    let form = Form::from_name(name).unwrap_or(Form::Ball);
    let mut spec = CutterSpec::new(form, 12.0);
    if form != Form::Ball {
        spec.arc_radius_mm = Some(250.0);
        spec.corner_radius_mm = Some(1.5);
    }
    match Cutter::new(&spec) {
        Ok(c) => c,
        Err(e) => panic!("{e}"),
    }
}

fn points() -> Vec<Vec3> {
    (0..1000)
        .map(|i| {
            let t = f64::from(i);
            Vec3::new(5.0 * (0.7 * t).sin(), 5.0 * (1.3 * t).cos(), 8.0 + 8.0 * (0.37 * t).sin())
        })
        .collect()
}

#[divan::bench(args = FORMS)]
fn signed_distance(bencher: Bencher<'_, '_>, form: &str) {
    let (c, points) = (cutter(form), points());
    let axis = Vec3::new(0.1, 0.2, 1.0).normalize();
    bencher.counter(ItemsCount::new(points.len())).bench(|| {
        points.iter().map(|&p| c.profile().distance_at(Vec3::ZERO, axis, black_box(p))).sum::<f64>()
    });
}

#[divan::bench(args = FORMS)]
fn contact(bencher: Bencher<'_, '_>, form: &str) {
    let c = cutter(form);
    let (lo, hi) = c.usable_kappa_rad().unwrap_or((0.0, 1.0));
    bencher.counter(ItemsCount::new(1000_usize)).bench(|| {
        (0..1000)
            .filter_map(|i| {
                let kappa = lo + (hi - lo) * f64::from(i) / 1000.0;
                c.profile().contact(black_box(kappa)).ok()
            })
            .map(|at| at.r_mm)
            .sum::<f64>()
    });
}
