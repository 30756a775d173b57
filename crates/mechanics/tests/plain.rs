//! The forces over a revolution against the plain sum over edges, angles and slices.
#![allow(clippy::unwrap_used, reason = "tests")]

mod support;

use mechanics::chip::Runout;
use mechanics::engagement::Slice;
use mechanics::force::{Cut, Grid, Revolution};
use proptest::prelude::*;
use std::f64::consts::{PI, TAU};
use support::LAW;

const SLICES: usize = 50;
const ANGLES: usize = 360;

/// Thin rings of a ball of 5 mm radius, each with its own entry and exit.
fn ball(entry: f64, exit: f64, bend: f64) -> Vec<Slice> {
    let ring = |i: usize| {
        let kappa_rad = 1.2 * (i as f64 + 0.5) / SLICES as f64;
        Slice {
            z_mm: 5.0 * (1.0 - kappa_rad.cos()),
            radius_mm: 5.0 * kappa_rad.sin(),
            kappa_rad,
            width_mm: 0.12,
            lag_rad: 0.5 * kappa_rad,
            lag_span_rad: 0.0,
            entry_rad: (entry - bend * kappa_rad).max(0.0),
            exit_rad: exit,
            entry_span_rad: 0.0,
            exit_span_rad: 0.0,
        }
    };
    (0..SLICES).map(ring).collect()
}

/// x, y, z and torque, edge by edge and slice by slice: the chip is what is left by the edge that cut
/// deepest in the turn before (theory of a parallel offset), and none where that is nothing.
fn plain(cut: &Cut<'_>, angle_rad: f64) -> [f64; 4] {
    let n = cut.teeth;
    let mut sum = [0.0; 4];
    for edge in 0..n {
        for s in cut.slices {
            let phi = (angle_rad - TAU * edge as f64 / n as f64 - s.lag_rad).rem_euclid(TAU);
            if phi < s.entry_rad || phi > s.exit_rad {
                continue;
            }
            let out = |j: usize| {
                let turn = cut.runout.angle_rad + TAU * j as f64 / n as f64 + s.lag_rad;
                cut.runout.offset_mm * turn.cos()
            };
            let (sin_k, cos_k) = s.kappa_rad.sin_cos();
            let chip = (1..=n)
                .map(|m| {
                    let before = (edge + n - m) % n;
                    (m as f64 * cut.feed_per_tooth_mm * phi.sin() + out(edge) - out(before)) * sin_k
                })
                .fold(f64::INFINITY, f64::min);
            if chip <= 0.0 {
                continue;
            }
            let t = (LAW.ktc_n_mm2 * chip + LAW.kte_n_mm) * s.width_mm;
            let r = (LAW.krc_n_mm2 * chip + LAW.kre_n_mm) * s.width_mm;
            let a = (LAW.kac_n_mm2 * chip + LAW.kae_n_mm) * s.width_mm;
            let outward = a * cos_k - r * sin_k;
            sum[0] += outward * phi.sin() - t * phi.cos();
            sum[1] += outward * phi.cos() + t * phi.sin();
            sum[2] += r * cos_k + a * sin_k;
            sum[3] += t * s.radius_mm;
        }
    }
    sum
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn the_history_is_the_plain_sum(
        entry in 0.0..3.0_f64, arc in 0.05..3.0_f64, bend in 0.0..0.5_f64, teeth in 1usize..5,
        offset in prop_oneof![Just(0.0), 0.0..0.05_f64], turned in 0.0..6.0_f64,
    ) {
        let slices = ball(entry, (entry + arc).min(PI), bend);
        let runout = Runout { offset_mm: offset, angle_rad: turned };
        let cut = Cut {
            slices: &slices, teeth, feed_per_tooth_mm: 0.08, law: LAW.into(), runout, axial_feed_mm: 0.0, breaker: None,
        };
        let history = Revolution::new(&cut).history(&Grid::new(teeth, ANGLES));
        let right: Vec<[f64; 4]> = (0..history.len())
            .map(|i| plain(&cut, TAU * i as f64 / history.len() as f64))
            .collect();
        let largest = |k: usize| right.iter().map(|v| v[k].abs()).fold(1.0, f64::max);
        for (found, right) in history.iter().zip(&right) {
            let found = [found.x_n, found.y_n, found.z_n, found.torque_n_mm];
            for k in 0..4 {
                prop_assert!((found[k] - right[k]).abs() < 1e-6 * largest(k), "{found:?} {right:?}");
            }
        }
    }
}
