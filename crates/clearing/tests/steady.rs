//! The arc of contact as an independent judge finds it.

mod support;

use clearing::{Clearing, Entry, Helix, Hold, Job, Kind, Method, clear};
use support::judge;
use support::scenes::{Scene, all};

const RADIUS_MM: f64 = 5.0;

fn job<'a>(scene: &'a Scene, arc_deg: f64) -> Job<'a> {
    Job {
        inside: &scene.inside,
        stock: &scene.stock,
        cutter_radius_mm: RADIUS_MM,
        arc_rad: arc_deg.to_radians(),
        climb: true,
        method: Method::ConstantEngagement,
        chord_mm: 0.005,
        entry: Entry {
            helix: Some(Helix { radius_mm: 4.0, least_radius_mm: 1.0 }),
            ramp_mm: Some(8.0),
            plunge: false,
        },
        least_corner_radius_mm: 1.0,
    }
}

/// Steered points whose judged arc is within 5° of the target, of all that are looked at; largest
/// difference between the judge and the planner, rad.
fn judged(scene: &Scene, out: &Clearing, target: f64) -> (f64, f64) {
    let verdict = judge::drive(&out.runs, &scene.inside, &scene.stock, RADIUS_MM, 11);
    assert!(verdict.gouge_mm < 0.006, "{}: gouge {}", scene.name, verdict.gouge_mm);
    assert!(verdict.link_arc_rad < 0.2, "{}: link cuts {}", scene.name, verdict.link_arc_rad);
    let (mut steered, mut within, mut off) = (0, 0, 0f64);
    for (r, i, arc) in verdict.arcs {
        let run = &out.runs[r];
        if run.hold[i] == Hold::Steered && run.kind == Kind::Cut {
            steered += 1;
            within += usize::from((arc - target).abs() < 5f64.to_radians());
            off = off.max((arc - run.arc_of_contact_rad[i]).abs());
        }
    }
    (f64::from(within as u32) / f64::from(steered as u32), off)
}

#[test]
fn the_arc_is_held_on_pockets_with_islands_and_outside() {
    for scene in all().iter().filter(|s| s.name != "three islands") {
        let arc_deg = 45.0f64;
        let out = clear(&job(scene, arc_deg)).unwrap();
        let (within, off) = judged(scene, &out, arc_deg.to_radians());
        println!(
            "{}: within 5° {within:.4}, judge and planner differ by {:.2}°",
            scene.name,
            off.to_degrees()
        );
        assert!(within > 0.97, "{}: {within}", scene.name);
    }
}
