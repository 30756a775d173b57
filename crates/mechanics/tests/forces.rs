//! Forces: against textbook averages, the energy that goes in, and a fine integration of its own.
#![allow(clippy::unwrap_used, reason = "tests")]

mod support;

use mechanics::chip::Runout;
use mechanics::engagement::Slice;
use mechanics::engagement::peripheral::{Arc, Way, cylinder};
use mechanics::force::{
    ChipBreaker, Coefficients, Cut, CuttingLaw, Grid, Load, PowerLaw, Revolution, cylinder_mean,
    power_kw,
};
use proptest::prelude::*;
use std::f64::consts::{FRAC_PI_2, PI, TAU};
use support::LAW;

fn cut(slices: &[Slice], teeth: usize, feed_per_tooth_mm: f64) -> Cut<'_> {
    Cut {
        slices,
        teeth,
        feed_per_tooth_mm,
        law: LAW.into(),
        runout: Runout::default(),
        axial_feed_mm: 0.0,
        breaker: None,
    }
}

fn close(found: f64, right: f64, relative: f64) {
    let scale = right.abs().max(1e-9);
    assert!((found - right).abs() <= relative * scale, "{found}, not {right}");
}

#[test]
fn averages_of_a_worked_cut() {
    // derived: N 3, D 12, helix 38°, ap 9, ae 2.4, fz 0.07
    for (way, x, y) in [(Way::Down, 74.984_19, 151.0385), (Way::Up, -161.5328, -2.147_448)] {
        let arc = Arc::beside(12.0, 2.4, way).unwrap();
        let slices = [cylinder(12.0, 9.0, 38f64.to_radians(), arc)];
        let mean = cut(&slices, 3, 0.07).mean();
        close(mean.x_n, x, 1e-6);
        close(mean.y_n, y, 1e-6);
        close(mean.z_n, 22.408_05, 1e-6);
        close(mean.torque_n_mm, 864.4440, 1e-6);
        close(power_kw(mean.torque_n_mm, 200.0), 1.086_292, 1e-6);
    }
}

#[test]
fn peaks_of_a_worked_cut() {
    // derived: largest resultant of the same cut by a fine integration on discs, N
    for (way, right) in [(Way::Down, 301.5), (Way::Up, 288.8)] {
        let arc = Arc::beside(12.0, 2.4, way).unwrap();
        let slices = [cylinder(12.0, 9.0, 38f64.to_radians(), arc)];
        close(Revolution::new(&cut(&slices, 3, 0.07)).peaks().across_n, right, 1e-3);
    }
}

#[test]
fn histories_of_two_published_coefficient_sets() {
    // exact axial integration of each helical edge, derived; coefficients: review of milling-force
    // models for aviation aluminium, Chin. J. Mech. Eng. 2021, doi 10.1186/s10033-021-00536-9, table 5
    let alloy = Coefficients {
        ktc_n_mm2: 631.0,
        krc_n_mm2: 99.0,
        kac_n_mm2: 273.0,
        kte_n_mm: 13.0,
        kre_n_mm: 10.0,
        kae_n_mm: 2.8,
    };
    let slot = Arc::beside(10.0, 10.0, Way::Up).unwrap();
    let slices = [cylinder(10.0, 5.0, 30f64.to_radians(), slot)];
    let whole = Cut { law: alloy.into(), ..cut(&slices, 4, 0.1) };
    let peaks = Revolution::new(&whole).peaks();
    close(peaks.load.x_n, 153.999_28, 1e-4);
    close(peaks.load.y_n, 428.427_93, 1e-5);
    close(peaks.load.z_n, 218.370_19, 1e-5);
    close(peaks.across_n, 433.729_12, 1e-5);
    close(peaks.load.torque_n_mm, 2850.0657, 1e-5);
    close(whole.mean().torque_n_mm, 2658.5354, 1e-6);
}

#[test]
fn the_ripple_goes_where_the_edges_overlap_by_whole_pitches() {
    // derived: m π D / (N tan helix)
    let helix = 38f64.to_radians();
    let depth = PI * 12.0 / (3.0 * helix.tan());
    close(depth, 16.084_22, 1e-6);
    let arc = Arc::beside(12.0, 2.4, Way::Down).unwrap();
    let slices = [cylinder(12.0, depth, helix, arc)];
    let history = Revolution::new(&cut(&slices, 3, 0.07)).history(&Grid::new(3, 360));
    for load in &history {
        close(load.torque_n_mm, history[0].torque_n_mm, 1e-9);
    }
}

#[test]
fn a_ball_in_a_slot_has_its_closed_mean() {
    // derived: Fz = N fz Krc R sin² k/(2π), T = N fz Ktc R² (k − sin k cos k)/(2π), cos k = 1 − a/R
    let (radius, depth, n) = (6.0_f64, 0.5, 2000);
    let top = (1.0 - depth / radius).acos();
    let slices: Vec<Slice> = (0..n)
        .map(|i| {
            let kappa = top * (f64::from(i) + 0.5) / f64::from(n);
            Slice {
                z_mm: radius * (1.0 - kappa.cos()),
                radius_mm: radius * kappa.sin(),
                kappa_rad: kappa,
                width_mm: radius * top / f64::from(n),
                lag_rad: 0.3 * kappa,
                lag_span_rad: 0.3 * top / f64::from(n),
                entry_rad: 0.0,
                exit_rad: PI,
                entry_span_rad: 0.0,
                exit_span_rad: 0.0,
            }
        })
        .collect();
    let law = Coefficients { kac_n_mm2: 0.0, kte_n_mm: 0.0, kre_n_mm: 0.0, kae_n_mm: 0.0, ..LAW };
    let mean = Cut { law: law.into(), ..cut(&slices, 2, 0.08) }.mean();
    close(mean.z_n, 6.344_977, 1e-6);
    close(mean.torque_n_mm, 32.848_08, 1e-6);
}

#[test]
fn runout_moves_the_load_between_teeth_and_keeps_the_mean_torque_of_the_chips() {
    let arc = Arc::beside(12.0, 2.4, Way::Down).unwrap();
    let slices = [cylinder(12.0, 9.0, 38f64.to_radians(), arc)];
    let law = Coefficients { kte_n_mm: 0.0, kre_n_mm: 0.0, kae_n_mm: 0.0, ..LAW };
    let plain = Cut { law: law.into(), ..cut(&slices, 3, 0.2) };
    let runout = Runout { offset_mm: 0.004, angle_rad: 0.5 };
    let off = Cut { runout, ..plain.clone() };
    // every tooth still cuts nearly everywhere: chips sum up to the same
    close(off.mean().torque_n_mm, plain.mean().torque_n_mm, 0.01);
    let (a, b) = (Revolution::new(&plain).peaks(), Revolution::new(&off).peaks());
    assert!(b.across_n > 1.01 * a.across_n && b.chip_mm > a.chip_mm);
}

#[test]
fn chip_breakers_stagger_the_cut_and_double_chips_behind_grooves() {
    let arc = Arc::beside(12.0, 2.4, Way::Down).unwrap();
    let whole = cylinder(12.0, 18.0, 38f64.to_radians(), arc);
    let slices: Vec<Slice> = (0..360)
        .map(|i| Slice {
            z_mm: (f64::from(i) + 0.5) * 0.05,
            width_mm: 0.05,
            lag_rad: whole.lag_span_rad * (f64::from(i) + 0.5) / 360.0,
            lag_span_rad: whole.lag_span_rad / 360.0,
            ..whole
        })
        .collect();
    let law = Coefficients { kte_n_mm: 0.0, kre_n_mm: 0.0, kae_n_mm: 0.0, ..LAW };
    let plain = Cut { law: law.into(), ..cut(&slices, 3, 0.07) };
    let breaker = Some(ChipBreaker { pitch_mm: 3.0, groove_share: 0.2 });
    let broken = Cut { breaker, ..plain.clone() };
    close(broken.mean().torque_n_mm, plain.mean().torque_n_mm, 1e-9);
    let (a, b) = (Revolution::new(&plain).peaks(), Revolution::new(&broken).peaks());
    close(b.chip_mm, 2.0 * a.chip_mm, 1e-9);
}

/// Plain sums over many thin discs and angles: nothing shared with the code under test but the
/// formula of an element.
fn fine(
    law: &Coefficients,
    teeth: usize,
    feed: f64,
    d: f64,
    depth: f64,
    helix: f64,
    arc: Arc,
) -> (f64, f64) {
    let (discs, angles) = (2000, 4000);
    let mut mean = 0.0;
    let mut most: f64 = 0.0;
    for i in 0..angles {
        let (mut x, mut y) = (0.0, 0.0);
        for k in 0..discs {
            let z = depth * (f64::from(k) + 0.5) / f64::from(discs);
            for j in 0..teeth {
                let phi = TAU * f64::from(i) / f64::from(angles)
                    - TAU * j as f64 / teeth as f64
                    - 2.0 * z * helix.tan() / d;
                let phi = phi.rem_euclid(TAU);
                if phi < arc.entry_rad || phi > arc.exit_rad {
                    continue;
                }
                let dz = depth / f64::from(discs);
                let h = feed * phi.sin();
                let ft = (law.ktc_n_mm2 * h + law.kte_n_mm) * dz;
                let fr = (law.krc_n_mm2 * h + law.kre_n_mm) * dz;
                x += -ft * phi.cos() - fr * phi.sin();
                y += ft * phi.sin() - fr * phi.cos();
            }
        }
        most = most.max(x.hypot(y));
        mean += x.hypot(y) / f64::from(angles);
    }
    (mean, most)
}

#[test]
fn peaks_agree_with_a_fine_integration() {
    for (teeth, d, helix, ae, depth, way) in [
        (2, 6.0, 30.0, 0.4, 4.0, Way::Down),
        (4, 10.0, 45.0, 5.0, 7.0, Way::Up),
        (3, 16.0, 10.0, 16.0, 2.0, Way::Down),
    ] {
        let arc = Arc::beside(d, ae, way).unwrap();
        let helix = f64::to_radians(helix);
        let slices = [cylinder(d, depth, helix, arc)];
        let peaks = Revolution::new(&cut(&slices, teeth, 0.06)).peaks();
        let (mean, most) = fine(&LAW, teeth, 0.06, d, depth, helix, arc);
        close(peaks.across_n, most, 0.005);
        close(peaks.mean_across_n, mean, 0.002);
    }
}

#[test]
fn teeth_in_the_cut_are_counted() {
    let arc = Arc::beside(10.0, 10.0, Way::Down).unwrap();
    let slices = [cylinder(10.0, 5.0, 30f64.to_radians(), arc)];
    let peaks = Revolution::new(&cut(&slices, 4, 0.1)).peaks();
    assert_eq!((peaks.teeth_min, peaks.teeth_max), (2, 3));
    let thin = Arc::beside(10.0, 0.2, Way::Down).unwrap();
    let slices = [cylinder(10.0, 1.0, 30f64.to_radians(), thin)];
    let peaks = Revolution::new(&cut(&slices, 2, 0.1)).peaks();
    assert_eq!((peaks.teeth_min, peaks.teeth_max), (0, 1));
}

fn difference(a: &Load, b: &Load) -> f64 {
    let scale = b.across_n().max(b.torque_n_mm.abs());
    let parts = [a.x_n - b.x_n, a.y_n - b.y_n, a.z_n - b.z_n, a.torque_n_mm - b.torque_n_mm];
    parts.iter().fold(0.0_f64, |m, v| m.max(v.abs())) / scale
}

proptest! {
    #[test]
    fn helical_means_are_the_closed_averages(
        d in 1.0..25.0_f64, share in 0.005..1.0_f64, depth in 0.1..40.0_f64, teeth in 1usize..8,
        helix in 0.0..55.0_f64, feed in 0.005..0.4_f64, up in any::<bool>(),
    ) {
        let way = if up { Way::Up } else { Way::Down };
        let arc = Arc::beside(d, share * d, way).unwrap();
        let slices = [cylinder(d, depth, helix.to_radians(), arc)];
        let cut = cut(&slices, teeth, feed);
        let closed = cylinder_mean(&LAW, teeth, feed, d, depth, arc);
        prop_assert!(difference(&cut.mean(), &closed) < 1e-9);
        // and the history has the same mean, at the order of its grid
        let history = Revolution::new(&cut).history(&Grid::new(teeth, 20_000));
        let n = history.len() as f64;
        let mean = Load {
            x_n: history.iter().map(|l| l.x_n).sum::<f64>() / n,
            y_n: history.iter().map(|l| l.y_n).sum::<f64>() / n,
            z_n: history.iter().map(|l| l.z_n).sum::<f64>() / n,
            torque_n_mm: history.iter().map(|l| l.torque_n_mm).sum::<f64>() / n,
        };
        let bound = if helix > 1.0 { 1e-4 } else { 2e-2 };
        prop_assert!(difference(&mean, &closed) < bound, "{mean:?} {closed:?}");
    }

    #[test]
    fn the_grid_agrees_with_single_angles(
        d in 2.0..20.0_f64, share in 0.02..1.0_f64, depth in 0.2..60.0_f64, teeth in 1usize..6,
        helix in 0.0..50.0_f64, offset in 0.0..0.02_f64, lambda in 0.0..6.0_f64,
    ) {
        let arc = Arc::beside(d, share * d, Way::Down).unwrap();
        let slices = [cylinder(d, depth, helix.to_radians(), arc)];
        let runout = Runout { offset_mm: offset, angle_rad: lambda };
        let revolution = Revolution::new(&Cut { runout, ..cut(&slices, teeth, 0.05) });
        let history = revolution.history(&Grid::new(teeth, 360));
        for (i, load) in history.iter().enumerate().step_by(17) {
            let single = revolution.at(TAU * i as f64 / history.len() as f64);
            let scale = single.across_n().max(1.0);
            prop_assert!((load.x_n - single.x_n).abs() < 1e-8 * scale);
            prop_assert!((load.y_n - single.y_n).abs() < 1e-8 * scale);
            prop_assert!((load.torque_n_mm - single.torque_n_mm).abs() < 1e-8 * scale * d);
        }
    }

    #[test]
    fn a_cylinder_of_many_slices_is_one_slice(
        d in 2.0..20.0_f64, share in 0.02..1.0_f64, depth in 0.2..20.0_f64, helix in 1.0..50.0_f64,
    ) {
        let arc = Arc::beside(d, share * d, Way::Up).unwrap();
        let whole = cylinder(d, depth, helix.to_radians(), arc);
        let many: Vec<Slice> = (0..40).map(|i| {
            let f = (f64::from(i) + 0.5) / 40.0;
            Slice { z_mm: f * depth, width_mm: depth / 40.0, kappa_rad: FRAC_PI_2,
                lag_rad: f * whole.lag_span_rad, lag_span_rad: whole.lag_span_rad / 40.0, ..whole }
        }).collect();
        let one = [whole];
        let (a, b) = (Revolution::new(&cut(&one, 3, 0.1)), Revolution::new(&cut(&many, 3, 0.1)));
        for i in 0..50 {
            let angle = 0.13 * f64::from(i);
            prop_assert!(difference(&b.at(angle), &a.at(angle)) < 1e-9 || a.at(angle).across_n() < 1e-9);
        }
    }
}

#[test]
fn runout_turns_along_a_helical_edge() {
    // an independent integration of the same cut found 186.2 N; the offset at mid-helix gives 177.0
    let arc = Arc::beside(10.0, 1.0, Way::Down).unwrap();
    let whole = cylinder(10.0, 15.0, 30f64.to_radians(), arc);
    let runout = Runout { offset_mm: 0.01, angle_rad: 0.0 };
    let slices = [whole];
    let one = Cut { runout, ..cut(&slices, 2, 0.05) };
    let many: Vec<Slice> = (0..500)
        .map(|i| {
            let f = (f64::from(i) + 0.5) / 500.0;
            Slice {
                z_mm: 15.0 * f,
                width_mm: 15.0 / 500.0,
                lag_rad: f * whole.lag_span_rad,
                lag_span_rad: whole.lag_span_rad / 500.0,
                ..whole
            }
        })
        .collect();
    let finer = Cut { slices: &many, ..one.clone() };
    close(one.mean().y_n, finer.mean().y_n, 1e-3);
    let peak = |c: &Cut<'_>| Revolution::new(c).peaks().across_n;
    close(peak(&one), peak(&finer), 2e-3);
}

/// `∫ sinᵖ φ dφ` from 0 by the substitution φ = t⁴ and Simpson's rule, independent of the code under test.
fn sine_power(p: f64, to_rad: f64) -> f64 {
    let n = 20_000;
    let end = to_rad.powf(0.25);
    let f = |i: usize| {
        let t = end * i as f64 / n as f64;
        t.powi(4).sin().abs().powf(p) * 4.0 * t.powi(3)
    };
    let inner = |i: usize| f(i) * if i % 2 == 1 { 4.0 } else { 2.0 };
    (f(0) + f(n) + (1..n).map(inner).sum::<f64>()) * end / (3.0 * n as f64)
}

#[test]
fn means_of_a_power_law_are_those_of_a_numeric_integral() {
    let (d, depth, teeth, feed) = (12.0, 8.0, 3, 0.09);
    for (ae, mc, helix) in [(1.0, 0.25, 30.0), (5.0, 0.17, 40.0), (12.0, 0.32, 0.0)] {
        let arc = Arc::beside(d, ae, Way::Up).unwrap();
        let slices = [cylinder(d, depth, f64::to_radians(helix), arc)];
        let law = PowerLaw { kc11_n_mm2: 1700.0, mc, radial_ratio: 0.45, axial_ratio: 0.2 };
        let cut = Cut { law: CuttingLaw::Power(law), ..cut(&slices, teeth, feed) };
        let per_tooth = law.kc11_n_mm2 * feed.powf(1.0 - mc) * sine_power(1.0 - mc, arc.exit_rad);
        let force = teeth as f64 * depth * per_tooth / TAU;
        close(cut.mean().torque_n_mm, 0.5 * d * force, 1e-6);
        close(cut.mean().z_n, 0.2 * force, 1e-6);
        // and along the revolution, where fewer lines stand for the law
        let history = Revolution::new(&cut).history(&Grid::new(teeth, 7200));
        let mean = history.iter().map(|l| l.torque_n_mm).sum::<f64>() / history.len() as f64;
        close(mean, 0.5 * d * force, if helix > 0.0 { 2e-4 } else { 2e-3 });
    }
}

#[test]
fn forces_by_height_add_up_to_the_force() {
    let arc = Arc::beside(12.0, 3.0, Way::Down).unwrap();
    let slices = [cylinder(12.0, 9.0, 0.5, arc)];
    let runout = Runout { offset_mm: 0.01, angle_rad: 0.2 };
    let revolution = Revolution::new(&Cut { runout, ..cut(&slices, 3, 0.08) });
    for i in 0..40 {
        let angle = 0.31 * f64::from(i);
        let parts = revolution.across_by_height(angle);
        let sum: f64 = parts.iter().map(|p| p.force_n).sum();
        assert!((sum - revolution.at(angle).y_n).abs() < 1e-9 * sum.abs().max(1.0));
        assert!(parts.iter().all(|p| p.z_mm > 0.0 && p.z_mm < 9.0));
    }
}

/// A feed that runs along the axis as well, in places where the sine is below 0 too, without and with
/// runout: against a sum of its own over many angles.
#[test]
fn a_sloping_feed_is_the_sum_over_its_angles() {
    let slice = |kappa: f64, entry: f64, exit: f64| Slice {
        z_mm: 1.0,
        radius_mm: 3.0,
        kappa_rad: kappa,
        width_mm: 0.8,
        lag_rad: 0.1,
        lag_span_rad: 0.0,
        entry_rad: entry,
        exit_rad: exit,
        entry_span_rad: 0.0,
        exit_span_rad: 0.0,
    };
    let slices =
        [slice(0.3, 3.5, 6.0), slice(0.9, 0.2, 2.8), slice(0.0, 0.0, TAU), slice(0.5, 1.0, 5.5)];
    for (fz, fa) in [(0.08, -0.03), (0.08, 0.02), (0.05, -0.2)] {
        let whole = Cut { axial_feed_mm: fa, ..cut(&slices, 3, fz) };
        let (mut sum, n) = ([0.0; 4], 40_000);
        for s in &slices {
            for i in 0..n {
                let phi = TAU * (i as f64 + 0.5) / n as f64;
                let (sk, ck) = s.kappa_rad.sin_cos();
                let chip = fz * sk * phi.sin() - fa * ck;
                if chip <= 0.0 || phi < s.entry_rad || phi > s.exit_rad {
                    continue;
                }
                let t = LAW.ktc_n_mm2 * chip + LAW.kte_n_mm;
                let r = LAW.krc_n_mm2 * chip + LAW.kre_n_mm;
                let a = LAW.kac_n_mm2 * chip + LAW.kae_n_mm;
                let out = a * ck - r * sk;
                let here = [
                    out * phi.sin() - t * phi.cos(),
                    out * phi.cos() + t * phi.sin(),
                    r * ck + a * sk,
                    s.radius_mm * t,
                ];
                (0..4).for_each(|k| sum[k] += here[k] * s.width_mm * 3.0 / f64::from(n));
            }
        }
        let mean = whole.mean();
        for (found, right) in [mean.x_n, mean.y_n, mean.z_n, mean.torque_n_mm].into_iter().zip(sum)
        {
            assert!(
                (found - right).abs() < 2e-3 * sum[3].abs().max(1.0),
                "{found} {right} {fz} {fa}"
            );
        }
        let peaks = Revolution::new(&whole).peaks();
        assert!(peaks.across_n >= mean.across_n() && peaks.across_n.is_finite());
        let thickest = mechanics::chip::over_sloping(&slices, fz, fa).unwrap().max_mm;
        assert!((whole.thickest_mm() - thickest).abs() < 1e-9, "{thickest}");
        // a runout that is hardly there changes hardly anything
        let runout = Runout { offset_mm: 1e-9, angle_rad: 0.3 };
        let with = Cut { runout, ..whole.clone() }.mean();
        close(with.torque_n_mm, mean.torque_n_mm, 1e-5);
        close(with.z_n, mean.z_n, 1e-5);
    }
    // along the axis alone every tooth takes the feed under a flat bottom
    let drill = Cut { axial_feed_mm: -0.1, ..cut(&slices[2..3], 3, 0.0) };
    let steady = 3.0 * (LAW.krc_n_mm2 * 0.1 + LAW.kre_n_mm) * 0.8;
    close(drill.mean().z_n, steady, 1e-9);
    close(drill.thickest_mm(), 0.1, 1e-8);
}
