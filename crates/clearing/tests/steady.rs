//! The arc of contact as an independent judge finds it, on pockets with islands, outside, in necks.

mod support;

use clearing::{Clearing, Hold, Kind, Method, clear};
use support::scenes::{RADIUS_MM, Scene, all, job};
use support::{judge, random};

const TARGET_DEG: f64 = 45.0;

/// Steered points whose judged arc is within 5° of the target, of all that are looked at, and the
/// largest judged arc in loops, rad; nothing gouged on the way.
fn judged(scene: &Scene, out: &Clearing, every: usize) -> ([usize; 2], f64) {
    let verdict = judge::drive(&out.runs, &scene.inside, &scene.stock, RADIUS_MM, every);
    // the chord asked for is 0.005 mm
    assert!(verdict.gouge_mm < 0.005, "{}: gouge {}", scene.name, verdict.gouge_mm);
    assert!(verdict.link_arc_rad < 1e-9, "{}: a link cuts {}", scene.name, verdict.link_arc_rad);
    let [right, left] = verdict.sides_rad;
    assert!(left < 0.1 * right, "{}: not climb: {right} {left}", scene.name);
    let target = TARGET_DEG.to_radians();
    let (mut steered, mut within, mut peak) = (0, 0, 0f64);
    for (r, i, arc) in verdict.arcs {
        let run = &out.runs[r];
        match (run.hold[i], run.kind) {
            (Hold::Steered, Kind::Cut) => {
                steered += 1;
                within += usize::from((arc - target).abs() < 5f64.to_radians());
            }
            (Hold::Neck, Kind::Trochoid) => peak = peak.max(arc),
            _ => {}
        }
    }
    ([within, steered], peak)
}

fn proven(scene: &Scene, every: usize) -> Clearing {
    let out = clear(&job(scene, TARGET_DEG, Method::ConstantEngagement)).expect("a clearing");
    let ([within, steered], peak) = judged(scene, &out, every);
    let share = within as f64 / steered.max(1) as f64;
    println!("{}: {within} of {steered}, loops {:.1}°", scene.name, peak.to_degrees());
    assert!(steered == 0 || share > 0.97, "{}: {share}", scene.name);
    assert!(peak.to_degrees() < TARGET_DEG + 15.0, "{}: {}", scene.name, peak.to_degrees());
    out
}

#[test]
fn the_arc_is_held_on_pockets_with_islands_and_outside() {
    for scene in all().iter().filter(|s| s.name != "three islands") {
        let out = proven(scene, 61);
        let s = &out.shares;
        // nine tenths of the cutting is steered unless most of it is a neck or a slot
        let free = s.cutting_mm - s.neck_mm - s.entry_mm;
        assert!(s.steered_mm > 0.9 * free || free < 100.0, "{}: {s:?}", scene.name);
    }
}

#[test]
fn random_pockets_are_cleared_without_a_gouge() {
    for seed in [7, 12, 16, 26] {
        let scene = random::pocket(seed);
        proven(&scene, 97);
    }
}

#[test]
fn conventional_keeps_the_material_on_the_left() {
    let scene = &all()[0];
    let mut job = job(scene, TARGET_DEG, Method::ConstantEngagement);
    job.climb = false;
    let out = clear(&job).unwrap();
    let verdict = judge::drive(&out.runs, &scene.inside, &scene.stock, RADIUS_MM, 61);
    let [right, left] = verdict.sides_rad;
    assert!(right < 0.1 * left, "{right} {left}");
}
