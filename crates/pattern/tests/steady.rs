//! How fast the axis turns along passes: bounded where the surface bends abruptly, untouched else.

mod support;

use cutter::axis::{ContactFrame, Side};
use geom::{Sym2, Vec2, Vec3};
use pattern::{AxisRule, FaceJob, FacePasses, LeanSide, Pattern, Warning, finish_on};
use support::*;
use toolpath::Run;

/// The limit, deg/mm.
const LIMIT: f64 = 2.0;

/// Level, then round with a radius of 5 mm about the y axis, then down at 30°.
fn ridge(half: Vec2) -> Graph {
    Graph {
        half,
        jet: |q| {
            let (z, slope, bend) = ridge_line(q.x);
            (z, Vec2::new(slope, 0.0), Sym2::diagonal(bend, 0.0))
        },
    }
}

/// The same along y.
fn ridge_turned(half: Vec2) -> Graph {
    Graph {
        half,
        jet: |q| {
            let (z, slope, bend) = ridge_line(q.y);
            (z, Vec2::new(0.0, slope), Sym2::diagonal(0.0, bend))
        },
    }
}

/// Height, slope and second derivative.
fn ridge_line(x: f64) -> (f64, f64, f64) {
    let r = 5.0_f64;
    let end = 0.5 * r;
    let tan = 30_f64.to_radians().tan();
    if x <= 0.0 {
        (0.0, 0.0, 0.0)
    } else if x < end {
        let w = (r * r - x * x).sqrt();
        (w - r, -x / w, -r * r / (w * w * w))
    } else {
        (0.75_f64.sqrt() * r - r - tan * (x - end), -tan, 0.0)
    }
}

fn tilted(kappa_deg: Option<f64>) -> AxisRule {
    AxisRule::Tilted {
        kappa_rad: kappa_deg.map(f64::to_radians),
        lead_rad: 0.0,
        lean: LeanSide::Left,
    }
}

fn cuts(passes: &FacePasses) -> impl Iterator<Item = &Run> {
    passes.toolpath.runs.iter().filter(|r| r.kind.is_cut())
}

/// Fastest turn along the contact lines, deg/mm.
fn fastest(passes: &FacePasses) -> f64 {
    let mut most = 0.0_f64;
    for run in cuts(passes) {
        for (p, c) in run.poses.windows(2).zip(run.contacts.windows(2)) {
            let turn = p[0].axis.cross(p[1].axis).length().asin().to_degrees();
            most = most.max(turn / c[0].point.distance(c[1].point));
        }
    }
    most
}

/// Smallest and largest contact angle, deg, and how far the cutter stands off its contacts, mm.
fn contact(passes: &FacePasses, assembly: &cutter::Assembly) -> (f64, f64, f64) {
    let kernel = assembly.cutter.profile().kernel();
    let (mut lo, mut hi, mut off) = (f64::INFINITY, 0.0_f64, 0.0_f64);
    for run in cuts(passes) {
        for (p, c) in run.poses.iter().zip(&run.contacts) {
            let kappa = cutter::contact::kappa_between(c.normal, p.axis).to_degrees();
            (lo, hi) = (lo.min(kappa), hi.max(kappa));
            off = off.max(kernel.at(p.tip, p.axis, c.point).abs());
        }
    }
    (lo, hi, off)
}

fn steadied(passes: &FacePasses) -> (Option<usize>, bool) {
    let count = passes.warnings.iter().find_map(|w| match w {
        Warning::AxisSteadied { passes, .. } => Some(*passes),
        _ => None,
    });
    (count, passes.warnings.iter().any(|w| matches!(w, Warning::AxisTurnsFast { .. })))
}

#[test]
fn a_ball_turns_over_a_ridge_no_faster_than_it_may() {
    let (part, ball) = (far_below(), ball(12.0));
    let chart = ridge(Vec2::new(30.0, 4.0));
    let job = FaceJob {
        stepover_mm: Some(0.8),
        axis: tilted(Some(30.0)),
        ..job(&part, &ball, Pattern::Parallel)
    };
    let passes = finish_on(&chart, &job, &|_| ()).expect("passes");
    // derived: the rule turns it by 30° of the normal within 2.618 mm, less by the lean's cosine
    assert!(fastest(&passes) <= LIMIT * 1.01, "{}", fastest(&passes));
    assert_eq!(steadied(&passes), (Some(passes.passes.len()), false));
    let (lo, hi, off) = contact(&passes, &ball);
    assert!(lo > 9.0 && hi < 81.0, "{lo} {hi}");
    // ends of straight moves stand over the surface by half of their sag
    assert!(off <= 0.5 * passes.chord_mm + 1e-9, "{off}");
    // far from the ridge the rule's own axis
    for run in cuts(&passes) {
        for (p, c) in run.poses.iter().zip(&run.contacts) {
            if !(-14.0..=17.0).contains(&c.point.x) {
                let angle = cutter::contact::kappa_between(c.normal, p.axis).to_degrees();
                assert!((angle - 30.0).abs() < 1e-9, "{angle} at {}", c.point.x);
            }
        }
    }
}

#[test]
fn turned_ridges_have_turned_axes() {
    let (part, ball) = (far_below(), ball(12.0));
    let base = || FaceJob {
        stepover_mm: Some(0.8),
        axis: tilted(Some(30.0)),
        ..job(&part, &ball, Pattern::Parallel)
    };
    let one = finish_on(&ridge(Vec2::new(30.0, 4.0)), &base(), &|_| ()).expect("passes");
    let turned = FaceJob { direction_rad: Some(std::f64::consts::FRAC_PI_2), ..base() };
    let other = finish_on(&ridge_turned(Vec2::new(4.0, 30.0)), &turned, &|_| ()).expect("passes");
    assert_eq!(steadied(&one), steadied(&other));
    assert!((one.tip_path_mm / other.tip_path_mm - 1.0).abs() < 1e-6);
    assert!((fastest(&one) - fastest(&other)).abs() < 1e-3);
}

#[test]
fn an_arc_is_steadied_only_as_far_as_its_band_and_cusp_permit() {
    let (part, barrel) = (far_below(), barrel(250.0));
    let chart = ridge(Vec2::new(30.0, 8.0));
    let job = FaceJob {
        stepover_mm: Some(1.0),
        axis: tilted(None),
        ..job(&part, &barrel, Pattern::Parallel)
    };
    let passes = finish_on(&chart, &job, &|_| ()).expect("passes");
    let (lo, hi, _) = contact(&passes, &barrel);
    let band = barrel.cutter.usable_kappa_rad().expect("an arc");
    assert!(lo >= band.0.to_degrees() - 1e-6 && hi <= band.1.to_degrees() + 1e-6, "{lo} {hi}");
    let (some, fast) = steadied(&passes);
    // either the limit is kept, or it is said that it is not
    assert!(some.is_some(), "{:?}", passes.warnings);
    assert_eq!(fast, fastest(&passes) > LIMIT * 1.0001, "{}", fastest(&passes));
    // derived: the rule turns it by 30° cos κ or more within 2.618 mm
    assert!(fastest(&passes) < 0.95 * 30.0 * hi.to_radians().cos() / 2.618);
}

#[test]
fn gentle_faces_keep_the_rule_to_the_bit() {
    let (part, barrel) = (far_below(), barrel(250.0));
    let kappa = barrel.cutter.default_kappa_rad();
    let chart = crown(Vec2::new(30.0, 20.0));
    let job = FaceJob {
        stepover_mm: Some(1.5),
        axis: tilted(None),
        ..job(&part, &barrel, Pattern::Parallel)
    };
    let passes = finish_on(&chart, &job, &|_| ()).expect("passes");
    assert_eq!(steadied(&passes), (None, false));
    for (pass, run) in cuts(&passes).enumerate() {
        let against = passes.passes[pass].from.x > passes.passes[pass].to.x;
        for (p, c) in run.poses.iter().zip(&run.contacts) {
            // straight in plan
            let along = Vec3::new(c.normal.z, 0.0, -c.normal.x);
            let towards = if against { -along } else { along };
            let side = if against { Side::Right } else { Side::Left };
            let frame = ContactFrame::new(c.normal, towards).expect("not parallel");
            let rule = frame.axis_at(kappa, 0.0, side).expect("no lead");
            assert!(rule.distance(p.axis) < 1e-9, "{rule} {}", p.axis);
        }
    }
}

#[test]
fn a_normal_axis_is_left_alone_and_said_to_turn_fast() {
    let (part, ball) = (far_below(), ball(12.0));
    let chart = ridge(Vec2::new(30.0, 4.0));
    let job = FaceJob {
        stepover_mm: Some(0.8),
        axis: AxisRule::Normal,
        ..job(&part, &ball, Pattern::Parallel)
    };
    let passes = finish_on(&chart, &job, &|_| ()).expect("passes");
    assert_eq!(steadied(&passes), (None, true));
    let (_, hi, _) = contact(&passes, &ball);
    assert!(hi < 1e-9, "{hi}");
    // derived: 1 / 5 mm in degrees
    assert!((fastest(&passes) / 11.459 - 1.0).abs() < 0.02, "{}", fastest(&passes));
}
