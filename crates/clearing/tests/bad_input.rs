//! Shapes that shops bring: each is cleared as far as it can be, or refused with what would do.

mod support;

use clearing::{Clearing, ClearingError, Entry, Helix, Kind, Method, clear};
use planar::Region;
use std::f64::consts::PI;
use support::scenes::{RADIUS_MM, Scene, circle, job, rectangle};

const BOTH: [Method; 2] = [Method::ConstantEngagement, Method::ContourParallel];

fn cleared(loops: &[Vec<[f64; 2]>], method: Method) -> Result<Clearing, ClearingError> {
    let scene = Scene::pocket("a pocket", loops);
    let mut job = job(&scene, 45.0, method);
    job.least_corner_radius_mm = 0.0;
    clear(&job)
}

/// Area that stays, mm².
fn rest(loops: &[Vec<[f64; 2]>], method: Method) -> f64 {
    let out = cleared(loops, method).unwrap_or_else(|e| panic!("{method:?}: {e}"));
    out.rest.area_mm2()
}

/// derived: what a corner of 90° keeps, four times; 5 µm of chord and grid along the walls
const CORNERS_MM2: f64 = (4.0 - PI) * RADIUS_MM * RADIUS_MM;

#[test]
fn pockets_thinner_than_the_cutter_name_the_one_that_would_do() {
    // the last is a wedge: its widest place takes its inscribed circle, derived: 2 A / perimeter
    let wedge = vec![[0.0, 0.0], [60.0, 0.0], [0.0, 11.0]];
    let inscribed = 60.0 * 11.0 / (60.0 + 11.0 + 60f64.hypot(11.0));
    for (shape, would_do) in [
        (rectangle(0.0, 0.0, 50.0, 9.99), 9.99),
        (rectangle(0.0, 0.0, 0.5, 50.0), 0.5),
        (circle(0.0, 0.0, 4.0), 8.0),
        (wedge, 2.0 * inscribed),
    ] {
        for method in BOTH {
            match cleared(std::slice::from_ref(&shape), method) {
                Err(ClearingError::TooWide { would_do_mm, .. }) => {
                    assert!((would_do_mm - would_do).abs() < 0.01 * would_do, "{would_do_mm}");
                }
                other => panic!("{method:?} {would_do}: {other:?}"),
            }
        }
    }
}

#[test]
fn no_way_in_names_the_cutter_that_would_do() {
    let scene = Scene::pocket("closed", &[rectangle(0.0, 0.0, 80.0, 11.0)]);
    for (helix, ramp_mm) in [
        (Some(Helix { radius_mm: 4.0, least_radius_mm: 2.0 }), None),
        (None, Some(100.0)),
        (None, None),
    ] {
        let mut job = job(&scene, 45.0, Method::ConstantEngagement);
        job.entry = Entry { helix, ramp_mm, plunge: false };
        match clear(&job) {
            Err(e @ ClearingError::NoEntry { would_do_mm, .. }) => {
                // derived: half the width less the helix
                let want = if helix.is_some() { 7.0 } else { 0.0 };
                assert!((would_do_mm - want).abs() < 0.05, "{e}");
            }
            other => panic!("{other:?}"),
        }
    }
}

#[test]
fn contours_that_are_none_leave_nothing_to_clear() {
    for loops in [
        vec![],
        vec![vec![]],
        vec![vec![[0.0, 0.0]]],
        vec![vec![[0.0, 0.0], [50.0, 0.0]]],
        // open, there and back on the same line
        vec![vec![[0.0, 0.0], [50.0, 0.0], [50.0, 30.0], [50.0, 0.0]]],
        // filled by its island
        vec![rectangle(0.0, 0.0, 50.0, 30.0), rectangle(0.0, 0.0, 50.0, 30.0)],
    ] {
        for method in BOTH {
            assert_eq!(cleared(&loops, method).unwrap_err(), ClearingError::Nothing, "{loops:?}");
        }
    }
}

#[test]
fn repeated_points_spikes_and_slivers_change_nothing() {
    let twice: Vec<[f64; 2]> =
        rectangle(0.0, 0.0, 60.0, 40.0).into_iter().flat_map(|p| [p, p, p]).collect();
    let spike = vec![
        [0.0, 0.0],
        [60.0, 0.0],
        [60.0, 20.0],
        [90.0, 20.0],
        [60.0, 20.0],
        [60.0, 40.0],
        [0.0, 40.0],
    ];
    for method in BOTH {
        for (name, shape) in [("repeated", twice.clone()), ("spike", spike.clone())] {
            let stays = rest(&[shape], method);
            assert!((stays - CORNERS_MM2).abs() < 1.0, "{name} {method:?}: {stays}");
        }
        // slivers of 0.02 mm outwards stay, and are no way for the cutter
        let sliver = vec![
            [0.0, 0.0],
            [60.0, 0.0],
            [60.0, 20.0],
            [90.0, 20.0],
            [90.0, 20.02],
            [60.0, 20.02],
            [60.0, 40.0],
            [0.0, 40.0],
        ];
        let stays = rest(&[sliver], method);
        assert!((stays - CORNERS_MM2 - 0.6).abs() < 1.0, "sliver {method:?}: {stays}");
    }
}

#[test]
fn corners_smaller_than_the_cutter_stay_and_are_told() {
    // a notch of 6 mm by 6 mm in a wall, which a cutter of 10 mm does not get into
    let notched = vec![
        [0.0, 0.0],
        [30.0, 0.0],
        [30.0, -6.0],
        [36.0, -6.0],
        [36.0, 0.0],
        [60.0, 0.0],
        [60.0, 40.0],
        [0.0, 40.0],
    ];
    // derived: the disk dips `5 − √(25 − 9)` = 1 mm in between the corners 6 mm apart
    let dip = 25.0 * (0.6f64).asin() - 3.0 * 4.0;
    for method in BOTH {
        let stays = rest(std::slice::from_ref(&notched), method);
        let want = CORNERS_MM2 + 36.0 - dip;
        // the dip itself is left where the path is held round
        assert!(stays > want - 1.0 && stays < want + dip + 1.0, "{method:?}: {stays} {want}");
    }
}

#[test]
fn contours_that_cross_themselves_are_cleared_where_they_enclose() {
    // a bow tie: two triangles, counted even-odd
    let tie = vec![[0.0, 0.0], [60.0, 60.0], [60.0, 0.0], [0.0, 60.0]];
    for method in BOTH {
        let out = cleared(std::slice::from_ref(&tie), method).unwrap();
        assert!((out.reached.area_mm2() + out.rest.area_mm2() - 1800.0).abs() < 0.1);
        assert!(out.reached.area_mm2() > 1500.0, "{method:?}: {}", out.reached.area_mm2());
    }
}

#[test]
fn an_island_on_the_wall_and_one_that_nearly_touches_it() {
    for gap in [0.0, 0.003, 1.0, 9.9] {
        let loops = [rectangle(0.0, 0.0, 80.0, 60.0), rectangle(gap, 20.0, 20.0, 20.0)];
        for method in BOTH {
            let out = cleared(&loops, method).unwrap();
            // what stays: six corners and the gap, but for what the cutter reaches of its ends
            let least = 4.0 * 5.37 + 20.0 * gap - 60.0;
            let stays = out.rest.area_mm2();
            assert!(stays > least && stays < 60.0 + 20.0 * gap, "{gap} {method:?}: {stays}");
        }
    }
}

#[test]
fn a_chamber_without_a_way_in_stays() {
    // two chambers joined by a slot that is too narrow, and stock cleared in the left one only
    let inside = Region::of_loops(&[rectangle(0.0, 0.0, 40.0, 40.0)])
        .or(&Region::of_loops(&[rectangle(60.0, 0.0, 40.0, 40.0)]))
        .or(&Region::of_loops(&[rectangle(30.0, 18.0, 40.0, 4.0)]));
    let hole = Region::of_loops(&[circle(20.0, 20.0, 8.0)]);
    let scene = Scene { name: "two".into(), stock: inside.less(&hole), inside };
    let mut job = job(&scene, 45.0, Method::ConstantEngagement);
    job.entry = Entry::default();
    let out = clear(&job).unwrap();
    assert!(out.runs.iter().all(|r| r.kind != Kind::Entry));
    assert!(
        out.rest.area_mm2() > 1600.0 && out.rest.area_mm2() < 1800.0,
        "{}",
        out.rest.area_mm2()
    );
}

#[test]
fn numbers_far_off_are_refused_and_never_hang() {
    let far = |x: f64| cleared(&[vec![[0.0, 0.0], [x, 0.0], [x, 40.0], [0.0, 40.0]]], BOTH[0]);
    assert!(matches!(far(1e5), Err(ClearingError::TooLarge { .. })));
    for x in [1e9, 1e300, f64::INFINITY, f64::NAN] {
        let found = far(x);
        assert!(found.is_err(), "{x}: {found:?}");
    }
    // as far from the origin as the frame of a large machine
    let away = rectangle(1e5, -1e5, 60.0, 40.0);
    let stays = rest(&[away], Method::ConstantEngagement);
    assert!((stays - CORNERS_MM2).abs() < 1.0, "{stays}");
}
