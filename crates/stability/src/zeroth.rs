//! Zeroth order: the directional matrix replaced by its mean over a revolution.
//!
//! With Λ(ω) an eigenvalue of A0 G(iω), the limit solves ½ a Kt Λ (1 − e^(−iωT)) = 1. Taking the modulus
//! of e^(−iωT) = 1 − 2/(a Kt Λ) gives a = 1/(Kt Re Λ) and leaves e^(−iωT) = −Λ̄/Λ, that is
//! ωT = π + 2 arg Λ + 2πk. So depth and phase are functions of ω alone; at a speed the limit is the
//! smallest depth at which the phase fits for some whole k. All eigenvalues and all ω are looked at.
//! Derived.

use crate::cut::{Cut, Matrix2};
use crate::limit::{Kind, Limit};
use crate::response::{Axis, Structure};
use num_complex::Complex64;
use std::f64::consts::{PI, TAU};

/// Points of the grid within a half-power bandwidth of a mode.
const POINTS_PER_BANDWIDTH: f64 = 24.0;
/// Largest ratio of neighbouring frequencies of the grid.
const COARSEST: f64 = 1.004;
/// Points between two rows of a measured response.
const POINTS_PER_ROW: usize = 4;
/// Halvings of the bracket of a root.
const HALVINGS: usize = 60;

/// Eigenvalues over frequency: one chart serves every speed in its range.
#[derive(Debug, Clone)]
pub struct Chart<'a> {
    structure: &'a Structure,
    cut: Cut,
    mean: Matrix2,
    omegas_rad_s: Vec<f64>,
    /// Both eigenvalues, each continued along the grid.
    eigenvalues: Vec<[Complex64; 2]>,
}

impl<'a> Chart<'a> {
    /// Charts the eigenvalues for speeds from `slowest_rpm` to `fastest_rpm`.
    pub fn new(structure: &'a Structure, cut: &Cut, slowest_rpm: f64, fastest_rpm: f64) -> Self {
        let mean = cut.mean_matrix();
        let wave_rad_s = TAU / cut.tooth_period_s(fastest_rpm);
        let lowest_rad_s = 0.2 * PI / cut.tooth_period_s(slowest_rpm);
        let omegas = grid(structure, lowest_rad_s, 2.0 * wave_rad_s);
        let mut chart = Self {
            structure,
            cut: *cut,
            mean,
            omegas_rad_s: Vec::with_capacity(omegas.len()),
            eigenvalues: Vec::with_capacity(omegas.len()),
        };
        for omega in omegas {
            let Some(found) = chart.at(omega) else { continue };
            let continued = match chart.eigenvalues.last() {
                Some(before) => continued(before, found),
                None => found,
            };
            chart.omegas_rad_s.push(omega);
            chart.eigenvalues.push(continued);
        }
        chart
    }

    /// Both eigenvalues of A0 G(iω), mm/N; `None` outside a measured band.
    fn at(&self, omega_rad_s: f64) -> Option<[Complex64; 2]> {
        let [gx, gy] = self.structure.response(omega_rad_s)?;
        let m = &self.mean;
        let (a, b, c, d) = (gx * m[0][0], gy * m[0][1], gx * m[1][0], gy * m[1][1]);
        let (half_sum, half_gap) = (0.5 * (a + d), 0.5 * (a - d));
        let root = (half_gap * half_gap + b * c).sqrt();
        Some([half_sum + root, half_sum - root])
    }

    /// The limit at a speed; `None` where no frequency of the chart chatters at any depth.
    pub fn limit(&self, speed_rpm: f64) -> Option<Limit> {
        let period_s = self.cut.tooth_period_s(speed_rpm);
        let mut best: Option<Limit> = None;
        for branch in 0..2 {
            for i in 1..self.omegas_rad_s.len() {
                self.between(i, branch, period_s, &mut best);
            }
        }
        best
    }

    /// Takes into `best` what lies between two neighbours of the grid.
    fn between(&self, i: usize, branch: usize, period_s: f64, best: &mut Option<Limit>) {
        let (low, high) = (self.eigenvalues[i - 1][branch], self.eigenvalues[i][branch]);
        let largest_re = low.re.max(high.re);
        if !(largest_re > 0.0) {
            return;
        }
        // a little is left for the eigenvalue that bulges between the two
        let least_mm = 1.0 / (self.cut.kt_n_mm2 * largest_re * 1.05);
        if best.is_some_and(|b| b.depth_mm < least_mm) {
            return;
        }
        let omegas = [self.omegas_rad_s[i - 1], self.omegas_rad_s[i]];
        let turns = [turns(omegas[0], low, period_s), turns(omegas[1], high, period_s)];
        let (first, last) =
            (turns[0].min(turns[1]).ceil() as i64, turns[0].max(turns[1]).floor() as i64);
        for whole in first..=last {
            if let Some(limit) = self.root(omegas, [low, high], period_s, whole as f64)
                && best.is_none_or(|b| limit.depth_mm < b.depth_mm)
            {
                *best = Some(limit);
            }
        }
    }

    /// The frequency between two neighbours at which the phase makes a whole number of turns.
    fn root(
        &self,
        omegas: [f64; 2],
        ends: [Complex64; 2],
        period_s: f64,
        whole: f64,
    ) -> Option<Limit> {
        let rising = turns(omegas[1], ends[1], period_s) > turns(omegas[0], ends[0], period_s);
        let ([mut low, mut high], [mut at_low, mut at_high]) = (omegas, ends);
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            let found = self.at(middle)?;
            let expected = 0.5 * (at_low + at_high);
            let nearer = usize::from((found[1] - expected).norm() < (found[0] - expected).norm());
            let value = found[nearer];
            if (turns(middle, value, period_s) > whole) == rising {
                (high, at_high) = (middle, value);
            } else {
                (low, at_low) = (middle, value);
            }
        }
        let depth_mm = 1.0 / (self.cut.kt_n_mm2 * at_low.re);
        (at_low.re > 0.0 && depth_mm.is_finite()).then_some(Limit {
            depth_mm,
            chatter_hz: low / TAU,
            kind: Kind::Hopf,
        })
    }
}

/// Turns by which the phase misses: a root where it is whole.
fn turns(omega_rad_s: f64, eigenvalue: Complex64, period_s: f64) -> f64 {
    (omega_rad_s * period_s - PI - 2.0 * eigenvalue.arg()) / TAU
}

/// The pair in the order that continues `before`.
fn continued(before: &[Complex64; 2], found: [Complex64; 2]) -> [Complex64; 2] {
    let straight = (found[0] - before[0]).norm() + (found[1] - before[1]).norm();
    let crossed = (found[1] - before[0]).norm() + (found[0] - before[1]).norm();
    if crossed < straight { [found[1], found[0]] } else { found }
}

/// Frequencies, rad/s: dense near the modes, never coarser than a fixed ratio, and on the rows of
/// what was measured; from `lowest` to some waves above the highest mode.
fn grid(structure: &Structure, lowest_rad_s: f64, above_rad_s: f64) -> Vec<f64> {
    let mut omegas = Vec::new();
    let mut highest: f64 = 0.0;
    let mut lowest = lowest_rad_s;
    for axis in structure.axes() {
        for mode in axis.modes().unwrap_or_default() {
            near_mode(mode.omega_rad_s(), mode.damping, &mut omegas);
            highest = highest.max(mode.omega_rad_s());
            lowest = lowest.min(0.2 * mode.omega_rad_s());
        }
        if let Axis::Measured(measured) = axis {
            for row in measured.omegas_rad_s().windows(2) {
                let part = (row[1] - row[0]) / POINTS_PER_ROW as f64;
                omegas.extend((0..POINTS_PER_ROW).map(|i| row[0] + part * i as f64));
            }
            omegas.extend(measured.omegas_rad_s().last());
            highest = highest.max(measured.omegas_rad_s().last().copied().unwrap_or(0.0));
        }
    }
    let end = 3.0 * highest + above_rad_s;
    let mut omega = lowest;
    while omega < end {
        omegas.push(omega);
        omega *= COARSEST;
    }
    omegas.retain(|w| *w > 0.0 && *w <= end);
    omegas.sort_by(f64::total_cmp);
    omegas.dedup();
    omegas
}

/// Frequencies around a mode: spaced by a share of the bandwidth, wider with the distance.
fn near_mode(omega_rad_s: f64, damping: f64, omegas: &mut Vec<f64>) {
    omegas.push(omega_rad_s);
    let step = 2.0 * damping * omega_rad_s / POINTS_PER_BANDWIDTH;
    let mut away = step;
    while away < omega_rad_s {
        omegas.extend([omega_rad_s - away, omega_rad_s + away]);
        away += step.max(away / POINTS_PER_BANDWIDTH);
    }
}
