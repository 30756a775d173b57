//! Room of a large stock, and turns and ramps of the engagement.

mod support;

use geom::Vec3;
use stock::{Columns, Cutting, Direction, Grid};
use support::{block, flat};

#[test]
fn a_large_stock_at_a_fine_spacing_fits_a_gigabyte() {
    let hi = Vec3::new(300.0, 200.0, 100.0);
    let grid = Grid::over((Vec3::ZERO, hi), 0.05, Direction::Z).expect("a grid");
    assert_eq!((grid.nu, grid.nv), (6000, 4000));
    let mut stock = Columns::block(grid);
    let tips = [Vec3::new(50.0, 50.0, 60.0), Vec3::new(250.0, 150.0, 60.0)];
    stock.cut_upright(flat(10.0).profile(), &tips).expect("finite");
    assert!(stock.bytes() < 1_000_000_000, "{}", stock.bytes());
}

/// After a slot along x the cutter turns left: the slot on its left is clear up to its wall.
#[test]
fn a_turn_in_a_slot() {
    let mut stock = block(40.0, 6.0, 0.05);
    let cutter = flat(10.0);
    let mut cutting = Cutting::new(&mut stock, &cutter, Vec3::new(-6.0, 20.0, 2.0), 2.0);
    for i in 1..=260 {
        cutting.advance(Vec3::new(-6.0 + 0.1 * f64::from(i), 20.0, 2.0)).expect("finite");
    }
    // 90° to the left: +y; the slot lies on the left of the feed, angles up to the wall's
    let slices = cutting.advance(Vec3::new(20.0, 20.1, 2.0)).expect("finite");
    let cut: Vec<_> = slices.iter().filter(|s| s.z_mm < 4.0).collect();
    assert!(!cut.is_empty());
    for s in cut {
        assert!((s.exit_rad.to_degrees() - 180.0).abs() < 1.5, "{s:?}");
        // derived: the ring rises over the slot's wall at y = 25: `sin φ = 4.9 / 5`; half a cell
        // there is 1.4°
        let want = 0.98f64.asin().to_degrees();
        assert!((s.entry_rad.to_degrees() - want).abs() < 1.5, "{s:?}");
    }
}
