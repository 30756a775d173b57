//! Removal rate of constant engagement, one way and both ways, and of contour-parallel paths at equal
//! peak force, for 20 random pockets.
#![allow(missing_docs, unreachable_pub, reason = "an example")]

#[path = "../tests/support/mod.rs"]
mod support;

use clearing::{Clearing, Hold, Kind, Method, clear};
use mechanics::chip::Runout;
use mechanics::engagement::peripheral::{Arc, cylinder};
use mechanics::force::{Coefficients, Cut, Revolution};
use std::f64::consts::PI;

/// Diameter and depth of cut, mm; teeth; helix, degrees.
const CUTTER: (f64, f64, usize, f64) = (10.0, 10.0, 4, 38.0);
/// Feed per tooth at the target, mm.
const FEED_MM: f64 = 0.08;
/// Most feed over that at the target, where it is set by force; links are driven at it too.
const MOST: f64 = 3.0;
const TARGET_DEG: f64 = 45.0;

/// A light alloy: a plain value for a comparison, from memory.
const LAW: Coefficients = Coefficients {
    ktc_n_mm2: 800.0,
    krc_n_mm2: 260.0,
    kac_n_mm2: 120.0,
    kte_n_mm: 12.0,
    kre_n_mm: 15.0,
    kae_n_mm: 2.0,
};

/// Largest force across the axis over a revolution, N.
fn peak_n(arc_rad: f64, feed_per_tooth_mm: f64) -> f64 {
    let (diameter, depth, teeth, helix) = CUTTER;
    let arc = Arc { entry_rad: PI - arc_rad, exit_rad: PI };
    let slices = [cylinder(diameter, depth, helix.to_radians(), arc)];
    let law = LAW.into();
    let (runout, breaker) = (Runout::default(), None);
    let cut =
        Cut { slices: &slices, teeth, feed_per_tooth_mm, law, runout, breaker, axial_feed_mm: 0.0 };
    Revolution::new(&cut).peaks().across_n
}

/// Feeds over that at the target at which the peak force is that at the target, by whole degrees of
/// arc: between two feeds the force is as good as straight.
fn feeds() -> Vec<f64> {
    let most = peak_n(TARGET_DEG.to_radians(), FEED_MM);
    let feed = |deg: usize| {
        let arc = (deg.max(1) as f64).to_radians();
        let (a, b) = (0.2 * FEED_MM, FEED_MM);
        let (fa, fb) = (peak_n(arc, a), peak_n(arc, b));
        ((a + (most - fa) * (b - a) / (fb - fa)) / FEED_MM).clamp(0.05, MOST)
    };
    (0..=180).map(feed).collect()
}

/// Area and time of all at the feed at which the force stays at its most everywhere outside entries: one
/// feed for the whole path but its slots, or set at each point. Links at the largest feed.
fn measure(out: &Clearing, feeds: &[f64], by_force: bool) -> (f64, f64) {
    let cut = |k: Kind| matches!(k, Kind::Cut | Kind::Slot | Kind::Trochoid);
    let runs = || out.runs.iter().filter(|r| cut(r.kind));
    let feed = |arc: f64| feeds[(arc.to_degrees().ceil() as usize).min(180)];
    let slowest = runs()
        .flat_map(|r| r.arc_of_contact_rad.iter().zip(&r.hold))
        .filter(|(_, h)| !matches!(h, Hold::Entry | Hold::Slot))
        .map(|(a, _)| feed(*a))
        .fold(MOST, f64::min);
    let (mut area, mut time) = (0.0, 0.0);
    for run in runs() {
        area += run.area_mm2();
        for i in 1..run.points.len() {
            let (a, b) = (run.points[i - 1], run.points[i]);
            let length = (b[0] - a[0]).hypot(b[1] - a[1]);
            let own = by_force || run.hold[i] == Hold::Slot;
            time += length / if own { feed(run.arc_of_contact_rad[i]) } else { slowest };
        }
    }
    let air: f64 = out.runs.iter().filter(|r| r.kind == Kind::Link).map(|r| r.length_mm()).sum();
    (area, time + air / MOST)
}

fn main() {
    let feeds = feeds();
    println!("removal, mm2 per mm of path at the feed at the target; gain over contour-parallel");
    println!("               one feed for the path                 feed by force");
    println!(
        "seed      mm2  contour one way  gain  both  gain |  contour one way  gain  both  gain"
    );
    let (mut gains, mut count) = ([0.0; 4], 0.0);
    for seed in 0..20 {
        let scene = support::random::pocket(seed);
        let laid = |method, both_ways| {
            clear(&clearing::Job { both_ways, ..support::scenes::job(&scene, TARGET_DEG, method) })
        };
        let steady = Method::ConstantEngagement;
        let made = [laid(Method::ContourParallel, false), laid(steady, false), laid(steady, true)];
        let [Ok(contour), Ok(one), Ok(both)] = made else {
            println!("{seed}: refused");
            continue;
        };
        print!("{seed:4} {:8.0} ", scene.inside.area_mm2());
        for (k, by_force) in [false, true].into_iter().enumerate() {
            let rate = |out: &Clearing| {
                let (area, time) = measure(out, &feeds, by_force);
                area / time
            };
            let [c, o, b] = [&contour, &one, &both].map(rate);
            gains[2 * k] += (o / c).ln();
            gains[2 * k + 1] += (b / c).ln();
            print!(" {c:7.3} {o:7.3} {:5.2} {b:5.3} {:5.2} {}", o / c, b / c, ["|", "\n"][k]);
        }
        count += 1.0;
    }
    let [a, b, c, d] = gains.map(|g: f64| (g / count).exp());
    println!(
        "geometric means of the gains: one feed {a:.2}, both ways {b:.2}; by force {c:.2}, both ways {d:.2}"
    );
}
