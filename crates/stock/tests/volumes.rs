//! Volumes against closed forms.

mod support;

use geom::Vec3;
use std::f64::consts::PI;
use stock::Columns;
use support::{ball, block, flat};

fn near(found: f64, expected: f64, relative: f64) {
    let off = (found - expected).abs() / expected;
    assert!(off < relative, "{found} for {expected}: {off:.2e}");
}

fn removed(stock: &mut Columns, tool: &cutter::Cutter, tips: &[Vec3]) -> f64 {
    let before = stock.volume_mm3();
    stock.cut_upright(tool.profile(), tips).expect("fits together");
    before - stock.volume_mm3()
}

/// derived: rectangle and disc times depth; a wall that runs along the rows is known to an eighteenth of a
/// cell: 0.06 % of 10 mm for two
#[test]
fn a_slot_at_any_angle() {
    for deg in [0.0, 17.0, 45.0, 90.0, 121.3] {
        let mut stock = block(60.0, 10.0, 0.05);
        let (s, c) = f64::to_radians(deg).sin_cos();
        let mid = Vec3::new(30.013, 29.987, 7.0);
        let half = Vec3::new(c, s, 0.0) * 10.0;
        let tips: Vec<Vec3> = (0..=200).map(|i| mid + half * (i as f64 / 100.0 - 1.0)).collect();
        near(removed(&mut stock, &flat(10.0), &tips), 3.0 * (200.0 + 25.0 * PI), 1e-3);
    }
}

/// derived: half cylinder and two quarter balls
#[test]
fn a_ball_groove() {
    for deg in [0.0, 33.0, 90.0] {
        let mut stock = block(40.0, 10.0, 0.05);
        let (s, c) = f64::to_radians(deg).sin_cos();
        let mid = Vec3::new(20.0, 20.0, 5.0);
        let half = Vec3::new(c, s, 0.0) * 10.0;
        let found = removed(&mut stock, &ball(10.0), &[mid - half, mid + half]);
        near(found, 0.5 * PI * 25.0 * 20.0 + 2.0 / 3.0 * PI * 125.0, 2e-3);
    }
}

/// derived: rectangle less the corners' squares and quarter discs
#[test]
fn a_pocket_in_closed_turns() {
    let mut stock = block(40.0, 10.0, 0.05);
    let mut tips = Vec::new();
    for inset in [8.0, 4.0, 0.0] {
        let (a, b) = (10.0 + inset, 30.0 - inset);
        let turn = [(a, a), (b, a), (b, b), (a, b), (a, a)];
        tips.extend(turn.map(|(x, y)| Vec3::new(x, y, 6.0)));
    }
    let expected = 4.0 * (30.0 * 30.0 - (4.0 - PI) * 25.0);
    near(removed(&mut stock, &flat(10.0), &tips), expected, 2e-3);
}

/// derived: a ring of 10 mm width round a circle of radius 12 mm: `2 π 12 · 10`
#[test]
fn a_circle_in_short_chords_leaves_no_gap() {
    let mut stock = block(50.0, 10.0, 0.05);
    let n = 754;
    let at = |i: usize| {
        let (s, c) = (2.0 * PI * i as f64 / n as f64).sin_cos();
        Vec3::new(25.0 + 12.0 * c, 25.0 + 12.0 * s, 8.0)
    };
    let tips: Vec<Vec3> = (0..=n).map(at).collect();
    let mut one_by_one = stock.clone();
    near(removed(&mut stock, &flat(10.0), &tips), 2.0 * 2.0 * PI * 120.0, 2e-3);
    for pair in tips.windows(2) {
        one_by_one.cut_upright(flat(10.0).profile(), pair).expect("fits together");
    }
    // one by one, cells at the walls are as nearly right as their shares lie over each other
    near(one_by_one.volume_mm3(), stock.volume_mm3(), 1e-5);
}

/// derived: rectangle and disc times depth, wherever the walls lie in their cells, by one long move,
/// by moves of 0.1 mm, one after the other, and level by level
#[test]
fn a_slot_along_the_lattice() {
    let expected = 3.0 * (200.0 + 25.0 * PI);
    for (k, turned) in (0..8).flat_map(|k| [(k, false), (k, true)]) {
        let at = |t: f64, z: f64| {
            let (x, y) = (10.0 + t, 20.0 + 0.0127 * f64::from(k));
            if turned { Vec3::new(y, x, z) } else { Vec3::new(x, y, z) }
        };
        let long = [at(0.0, 7.0), at(20.0, 7.0)];
        let short: Vec<Vec3> = (0..=200).map(|i| at(0.1 * f64::from(i), 7.0)).collect();
        for tips in [&long[..], &short] {
            near(removed(&mut block(40.0, 10.0, 0.05), &flat(10.0), tips), expected, 1e-3);
        }
        let mut stock = block(40.0, 10.0, 0.05);
        let before = stock.volume_mm3();
        for pair in short.windows(2) {
            stock.cut_upright(flat(10.0).profile(), pair).expect("fits together");
        }
        near(before - stock.volume_mm3(), expected, 1e-3);
        let mut stock = block(40.0, 10.0, 0.05);
        let levels = [9.0, 8.0, 7.0].map(|z| [at(0.0, z), at(20.0, z)]);
        let by_level: f64 = levels.iter().map(|l| removed(&mut stock, &flat(10.0), l)).sum();
        near(by_level, expected, 1e-3);
    }
}
