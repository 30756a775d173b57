//! Passes whose axis was steadied or led, on the rotary axes of a machine: no needless turning.

#[path = "../../pattern/tests/support/mod.rs"]
mod support;

use geom::{Sym2, Vec2};
use machine::{AxisSpec, Machine, MachineSpec, Mounting, Route, RouteOptions};
use pattern::{AxisRule, Chart, FaceJob, FacePasses, LeanSide, Pattern, Warning, finish_on};
use support::*;
use toolpath::RunKind;

/// A trunnion with round figures.
fn trunnion() -> Machine {
    let mut spec = MachineSpec {
        id: "test".into(),
        layout: "XYZ-AC".into(),
        block_time_ms: Some(0.5),
        path_tolerance_mm: Some(0.01),
        tool_change_s: Some(4.5),
        ..MachineSpec::default()
    };
    for letter in ["X", "Y", "Z"] {
        let axis = AxisSpec {
            travel_mm: Some(if letter == "Z" { [-500.0, 0.0] } else { [-300.0, 300.0] }),
            max_feed_mm_min: Some(40_000.0),
            accel_m_s2: Some(6.0),
            jerk_m_s3: Some(60.0),
            ..AxisSpec::default()
        };
        spec.axes.insert(letter.into(), axis);
    }
    for letter in ["A", "C"] {
        let axis = AxisSpec {
            travel_deg: (letter == "A").then_some([-110.0, 110.0]),
            max_feed_deg_min: Some(18_000.0),
            accel_deg_s2: Some(900.0),
            jerk_deg_s3: Some(9000.0),
            ..AxisSpec::default()
        };
        spec.axes.insert(letter.into(), axis);
    }
    Machine::new(&spec).expect("a machine")
}

fn route(passes: &FacePasses) -> Route {
    let options = RouteOptions {
        mounting: Mounting { tool_length_mm: 60.0, ..Mounting::default() },
        lever_mm: 6.0,
    };
    Route::new(&passes.toolpath, &trunnion(), &options, 0.01).expect("a route")
}

/// Level, then down at 30° past a round of 5 mm radius about the y axis.
fn ridge() -> impl Chart {
    Graph {
        half: Vec2::new(30.0, 4.0),
        jet: |q| {
            let (r, tan) = (5.0_f64, 30_f64.to_radians().tan());
            let end = 0.5 * r;
            if q.x <= 0.0 {
                (0.0, Vec2::ZERO, Sym2::default())
            } else if q.x < end {
                let w = (r * r - q.x * q.x).sqrt();
                (w - r, Vec2::new(-q.x / w, 0.0), Sym2::diagonal(-r * r / (w * w * w), 0.0))
            } else {
                let z = 0.75_f64.sqrt() * r - r - tan * (q.x - end);
                (z, Vec2::new(-tan, 0.0), Sym2::default())
            }
        },
    }
}

#[test]
fn steadied_passes_turn_one_way_and_never_over() {
    let (part, ball) = (far_below(), ball(12.0));
    let axis = AxisRule::Tilted {
        kappa_rad: Some(30_f64.to_radians()),
        lead_rad: 0.0,
        lean: LeanSide::Left,
    };
    let job = FaceJob { stepover_mm: Some(0.8), axis, ..job(&part, &ball, Pattern::Parallel) };
    let passes = finish_on(&ridge(), &job, &|_| ()).expect("passes");
    assert!(passes.warnings.iter().any(|w| matches!(w, Warning::AxisSteadied { .. })));
    let route = route(&passes);
    assert!(route.turning_over.is_empty(), "{:?}", route.turning_over);
    assert!(route.exceeded.is_empty(), "{:?}", route.exceeded);
    let mut cuts = 0;
    for run in &route.rotary {
        if passes.toolpath.runs[run.run].kind != RunKind::Cut {
            continue;
        }
        cuts += 1;
        // over the ridge both axes turn on and on: no more travel than from end to end, but for the
        // little by which A comes back
        for k in 0..2 {
            assert!(run.travel_rad[k] <= 1.2 * run.net_rad[k] + 0.02, "{run:?}");
        }
    }
    assert_eq!(cuts, passes.passes.len());
}

#[test]
fn links_between_led_passes_do_not_turn_over() {
    let (part, ball) = (far_below(), ball(12.0));
    let axis = AxisRule::Tilted {
        kappa_rad: Some(30_f64.to_radians()),
        lead_rad: 6_f64.to_radians(),
        lean: LeanSide::Left,
    };
    let job = FaceJob { stepover_mm: Some(0.8), axis, ..job(&part, &ball, Pattern::Parallel) };
    let passes = finish_on(&crown(Vec2::new(20.0, 6.0)), &job, &|_| ()).expect("passes");
    let route = route(&passes);
    assert!(route.turning_over.is_empty(), "{:?}", route.turning_over);
    for run in &route.rotary {
        if passes.toolpath.runs[run.run].kind == RunKind::Link {
            // derived: from a lead of 6° to one of −6° at a lean of 30° C turns by 2 atan(sin 6° /
            // (cos 6° sin 29.4°)) = 24.2°, and by what the crown's normal adds
            assert!(run.travel_rad[1] <= 26_f64.to_radians(), "{run:?}");
        }
    }
}
