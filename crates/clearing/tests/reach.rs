//! What is reached, what stays, and the errors of what cannot be cleared.

mod support;

use clearing::{ClearingError, Entry, Helix, Kind, Method, clear};
use planar::Region;
use std::f64::consts::PI;
use support::scenes::{RADIUS_MM, Scene, all, job, rectangle};

const BOTH: [Method; 2] = [Method::ConstantEngagement, Method::ContourParallel];

#[test]
fn a_sharp_rectangle_keeps_four_corners() {
    let scene = Scene::pocket("rectangle", &[rectangle(0.0, 0.0, 60.0, 40.0)]);
    for method in BOTH {
        let mut job = job(&scene, 45.0, method);
        job.least_corner_radius_mm = 0.0;
        let out = clear(&job).unwrap();
        // derived: each corner keeps r² − πr²/4; 5 µm of chord and grid along 200 mm of wall
        let want = (4.0 - PI) * RADIUS_MM * RADIUS_MM;
        let got = out.rest.area_mm2();
        assert!((got - want).abs() < 1.0, "{method:?}: {got} {want}");
        let all = out.rest.area_mm2() + out.reached.area_mm2();
        assert!((all - 2400.0).abs() < 0.01, "{method:?}: {all}");
    }
}

#[test]
fn area_along_the_path_is_the_area_that_is_gone() {
    let scene = Scene::pocket("rectangle", &[rectangle(0.0, 0.0, 60.0, 40.0)]);
    for method in BOTH {
        let out = clear(&job(&scene, 45.0, method)).unwrap();
        let cut: f64 = out.runs.iter().filter(|r| r.kind == Kind::Cut).map(|r| r.area_mm2()).sum();
        // the entry clears what the path does not count: about a disk of helix and cutter
        let entry = PI * (RADIUS_MM + 4.0) * (RADIUS_MM + 4.0);
        let gone = out.reached.area_mm2() - entry;
        assert!((cut - gone).abs() < 0.03 * gone, "{method:?}: {cut} {gone}");
    }
}

#[test]
fn a_pocket_narrower_than_the_cutter_says_which_would_do() {
    let scene = Scene::pocket("narrow", &[rectangle(0.0, 0.0, 60.0, 8.0)]);
    for method in BOTH {
        match clear(&job(&scene, 45.0, method)) {
            Err(ClearingError::TooWide { diameter_mm, would_do_mm }) => {
                assert_eq!(diameter_mm, 10.0);
                assert!((would_do_mm - 8.0).abs() < 0.02, "{would_do_mm}");
            }
            other => panic!("{other:?}"),
        }
    }
}

#[test]
fn no_way_in_says_which_would_do() {
    let scene = Scene::pocket("slot", &[rectangle(0.0, 0.0, 60.0, 12.0)]);
    let mut job = job(&scene, 45.0, Method::ConstantEngagement);
    job.entry = Entry {
        helix: Some(Helix { radius_mm: 4.0, least_radius_mm: 2.0 }),
        ramp_mm: None,
        plunge: false,
    };
    match clear(&job) {
        // derived: half the width less the helix' least radius
        Err(ClearingError::NoEntry { would_do_mm, .. }) => {
            assert!((would_do_mm - 8.0).abs() < 0.05, "{would_do_mm}");
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn numbers_that_make_no_sense_are_refused() {
    let scene = &all()[0];
    for change in [
        |j: &mut clearing::Job<'_>| j.cutter_radius_mm = f64::NAN,
        |j: &mut clearing::Job<'_>| j.cutter_radius_mm = -1.0,
        |j: &mut clearing::Job<'_>| j.arc_rad = 0.0,
        |j: &mut clearing::Job<'_>| j.arc_rad = f64::INFINITY,
        |j: &mut clearing::Job<'_>| j.chord_mm = 0.0,
        |j: &mut clearing::Job<'_>| j.least_corner_radius_mm = f64::NAN,
        |j: &mut clearing::Job<'_>| j.cutter_radius_mm = 0.01,
    ] {
        let mut job = job(scene, 45.0, Method::ConstantEngagement);
        change(&mut job);
        assert!(clear(&job).is_err());
    }
    let nothing = Region::of_loops(&[]);
    let mut empty = job(scene, 45.0, Method::ConstantEngagement);
    empty.stock = &nothing;
    assert_eq!(clear(&empty).unwrap_err(), ClearingError::Nothing);
    empty.inside = &nothing;
    assert_eq!(clear(&empty).unwrap_err(), ClearingError::Nothing);
}

#[test]
fn what_a_larger_cutter_left_needs_no_entry() {
    let scene = Scene::pocket("rectangle", &[rectangle(0.0, 0.0, 90.0, 60.0)]);
    let mut large = job(&scene, 45.0, Method::ConstantEngagement);
    large.cutter_radius_mm = 12.0;
    let left = clear(&large).unwrap().rest;
    let mut small = job(&scene, 45.0, Method::ConstantEngagement);
    small.stock = &left;
    small.least_corner_radius_mm = 0.0;
    let out = clear(&small).unwrap();
    assert!(out.runs.iter().all(|r| r.kind != Kind::Entry));
    // derived: four corners r² − πr²/4 of the small cutter; tolerance as above
    let want = (4.0 - PI) * RADIUS_MM * RADIUS_MM;
    assert!((out.rest.area_mm2() - want).abs() < 1.0, "{}", out.rest.area_mm2());
}

#[test]
fn an_outside_shape_needs_no_entry_either() {
    let scenes = all();
    let scene = scenes.iter().find(|s| s.name == "outside").unwrap();
    for method in BOTH {
        let out = clear(&job(scene, 45.0, method)).unwrap();
        assert!(out.runs.iter().all(|r| r.kind != Kind::Entry), "{method:?}");
        assert!(out.rest.area_mm2() < 0.01 * scene.stock.area_mm2(), "{method:?}");
    }
}

#[test]
fn a_plate_without_a_wall_is_cleared_from_outside() {
    // what stands over the top of a part
    let plate = Region::of_loops(&[rectangle(0.0, 0.0, 90.0, 60.0)]);
    let scene = Scene { name: "plate".into(), inside: plate.grown(12.0), stock: plate };
    for method in BOTH {
        let out = clear(&job(&scene, 45.0, method)).unwrap();
        assert!(out.runs.iter().all(|r| r.kind != Kind::Entry), "{method:?}");
        let rest = out.rest.area_mm2();
        assert!(rest < 1e-3 * scene.stock.area_mm2(), "{method:?} {rest}");
    }
}

#[test]
fn runs_follow_on_each_other_and_come_out_the_same() {
    for method in BOTH {
        let scene = support::random::pocket(12);
        let job = job(&scene, 45.0, method);
        let out = clear(&job).unwrap();
        assert_eq!(out, clear(&job).unwrap());
        for pair in out.runs.windows(2) {
            let (a, b) = (pair[0].points.last().unwrap(), pair[1].points[0]);
            let gap = (a[0] - b[0]).hypot(a[1] - b[1]);
            assert!(gap < 1e-9, "{method:?}: {gap} from {:?} to {:?}", pair[0].kind, pair[1].kind);
        }
        for run in &out.runs {
            let n = run.points.len();
            assert!(n > 1 || run.kind == Kind::Entry);
            assert_eq!([run.arc_of_contact_rad.len(), run.width_mm.len(), run.hold.len()], [n; 3]);
        }
    }
}
