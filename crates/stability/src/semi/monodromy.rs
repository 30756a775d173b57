//! The map of one tooth period and its multiplier of largest modulus.
//!
//! The state at the start of a period is the motion of every mode and the mean displacement in each
//! step in cut of the period before. The map is never written as a matrix: it is applied, and its
//! largest multipliers are found from the Krylov space that it spans (Arnoldi).

use super::period::Period;
use super::spectrum;
use crate::cut::Matrix2;
use num_complex::Complex64;

/// Sizes of the Krylov space at which its multipliers are looked at.
const SIZES: [usize; 8] = [10, 16, 24, 34, 48, 66, 90, 130];
/// Relative change of the largest modulus between two sizes that counts as none.
const SETTLED: f64 = 1e-9;
/// The same where the modulus is far from 1.
const SETTLED_AFAR: f64 = 1e-3;
/// How far from 1 is far.
const AFAR: f64 = 0.02;
/// Times the first vector is mapped before the space is built, so that it starts smooth.
const WARM_UP: usize = 2;

/// The multiplier of largest modulus at a depth, the upper one of a pair.
pub(super) fn multiplier(period: &Period, depth_mm: f64) -> Complex64 {
    let map = Map::new(period, depth_mm);
    let mut krylov = Krylov::new(&map);
    let mut last: Option<Complex64> = None;
    for size in SIZES {
        let closed = krylov.grow(&map, size);
        let largest = spectrum::largest(&krylov.hessenberg());
        let done = last.is_some_and(|before| {
            let allowed = if (largest.norm() - 1.0).abs() > AFAR { SETTLED_AFAR } else { SETTLED };
            (largest - before).norm() <= allowed * largest.norm()
        });
        last = Some(largest);
        if closed || done {
            break;
        }
    }
    last.map_or(Complex64::ZERO, |m| Complex64::new(m.re, m.im.abs()))
}

/// The map of one period at a depth.
struct Map<'a> {
    period: &'a Period,
    /// For each step in cut: force per mean displacement expected without it, and per delayed one.
    feedback: Vec<(Matrix2, Matrix2)>,
    modes: usize,
}

impl<'a> Map<'a> {
    fn new(period: &'a Period, depth_mm: f64) -> Self {
        let feedback = period
            .steps
            .iter()
            .filter_map(|step| {
                let gain = step.gain_n_mm2?.map(|row| row.map(|v| depth_mm * v));
                let solved = solved(&gain, &period.give[step.length]);
                Some((solved, solved.map(|row| row.map(|v| -v))))
            })
            .collect();
        let modes = period.swings.first().map_or(0, |(_, swings)| swings.len());
        Self { period, feedback, modes }
    }

    fn size(&self) -> usize {
        2 * self.modes + 2 * self.period.cutting
    }

    /// One period on.
    fn apply(&self, from: &[f64], to: &mut [f64]) {
        let (motion, past) = from.split_at(2 * self.modes);
        let (state, present) = to.split_at_mut(2 * self.modes);
        state.copy_from_slice(motion);
        let mut cutting = 0;
        for step in &self.period.steps {
            let (_, swings) = &self.period.swings[step.length];
            let mut force = [0.0; 2];
            if step.gain_n_mm2.is_some() {
                let mut mean = [0.0; 2];
                for (swing, s) in swings.iter().zip(state.chunks_exact(2)) {
                    let next = swing.free[0][0] * s[0] + swing.free[0][1] * s[1];
                    mean[swing.axis] += 0.5 * (s[0] + next);
                }
                let (now, then) = &self.feedback[cutting];
                let old = &past[2 * cutting..2 * cutting + 2];
                for axis in 0..2 {
                    force[axis] = now[axis][0] * mean[0]
                        + now[axis][1] * mean[1]
                        + then[axis][0] * old[0]
                        + then[axis][1] * old[1];
                }
                let give = &self.period.give[step.length];
                present[2 * cutting] = mean[0] + give[0] * force[0];
                present[2 * cutting + 1] = mean[1] + give[1] * force[1];
                cutting += 1;
            }
            for (swing, s) in swings.iter().zip(state.chunks_exact_mut(2)) {
                let push = force[swing.axis];
                let displacement =
                    swing.free[0][0] * s[0] + swing.free[0][1] * s[1] + swing.forced[0] * push;
                s[1] = swing.free[1][0] * s[0] + swing.free[1][1] * s[1] + swing.forced[1] * push;
                s[0] = displacement;
            }
        }
    }
}

/// (I − B g)⁻¹ B: the force of a step holds the displacement that it makes itself.
fn solved(gain: &Matrix2, give: &[f64; 2]) -> Matrix2 {
    let entry = |i: usize, j: usize| f64::from(u8::from(i == j)) - gain[i][j] * give[j];
    let (a, b, c, d) = (entry(0, 0), entry(0, 1), entry(1, 0), entry(1, 1));
    let share = 1.0 / (a * d - b * c);
    let inverse = [[share * d, -share * b], [-share * c, share * a]];
    let mut out = [[0.0; 2]; 2];
    for i in 0..2 {
        for j in 0..2 {
            out[i][j] = inverse[i][0] * gain[0][j] + inverse[i][1] * gain[1][j];
        }
    }
    out
}

/// An orthonormal basis of the Krylov space and the map in it.
struct Krylov {
    basis: Vec<Vec<f64>>,
    /// Column j: the map of basis vector j.
    columns: Vec<Vec<f64>>,
    closed: bool,
}

impl Krylov {
    fn new(map: &Map<'_>) -> Self {
        // any vector with a share of every multiplier's; this one is the same each time
        let golden = 0.5 * (5.0_f64.sqrt() - 1.0);
        let mut start: Vec<f64> =
            (0..map.size()).map(|i| (golden * (i + 1) as f64).fract() - 0.5).collect();
        let mut next = vec![0.0; map.size()];
        for _ in 0..WARM_UP {
            map.apply(&start, &mut next);
            std::mem::swap(&mut start, &mut next);
            let size = norm(&start);
            if !(size > 0.0) || !size.is_finite() {
                return Self { basis: Vec::new(), columns: Vec::new(), closed: true };
            }
            start.iter_mut().for_each(|v| *v /= size);
        }
        Self { basis: vec![start], columns: Vec::new(), closed: false }
    }

    /// Grows the space to `size` vectors; true when it can grow no more.
    fn grow(&mut self, map: &Map<'_>, size: usize) -> bool {
        while self.columns.len() < size && !self.closed {
            let mut next = vec![0.0; map.size()];
            map.apply(&self.basis[self.columns.len()], &mut next);
            let before = norm(&next);
            let mut column = vec![0.0; self.basis.len() + 1];
            // twice is enough to be orthogonal to rounding
            for _ in 0..2 {
                for (share, vector) in column.iter_mut().zip(&self.basis) {
                    let along = dot(vector, &next);
                    *share += along;
                    next.iter_mut().zip(vector).for_each(|(n, v)| *n -= along * v);
                }
            }
            let rest = norm(&next);
            self.closed = !(rest > 1e-13 * before) || self.basis.len() >= map.size();
            if !self.closed {
                next.iter_mut().for_each(|v| *v /= rest);
                column[self.basis.len()] = rest;
                self.basis.push(next);
            }
            self.columns.push(column);
        }
        self.closed
    }

    /// The map in the space, row by row.
    fn hessenberg(&self) -> Vec<Vec<f64>> {
        let size = self.columns.len();
        let mut rows = vec![vec![0.0; size]; size];
        for (j, column) in self.columns.iter().enumerate() {
            for (i, value) in column.iter().enumerate().take(size) {
                rows[i][j] = *value;
            }
        }
        rows
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

fn norm(a: &[f64]) -> f64 {
    dot(a, a).sqrt()
}
