//! Force along a path: positions of engagement a second on one core, each with the forces at 360
//! angles of a revolution, three teeth.

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use mechanics::chip::Runout;
use mechanics::engagement::Slice;
use mechanics::engagement::peripheral::{Arc, Way, cylinder};
use mechanics::force::{Coefficients, Cut, Grid, Revolution};

const LAW: Coefficients = Coefficients {
    ktc_n_mm2: 800.0,
    krc_n_mm2: 260.0,
    kac_n_mm2: 120.0,
    kte_n_mm: 12.0,
    kre_n_mm: 15.0,
    kae_n_mm: 2.0,
};
const POSITIONS: usize = 200;

fn main() {
    divan::main();
}

fn peak(slices: &[Slice], offset_mm: f64, grid: &Grid) -> f64 {
    let cut = Cut {
        slices,
        teeth: 3,
        feed_per_tooth_mm: 0.08,
        law: LAW.into(),
        runout: Runout { offset_mm, angle_rad: 0.4 },
        axial_feed_mm: 0.0,
        breaker: None,
    };
    let history = Revolution::new(&cut).history(grid);
    history.iter().map(|l| l.across_n()).fold(0.0, f64::max)
}

/// Widths of cut that change along the path, as in a corner.
fn widths() -> impl Iterator<Item = f64> {
    (0..POSITIONS).map(|i| 0.5 + 9.0 * i as f64 / POSITIONS as f64)
}

/// A cylinder, whose helix is integrated as a whole.
#[divan::bench]
fn cylinder_cut(bencher: Bencher<'_, '_>) {
    let cuts: Vec<[Slice; 1]> = widths()
        .map(|ae| [cylinder(10.0, 12.0, 0.6, Arc::beside(10.0, ae, Way::Down).expect("a cut"))])
        .collect();
    let grid = Grid::new(3, 360);
    bencher
        .counter(ItemsCount::new(POSITIONS))
        .bench_local(|| cuts.iter().map(|slices| peak(black_box(slices), 0.0, &grid)).sum::<f64>());
}

/// A ball of 50 slices, each with its own entry and exit.
fn balls() -> Vec<Vec<Slice>> {
    let slice = |i: usize, ae: f64| {
        let kappa = 1.2 * (i as f64 + 0.5) / 50.0;
        Slice {
            z_mm: 5.0 * (1.0 - kappa.cos()),
            radius_mm: 5.0 * kappa.sin(),
            kappa_rad: kappa,
            width_mm: 0.12,
            lag_rad: 0.5 * kappa,
            lag_span_rad: 0.012,
            entry_rad: 3.1 - 0.3 * ae - 0.2 * kappa,
            exit_rad: 3.1,
            entry_span_rad: -0.2 * 1.2 / 50.0,
            exit_span_rad: 0.0,
        }
    };
    widths().map(|ae| (0..50).map(|i| slice(i, ae)).collect()).collect()
}

#[divan::bench(args = [0.0, 0.004])]
fn ball_of_50_slices(bencher: Bencher<'_, '_>, runout_mm: f64) {
    let cuts = balls();
    let grid = Grid::new(3, 360);
    bencher.counter(ItemsCount::new(POSITIONS)).bench_local(|| {
        cuts.iter().map(|slices| peak(black_box(slices), runout_mm, &grid)).sum::<f64>()
    });
}

/// The same by plain sums over edges, angles and slices.
#[divan::bench]
fn ball_by_plain_sums(bencher: Bencher<'_, '_>) {
    let cuts = balls();
    let plain = |slices: &[Slice]| {
        let mut most: f64 = 0.0;
        for i in 0..360 {
            let (mut x, mut y) = (0.0, 0.0);
            for edge in 0..3 {
                let turn = f64::from(i).to_radians() - f64::from(edge) * 120f64.to_radians();
                for s in slices {
                    let phi = (turn - s.lag_rad).rem_euclid(std::f64::consts::TAU);
                    if phi >= s.entry_rad && phi <= s.exit_rad {
                        let h = 0.08 * s.kappa_rad.sin() * phi.sin();
                        let t = (LAW.ktc_n_mm2 * h + LAW.kte_n_mm) * s.width_mm;
                        let r = (LAW.krc_n_mm2 * h + LAW.kre_n_mm) * s.width_mm;
                        x -= t * phi.cos() + r * s.kappa_rad.sin() * phi.sin();
                        y += t * phi.sin() - r * s.kappa_rad.sin() * phi.cos();
                    }
                }
            }
            most = most.max(f64::hypot(x, y));
        }
        most
    };
    bencher
        .counter(ItemsCount::new(POSITIONS))
        .bench_local(|| cuts.iter().map(|slices| plain(black_box(slices))).sum::<f64>());
}
