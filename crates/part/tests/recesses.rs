//! Recesses of every kind on parts whose dimensions are known from their making.
#![cfg(feature = "occt")]
#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test may panic")]

mod support;

use part::fact::{self, Pocket};
use std::f64::consts::PI;
use support::pockets;

fn near(value: f64, wanted: f64, within: f64) {
    assert!((value - wanted).abs() <= within, "{value} instead of {wanted}");
}

/// Area of a rectangle with rounded corners, mm².
fn rounded(length: f64, width: f64, radius: f64) -> f64 {
    length * width - (4.0 - PI) * radius * radius
}

#[test]
fn every_recess_of_the_block_is_found_once_and_the_step_is_none() {
    let (part, found) = pockets("recesses.step");
    let (bores, pockets): (Vec<_>, Vec<_>) = found.into_iter().partition(|p| p.is_bore);
    let by_depth = |depth: f64, through: bool| -> Vec<&Pocket> {
        let alike = |p: &&Pocket| (p.depth_mm - depth).abs() < 1e-6 && p.floor.is_none() == through;
        pockets.iter().filter(alike).collect()
    };
    assert_eq!(pockets.len(), 7, "{pockets:#?}");
    let closed = by_depth(15.0, false)[0];
    near(closed.corner_radius_min_mm.expect("round"), 6.0, 1e-6);
    let plan = fact::plan(&part, closed);
    assert_eq!((plan.islands(), plan.open_mm()), (1, 0.0));
    near(plan.outline.region.area_mm2(), rounded(50.0, 70.0, 6.0) - rounded(14.0, 20.0, 4.0), 0.5);
    let open = by_depth(10.0, false)[0];
    near(open.corner_radius_min_mm.expect("round"), 8.0, 1e-6);
    near(fact::plan(&part, open).open_mm(), 40.0, 1e-6);
    let windows = by_depth(30.0, true);
    let radius: Vec<_> = windows.iter().map(|p| p.corner_radius_min_mm.map(f64::round)).collect();
    assert_eq!(radius, [Some(5.0), None]);
    let plans: Vec<_> = windows.iter().map(|p| fact::plan(&part, p)).collect();
    near(plans[0].outline.region.area_mm2(), rounded(40.0, 30.0, 5.0), 0.3);
    near(plans[1].outline.region.area_mm2(), 256.0, 1e-3);
    assert!(plans[1].has_sharp_corner && !plans[0].has_sharp_corner);
    // two levels: the upper one may be left over the lower
    let lower = by_depth(12.0, false)[0];
    near(lower.corner_radius_min_mm.expect("round"), 3.0, 1e-6);
    let upper = by_depth(8.0, false);
    assert_eq!(upper.len(), 2);
    let upper = upper.iter().find(|p| p.axis.z > 0.0).expect("opens upwards");
    near(upper.corner_radius_min_mm.expect("round"), 7.0, 1e-6);
    near(fact::plan(&part, upper).open_mm(), 2.0 * (18.0 + 24.0) - (8.0 - 2.0 * PI) * 3.0, 0.05);
    // the channel along the underside is open at both ends
    let channel = pockets.iter().find(|p| p.axis.z < 0.0).expect("opens downwards");
    near(fact::plan(&part, channel).open_mm(), 24.0, 1e-6);
    assert_eq!(bores.len(), 1);
    near(bores[0].corner_radius_min_mm.expect("round"), 2.5, 1e-6);
    assert_eq!(bores[0].floor, None);
}

#[test]
fn drafted_walls_keep_their_angle_and_the_smallest_corner_is_at_the_floor() {
    let (part, found) = pockets("drafted.step");
    assert_eq!(found.len(), 1, "{found:#?}");
    let pocket = &found[0];
    let draft = 5f64.to_radians();
    near(pocket.draft_rad, draft, 1e-6);
    near(pocket.depth_mm, 18.0, 1e-6);
    near(pocket.floor_radius_min_mm.expect("fillet"), 3.0, 1e-6);
    // derived: the fillet meets the wall 3 (1 − sin 5°) over the floor
    let depth = 18.0 - 3.0 * (1.0 - draft.sin());
    near(pocket.corner_radius_min_mm.expect("round"), 10.0 - depth * draft.tan(), 1e-4);
    let plan = fact::plan(&part, pocket);
    assert_eq!((plan.islands(), plan.open_mm()), (0, 0.0));
    let shrunk = 2.0 * depth * draft.tan();
    let wanted = rounded(80.0 - shrunk, 50.0 - shrunk, 10.0 - 0.5 * shrunk);
    near(plan.outline.region.area_mm2(), wanted, 0.5);
}

#[test]
fn a_recess_over_half_a_ball_has_that_for_its_floor() {
    let (part, found) = pockets("round_floor.step");
    assert_eq!(found.len(), 1, "{found:#?}");
    let pocket = &found[0];
    near(pocket.depth_mm, 27.0, 1e-6);
    near(pocket.corner_radius_min_mm.expect("round"), 12.0, 1e-6);
    assert!(pocket.is_bore && pocket.floor.is_some());
    near(fact::plan(&part, pocket).outline.region.area_mm2(), 144.0 * PI, 1.0);
}
