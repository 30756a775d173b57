//! The error of a wall from the force at the instant at which the edge makes it.
#![allow(clippy::unwrap_used, reason = "tests")]

mod support;

use mechanics::chip::Runout;
use mechanics::deflection::wall::{generating_rad, wall_errors};
use mechanics::deflection::{At, Beam, Clamping};
use mechanics::engagement::peripheral::{Arc, Way, cylinder};
use mechanics::engagement::{Slice, lag_rad};
use mechanics::force::{Cut, Revolution};
use support::LAW;

const HEIGHTS_MM: [f64; 6] = [0.0, 1.5, 3.0, 4.5, 6.0, 7.5];

fn helix_rad() -> f64 {
    38f64.to_radians()
}

fn cut(slices: &[Slice]) -> Cut<'_> {
    Cut {
        slices,
        teeth: 3,
        feed_per_tooth_mm: 0.07,
        law: LAW.into(),
        runout: Runout::default(),
        axial_feed_mm: 0.0,
        breaker: None,
    }
}

fn lag(z_mm: f64) -> f64 {
    lag_rad(z_mm, helix_rad(), 6.0)
}

/// Discs of the worked cut: N 3, D 12, helix 38°, ap 9, ae 2.4.
fn discs(way: Way, count: usize) -> Vec<Slice> {
    let whole = cylinder(12.0, 9.0, helix_rad(), Arc::beside(12.0, 2.4, way).unwrap());
    let width_mm = whole.width_mm / count as f64;
    let disc = |i: usize| {
        let z_mm = width_mm * (i as f64 + 0.5);
        Slice { z_mm, width_mm, lag_rad: lag(z_mm), lag_span_rad: lag(width_mm), ..whole }
    };
    (0..count).map(disc).collect()
}

#[test]
fn forces_at_the_instants_that_make_the_wall() {
    // derived: force across the feed when the edge at z passes the wall, N
    let down = [269.9264, 269.9264, 202.9872, 127.3729, 69.2284, 27.8020];
    let up = [1.0203, -22.1772, -38.7659, -42.7765, -28.5614, -3.8378];
    for (way, right) in [(Way::Down, down), (Way::Up, up)] {
        let slices = discs(way, 1);
        let revolution = Revolution::new(&cut(&slices));
        for (z, right) in HEIGHTS_MM.iter().zip(right) {
            // the edge has just not left (down) or just entered (up)
            let inside = if way == Way::Down { -1e-7 } else { 1e-7 };
            let found = revolution.at(generating_rad(way, lag(*z)) + inside).y_n;
            assert!((found - right).abs() < 2e-3, "{way:?} {z}: {found}, not {right}");
        }
    }
}

#[test]
fn both_ways_leave_stock_here_and_a_rigid_spring_shows_the_force() {
    // a cutter that only shifts: the error is the force over the stiffness, whatever the height
    let stiffness_n_mm = 20_000.0;
    let clamping = Some(Clamping { shift_n_mm: stiffness_n_mm, tilt_n_mm_rad: 1e30 });
    let shifting = Beam { clamping, ..Beam::stepped(12.0, 1.0, 26.0, 12.0, 45.0, f64::MAX.sqrt()) };
    let bending = Beam::stepped(12.0, 0.8, 26.0, 12.0, 45.0, 600_000.0);
    for way in [Way::Down, Way::Up] {
        let slices = discs(way, 60);
        let each: Vec<(f64, Revolution)> = slices
            .iter()
            .map(|s| (s.z_mm, Revolution::new(&cut(std::slice::from_ref(s)))))
            .collect();
        let across = |angle: f64| -> Vec<At> {
            each.iter().map(|(z, r)| At { z_mm: *z, force_n: r.at(angle).y_n }).collect()
        };
        let away = if way == Way::Down { 1.0 } else { -1.0 };
        for point in wall_errors(&shifting, way, &HEIGHTS_MM, lag, across) {
            let angle = generating_rad(way, lag(point.z_mm));
            let force: f64 = across(angle).iter().map(|f| f.force_n).sum();
            assert!((point.stock_left_mm - away * force / stiffness_n_mm).abs() < 1e-9);
        }
        let left: Vec<f64> = wall_errors(&bending, way, &HEIGHTS_MM[2..5], lag, across)
            .iter()
            .map(|p| p.stock_left_mm)
            .collect();
        assert!(left.iter().all(|e| *e > 0.0), "{way:?} leaves {left:?}");
        // a bent cutter leaves less the nearer to the holder; some µm for these forces
        assert!(left[0] < 0.02 && left[0] > 5e-4, "{left:?}");
    }
}
