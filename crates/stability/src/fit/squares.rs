//! Damped least squares for a sum of modes and a rest.

use crate::response::Mode;
use num_complex::Complex64;
use std::f64::consts::TAU;

/// Rounds at most.
const MOST_ROUNDS: usize = 200;
/// Relative fall of the sum of squares that counts as none.
const SETTLED: f64 = 1e-12;
/// Damping of the squares at the start, and at most.
const FIRST: f64 = 1e-3;
const LAST: f64 = 1e12;

/// Values that are fitted; three for each mode.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Parameters {
    /// Logarithm of ω in rad/s, logarithm of ζ, give 1/k in mm/N.
    of_modes: Vec<[f64; 3]>,
    /// Give without mass, mm/N.
    pub(super) rest_mm_n: f64,
}

impl Parameters {
    /// Adds a mode.
    pub(super) fn push(&mut self, omega_rad_s: f64, damping: f64, give_mm_n: f64) {
        self.of_modes.push([omega_rad_s.ln(), damping.ln(), give_mm_n]);
    }

    /// Displacement over force, mm/N.
    pub(super) fn response(&self, omega_rad_s: f64) -> Complex64 {
        let of = |p: &[f64; 3]| p[2] * shape(p, omega_rad_s);
        self.of_modes.iter().map(of).sum::<Complex64>() + self.rest_mm_n
    }

    /// The modes; `None` where a value is none that a mode has.
    pub(super) fn modes(&self) -> Option<Vec<Mode>> {
        let mode = |p: &[f64; 3]| Mode::new(p[0].exp() / TAU, p[1].exp(), 1.0 / p[2]).ok();
        self.of_modes.iter().map(mode).collect()
    }

    fn count(&self) -> usize {
        3 * self.of_modes.len() + 1
    }

    /// Derivatives by every value.
    fn slopes(&self, omega_rad_s: f64, out: &mut [Complex64]) {
        for (p, slopes) in self.of_modes.iter().zip(out.chunks_exact_mut(3)) {
            let h = shape(p, omega_rad_s);
            let ratio = omega_rad_s / p[0].exp();
            let by_ratio = p[2] * h * h * Complex64::new(2.0 * ratio, -2.0 * p[1].exp());
            slopes[0] = -ratio * by_ratio;
            slopes[1] = p[2] * h * h * Complex64::new(0.0, -2.0 * p[1].exp() * ratio);
            slopes[2] = h;
        }
        if let Some(last) = out.last_mut() {
            *last = Complex64::ONE;
        }
    }

    fn moved(&self, step: &[f64]) -> Self {
        let mut out = self.clone();
        for (p, by) in out.of_modes.iter_mut().zip(step.chunks_exact(3)) {
            p[0] += by[0].clamp(-0.1, 0.1);
            p[1] = (p[1] + by[1].clamp(-1.0, 1.0)).min(-0.02);
            p[2] += by[2];
        }
        out.rest_mm_n += step.last().copied().unwrap_or(0.0);
        out
    }
}

fn shape(p: &[f64; 3], omega_rad_s: f64) -> Complex64 {
    let ratio = omega_rad_s / p[0].exp();
    Complex64::new(1.0 - ratio * ratio, 2.0 * p[1].exp() * ratio).inv()
}

/// The values that fit best near a start, and their misfit.
pub(super) fn refined(
    omegas: &[f64],
    values: &[Complex64],
    start: Parameters,
) -> (Parameters, f64) {
    let squares = |p: &Parameters| -> f64 {
        omegas.iter().zip(values).map(|(w, g)| (p.response(*w) - g).norm_sqr()).sum()
    };
    let total: f64 = values.iter().map(Complex64::norm_sqr).sum();
    let (mut best, mut least) = (start.clone(), squares(&start));
    let mut damping = FIRST;
    for _ in 0..MOST_ROUNDS {
        let (normal, pull) = normal(omegas, values, &best);
        let mut fell = false;
        while damping < LAST {
            let tried = solved(&normal, &pull, damping).map(|step| best.moved(&step));
            match tried.map(|p| (squares(&p), p)) {
                Some((sum, p)) if sum < least => {
                    fell = least - sum > SETTLED * least;
                    (best, least) = (p, sum);
                    damping = (0.2 * damping).max(1e-12);
                    break;
                }
                _ => damping *= 4.0,
            }
        }
        if !fell {
            break;
        }
    }
    (best, (least / total).sqrt())
}

/// The normal equations.
fn normal(
    omegas: &[f64],
    values: &[Complex64],
    parameters: &Parameters,
) -> (Vec<Vec<f64>>, Vec<f64>) {
    let count = parameters.count();
    let (mut normal, mut pull) = (vec![vec![0.0; count]; count], vec![0.0; count]);
    let mut slopes = vec![Complex64::ZERO; count];
    for (w, g) in omegas.iter().zip(values) {
        parameters.slopes(*w, &mut slopes);
        let miss = g - parameters.response(*w);
        for i in 0..count {
            pull[i] += slopes[i].re * miss.re + slopes[i].im * miss.im;
            for j in 0..=i {
                normal[i][j] += slopes[i].re * slopes[j].re + slopes[i].im * slopes[j].im;
            }
        }
    }
    for i in 0..count {
        for j in i + 1..count {
            normal[i][j] = normal[j][i];
        }
    }
    (normal, pull)
}

/// Solves the damped equations, scaled to ones on the diagonal, by Cholesky's method.
fn solved(normal: &[Vec<f64>], pull: &[f64], damping: f64) -> Option<Vec<f64>> {
    let count = pull.len();
    let scale: Vec<f64> = (0..count).map(|i| normal[i][i].sqrt()).collect();
    if scale.iter().any(|s| !(*s > 0.0)) {
        return None;
    }
    let mut lower = vec![vec![0.0; count]; count];
    for i in 0..count {
        for j in 0..=i {
            let damped = if i == j { damping } else { 0.0 };
            let known: f64 = (0..j).map(|k| lower[i][k] * lower[j][k]).sum();
            let rest = normal[i][j] / (scale[i] * scale[j]) + damped - known;
            if i == j && !(rest > 0.0) {
                return None;
            }
            lower[i][j] = if i == j { rest.sqrt() } else { rest / lower[j][j] };
        }
    }
    let mut step = vec![0.0; count];
    for i in 0..count {
        let known: f64 = (0..i).map(|k| lower[i][k] * step[k]).sum();
        step[i] = (pull[i] / scale[i] - known) / lower[i][i];
    }
    for i in (0..count).rev() {
        let known: f64 = (i + 1..count).map(|k| lower[k][i] * step[k]).sum();
        step[i] = (step[i] - known) / lower[i][i];
    }
    Some(step.iter().zip(&scale).map(|(s, scale)| s / scale).collect())
}
