//! Removal rate of both methods at equal peak force, for 20 random pockets.
#![allow(missing_docs, unreachable_pub, reason = "an example")]

#[path = "../tests/support/mod.rs"]
mod support;

use clearing::{Clearing, Hold, Kind, Method, clear};

/// Mean over a turn of the force of a cutter with many teeth per feed per tooth and depth, as a
/// share of the cutting coefficient: cutting and normal forces with a ratio of 0.4 summed as vectors
/// over an arc that ends at the rear of the leading half (climb). Derived: integrals of
/// `sin φ (cos φ, sin φ)` over the arc.
fn force(arc: f64) -> f64 {
    let s = 0.25 * (1.0 - (2.0 * arc).cos());
    let c = 0.5 * arc - 0.25 * (2.0 * arc).sin();
    (s - 0.4 * c).hypot(c + 0.4 * s)
}

/// Area, length and time of all cutting at the feed at which the force stays at `most` everywhere
/// outside entries; the feed is one for the whole path, or set at each point.
fn measure(out: &Clearing, most: f64, scheduled: bool) -> (f64, f64) {
    let cut = |k: Kind| matches!(k, Kind::Cut | Kind::Slot | Kind::Trochoid);
    let runs = || out.runs.iter().filter(|r| cut(r.kind));
    let peak = runs()
        .flat_map(|r| r.arc_of_contact_rad.iter().zip(&r.hold))
        .filter(|(_, h)| **h != Hold::Entry)
        .map(|(a, _)| force(*a))
        .fold(0.0, f64::max);
    let (mut area, mut time) = (0.0, 0.0);
    for run in runs() {
        area += run.area_mm2();
        for i in 1..run.points.len() {
            let (a, b) = (run.points[i - 1], run.points[i]);
            let length = (b[0] - a[0]).hypot(b[1] - a[1]);
            let feed = match scheduled {
                // never more than three times the feed at the target
                true => (most / force(run.arc_of_contact_rad[i]).max(1e-9)).min(3.0),
                false => most / peak,
            };
            time += length / feed;
        }
    }
    // links at three times the feed that a full target allows
    let air: f64 = out.runs.iter().filter(|r| r.kind == Kind::Link).map(|r| r.length_mm()).sum();
    (area, time + air / 3.0)
}

fn main() {
    println!(
        "seed  area mm2 | one feed: constant contour gain | feed by force: constant contour gain"
    );
    let (mut gains, mut count) = ([0.0; 2], 0.0);
    for seed in 0..20 {
        let scene = support::random::pocket(seed);
        let job = |method| support::scenes::job(&scene, 45.0, method);
        let most = force(45f64.to_radians());
        let made = [Method::ConstantEngagement, Method::ContourParallel].map(|m| clear(&job(m)));
        let [Ok(steady), Ok(contour)] = made else {
            println!("{seed}: refused");
            continue;
        };
        let rate = |out: &Clearing, s: bool| {
            let (area, time) = measure(out, most, s);
            area / time
        };
        let row = [false, true].map(|s| (rate(&steady, s), rate(&contour, s)));
        count += 1.0;
        (0..2).for_each(|k| gains[k] += (row[k].0 / row[k].1).ln());
        println!(
            "{seed:4} {:9.0} | {:5.3} {:5.3} {:5.2} | {:5.3} {:5.3} {:5.2}",
            scene.inside.area_mm2(),
            row[0].0,
            row[0].1,
            row[0].0 / row[0].1,
            row[1].0,
            row[1].1,
            row[1].0 / row[1].1,
        );
    }
    println!(
        "geometric mean of the gains: {:.2} and {:.2}",
        (gains[0] / count).exp(),
        (gains[1] / count).exp()
    );
}
