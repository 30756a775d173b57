//! The boundary as a root: depth and phase at which a multiplier e^(iθ) exists.
//!
//! In a motion with multiplier μ the delayed displacement is the present one over μ, so that no past
//! needs to be kept: Φ(κ) with κ = a (1 − 1/μ) takes the modes over a period, and det(Φ(κ) − μ) = 0 is
//! solved for a and θ by Newton's method. The matrix has only two rows a mode, so that fine steps are
//! cheap.

use super::period::Period;
use num_complex::Complex64;
use std::f64::consts::{PI, TAU};

/// A depth at the boundary and the phase of its multiplier.
#[derive(Debug, Clone, Copy)]
pub(super) struct Root {
    pub(super) depth_mm: f64,
    pub(super) theta_rad: f64,
}

/// Newton steps at most.
const MOST_STEPS: usize = 25;
/// Relative change that ends the iteration.
const SETTLED: f64 = 1e-11;
/// Step of the difference quotients, relative.
const NUDGE: f64 = 1e-6;

type ComplexMatrix = Vec<Vec<Complex64>>;

/// The root near a start; `None` where the iteration leaves its surroundings.
pub(super) fn root(period: &Period, start: Root) -> Option<Root> {
    let Root { mut depth_mm, mut theta_rad } = start;
    let flip = (PI - theta_rad).abs() < 1e-9;
    for _ in 0..MOST_STEPS {
        let f = characteristic(period, depth_mm, theta_rad);
        let nudge = NUDGE * depth_mm;
        let by_depth = (characteristic(period, depth_mm + nudge, theta_rad) - f) / nudge;
        let by_theta = if flip {
            // stays on the real axis
            Complex64::I * by_depth.norm()
        } else {
            (characteristic(period, depth_mm, theta_rad + NUDGE) - f) / NUDGE
        };
        let det = by_depth.re * by_theta.im - by_depth.im * by_theta.re;
        let by = (f.re * by_theta.im - f.im * by_theta.re) / det;
        let turn = (by_depth.re * f.im - by_depth.im * f.re) / det;
        if !by.is_finite() || !turn.is_finite() {
            return None;
        }
        // half a depth or half a radian is as far as one step may go
        let short = (0.5 * depth_mm / by.abs()).min(0.5 / turn.abs()).min(1.0);
        depth_mm -= short * by;
        if !flip {
            theta_rad -= short * turn;
        }
        if by.abs() < SETTLED * depth_mm && turn.abs() < 1e3 * SETTLED {
            let turned = theta_rad.rem_euclid(TAU);
            return Some(Root { depth_mm, theta_rad: turned.min(TAU - turned) });
        }
    }
    None
}

/// det(Φ − μ).
fn characteristic(period: &Period, depth_mm: f64, theta_rad: f64) -> Complex64 {
    let mu = Complex64::cis(theta_rad);
    let mut matrix = transition(period, depth_mm * (1.0 - mu.inv()));
    for (i, row) in matrix.iter_mut().enumerate() {
        row[i] -= mu;
    }
    determinant(matrix)
}

/// Φ(κ), row by row.
fn transition(period: &Period, kappa_mm: Complex64) -> ComplexMatrix {
    let modes = period.swings.first().map_or(0, |(_, swings)| swings.len());
    let feedback = Feedback::new(period, kappa_mm);
    let mut out = vec![vec![Complex64::ZERO; 2 * modes]; 2 * modes];
    for j in 0..2 * modes {
        let mut state = vec![Complex64::ZERO; 2 * modes];
        state[j] = Complex64::ONE;
        feedback.run(&mut state, |_, _| {});
        for (i, value) in state.into_iter().enumerate() {
            out[i][j] = value;
        }
    }
    out
}

/// Force per mean displacement in every step, for one κ.
struct Feedback<'a> {
    period: &'a Period,
    steps: Vec<Option<[[Complex64; 2]; 2]>>,
}

impl<'a> Feedback<'a> {
    fn new(period: &'a Period, kappa_mm: Complex64) -> Self {
        let of_step = |step: &super::period::Step| {
            let gain = step.gain_n_mm2?.map(|row| row.map(|v| kappa_mm * v));
            let give = &period.give[step.length];
            let entry = |i: usize, j: usize| f64::from(u8::from(i == j)) - gain[i][j] * give[j];
            let (a, b, c, d) = (entry(0, 0), entry(0, 1), entry(1, 0), entry(1, 1));
            let share = (a * d - b * c).inv();
            let row = |p: Complex64, q: Complex64| {
                [0, 1].map(|j| share * (p * gain[0][j] + q * gain[1][j]))
            };
            Some([row(d, -b), row(-c, a)])
        };
        let steps = period.steps.iter().map(of_step).collect();
        Self { period, steps }
    }

    /// Moves a state over the period; `see` is told the index of each step and the force in it.
    fn run(&self, state: &mut [Complex64], mut see: impl FnMut(usize, [Complex64; 2])) {
        for (index, (step, feedback)) in self.period.steps.iter().zip(&self.steps).enumerate() {
            let (_, swings) = &self.period.swings[step.length];
            let mut force = [Complex64::ZERO; 2];
            if let Some(feedback) = feedback {
                let mut mean = [Complex64::ZERO; 2];
                for (swing, s) in swings.iter().zip(state.chunks_exact(2)) {
                    let next = s[0] * swing.free[0][0] + s[1] * swing.free[0][1];
                    mean[swing.axis] += 0.5 * (s[0] + next);
                }
                for axis in 0..2 {
                    force[axis] = feedback[axis][0] * mean[0] + feedback[axis][1] * mean[1];
                }
            }
            see(index, force);
            for (swing, s) in swings.iter().zip(state.chunks_exact_mut(2)) {
                let push = force[swing.axis];
                let displacement =
                    s[0] * swing.free[0][0] + s[1] * swing.free[0][1] + push * swing.forced[0];
                s[1] = s[0] * swing.free[1][0] + s[1] * swing.free[1][1] + push * swing.forced[1];
                s[0] = displacement;
            }
        }
    }
}

/// Determinant by elimination with row exchange.
fn determinant(mut a: ComplexMatrix) -> Complex64 {
    let size = a.len();
    let mut product = Complex64::ONE;
    for k in 0..size {
        let pivot = (k..size).max_by(|i, j| a[*i][k].norm().total_cmp(&a[*j][k].norm()));
        let Some(pivot) = pivot.filter(|p| a[*p][k].norm() > 0.0) else {
            return Complex64::ZERO;
        };
        if pivot != k {
            a.swap(pivot, k);
            product = -product;
        }
        product *= a[k][k];
        let (above, below) = a.split_at_mut(k + 1);
        for row in below {
            let share = row[k] / above[k][k];
            for (value, upper) in row.iter_mut().zip(&above[k]).skip(k) {
                *value -= share * upper;
            }
        }
    }
    product
}

/// The vector that `a` takes to nearly nothing, by inverse iteration.
fn null_vector(a: &ComplexMatrix) -> Vec<Complex64> {
    let size = a.len();
    let mut vector: Vec<Complex64> =
        (0..size).map(|i| Complex64::new(1.0, 0.37 * (i as f64 + 1.0))).collect();
    for _ in 0..3 {
        let solved = solve(a.clone(), vector);
        let length = solved.iter().map(|v| v.norm_sqr()).sum::<f64>().sqrt();
        vector = solved.into_iter().map(|v| v / length).collect();
    }
    vector
}

/// Solves by elimination; a pivot that vanishes is taken as tiny, as inverse iteration wants it.
fn solve(mut a: ComplexMatrix, mut b: Vec<Complex64>) -> Vec<Complex64> {
    let size = a.len();
    let largest = a.iter().flatten().map(|v| v.norm()).fold(0.0, f64::max);
    let tiny = f64::EPSILON * largest.max(f64::MIN_POSITIVE);
    for k in 0..size {
        let pivot = (k..size).max_by(|i, j| a[*i][k].norm().total_cmp(&a[*j][k].norm()));
        let pivot = pivot.unwrap_or(k);
        a.swap(pivot, k);
        b.swap(pivot, k);
        if a[k][k].norm() < tiny {
            a[k][k] = Complex64::new(tiny, 0.0);
        }
        for i in k + 1..size {
            let share = a[i][k] / a[k][k];
            for j in k..size {
                let upper = a[k][j];
                a[i][j] -= share * upper;
            }
            let upper = b[k];
            b[i] -= share * upper;
        }
    }
    for k in (0..size).rev() {
        let known: Complex64 = (k + 1..size).map(|j| a[k][j] * b[j]).sum();
        b[k] = (b[k] - known) / a[k][k];
    }
    b
}

/// The strongest frequency of the motion at the boundary, Hz.
///
/// The motion is e^(iθt/T) times a function of the tooth period. Its share at (θ + 2πk)/T is
/// G(iω) times that of the force, and the force is known step by step: so every harmonic is exact for
/// the stepped force and free motion needs no samples.
pub(super) fn chatter_hz(
    period: &Period,
    root: Root,
    response: impl Fn(f64) -> [Complex64; 2],
    highest_rad_s: f64,
) -> f64 {
    let mu = Complex64::cis(root.theta_rad);
    let kappa = root.depth_mm * (1.0 - mu.inv());
    let mut matrix = transition(period, kappa);
    for (i, row) in matrix.iter_mut().enumerate() {
        row[i] -= mu;
    }
    let mut state = null_vector(&matrix);
    let mut forces = vec![[Complex64::ZERO; 2]; period.steps.len()];
    Feedback::new(period, kappa).run(&mut state, |index, force| forces[index] = force);
    let most = (2.0 * highest_rad_s * period.time_s / TAU).ceil() as i64 + 3;
    let mut best = (0.0, 0.0);
    for whole in -most..=most {
        let omega = (root.theta_rad + TAU * whole as f64) / period.time_s;
        let share = force_share(period, &forces, omega);
        let give = response(omega);
        let size = (0..2).map(|axis| (give[axis] * share[axis]).norm_sqr()).sum::<f64>();
        if size > best.0 {
            best = (size, omega.abs() / TAU);
        }
    }
    best.1
}

/// ∫ F e^(−iωt) dt over the period with a steady force in each step.
fn force_share(period: &Period, forces: &[[Complex64; 2]], omega_rad_s: f64) -> [Complex64; 2] {
    let mut time_s = 0.0;
    let mut sum = [Complex64::ZERO; 2];
    for (step, force) in period.steps.iter().zip(forces) {
        let length_s = period.swings[step.length].0;
        let half = 0.5 * omega_rad_s * length_s;
        let width = if half.abs() < 1e-8 { length_s } else { length_s * half.sin() / half };
        let turned = Complex64::cis(-omega_rad_s * (time_s + 0.5 * length_s)) * width;
        sum[0] += force[0] * turned;
        sum[1] += force[1] * turned;
        time_s += length_s;
    }
    sum
}
