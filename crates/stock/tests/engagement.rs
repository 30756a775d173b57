//! Angles of engagement against the analytic cases.

mod support;

use geom::Vec3;
use mechanics::engagement::peripheral::{Arc, Way};
use stock::Cutting;
use support::{block, flat};

/// Largest error of entry and exit over a run, degrees.
fn side_error(ae: f64, offset: f64, way: Way) -> f64 {
    let mut stock = block(40.0, 6.0, 0.05);
    let cutter = flat(10.0);
    let edge = 15.0 + offset;
    let pre: Vec<Vec3> = [-10.0, 60.0].map(|x| Vec3::new(x, edge - 5.0, -1.0)).into();
    stock.cut_upright(cutter.profile(), &pre).expect("fits together");
    let wide: Vec<Vec3> = [-10.0, 60.0].map(|x| Vec3::new(x, edge - 12.0, -1.0)).into();
    stock.cut_upright(cutter.profile(), &wide).expect("fits together");
    // the wall stands at `edge`; the stock lies beyond it
    let y = edge - 5.0 + ae;
    let way_x = |i: usize| if way == Way::Up { 0.1 * i as f64 } else { 40.0 - 0.1 * i as f64 };
    let mut cutting = Cutting::new(&mut stock, &cutter, Vec3::new(way_x(0), y, 2.0), 2.0);
    let want = Arc::beside(10.0, ae, way).expect("fits together");
    let mut worst: f64 = 0.0;
    for i in 1..300 {
        cutting.pass(Vec3::new(way_x(i), y, 2.0)).expect("fits together");
        if i < 150 || i % 3 > 0 {
            continue;
        }
        let slices = cutting.look();
        let cut: Vec<_> = slices.iter().filter(|s| s.z_mm < 4.0).collect();
        let depth: f64 = cut.iter().map(|s| s.width_mm).sum();
        assert!((depth - 4.0).abs() < 0.2, "one arc in each ring at {i}: {slices:?}");
        for s in cut {
            let off = (s.entry_rad - want.entry_rad).abs().max((s.exit_rad - want.exit_rad).abs());
            worst = worst.max(off.to_degrees());
        }
    }
    worst
}

#[test]
fn side_milling_at_many_widths() {
    for offset in [0.0, 0.011, 0.025, 0.037] {
        for way in [Way::Up, Way::Down] {
            for ae in [1.0, 1.7, 2.5, 4.0, 5.0, 7.3, 9.0] {
                let off = side_error(ae, offset, way);
                assert!(off < 1.0, "ae {ae} at {offset} {way:?}: {off:.3}");
            }
            let off = side_error(0.2, offset, way);
            assert!(off < 3.0, "ae 0.2 at {offset} {way:?}: {off:.3}");
        }
    }
}

#[test]
fn a_full_slot() {
    let mut stock = block(40.0, 6.0, 0.05);
    let cutter = flat(10.0);
    let mut cutting = Cutting::new(&mut stock, &cutter, Vec3::new(-6.0, 20.0, 2.0), 2.0);
    for i in 1..250 {
        let slices =
            cutting.advance(Vec3::new(-6.0 + 0.1 * i as f64, 20.013, 2.0)).expect("fits together");
        if i > 120 {
            assert!(!slices.is_empty());
            for s in slices {
                assert!((s.arc_rad().to_degrees() - 180.0).abs() < 1.0, "{s:?}");
            }
        }
    }
}
