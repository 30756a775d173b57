//! Small dense least squares and the eigenvectors of a symmetric 3 × 3 matrix.

use crate::{Mat3, Vec3};

/// Relative weight that keeps a direction which the data say nothing about near zero.
const RIDGE: f64 = 1e-9;

/// Least squares with `N` unknowns by normal equations, columns scaled to one length first and
/// with a small ridge: unknowns that the rows say nothing about come out near zero instead of
/// anywhere.
#[derive(Debug, Clone)]
pub struct LeastSquares<const N: usize> {
    matrix: [[f64; N]; N],
    right: [f64; N],
    square: f64,
    rows: usize,
}

/// Solution of a least-squares problem.
#[derive(Debug, Clone, Copy)]
pub struct Solution<const N: usize> {
    /// The unknowns.
    pub x: [f64; N],
    /// Standard deviation of each unknown, from the scatter of the rows round the solution.
    pub deviation: [f64; N],
    /// Root mean square of what the solution leaves of the rows.
    pub residual: f64,
}

impl<const N: usize> Default for LeastSquares<N> {
    fn default() -> Self {
        Self { matrix: [[0.0; N]; N], right: [0.0; N], square: 0.0, rows: 0 }
    }
}

impl<const N: usize> LeastSquares<N> {
    /// Adds a row: `row · x` should be `value`.
    pub fn add(&mut self, row: &[f64; N], value: f64) {
        for i in 0..N {
            for j in 0..=i {
                self.matrix[i][j] += row[i] * row[j];
            }
            self.right[i] += row[i] * value;
        }
        self.square += value * value;
        self.rows += 1;
    }

    /// The unknowns that leave the smallest sum of squares; `None` where a number overflows.
    pub fn solve(&self) -> Option<Solution<N>> {
        let scale: [f64; N] = std::array::from_fn(|i| {
            let d = self.matrix[i][i].sqrt();
            if d > 0.0 { 1.0 / d } else { 1.0 }
        });
        let mut l = [[0.0; N]; N];
        for i in 0..N {
            for j in 0..=i {
                let mut sum = self.matrix[i][j] * scale[i] * scale[j];
                sum += if i == j { RIDGE } else { 0.0 };
                sum -= (0..j).map(|k| l[i][k] * l[j][k]).sum::<f64>();
                l[i][j] = if i == j { sum.max(RIDGE * RIDGE).sqrt() } else { sum / l[j][j] };
            }
        }
        let scaled: [f64; N] = std::array::from_fn(|i| self.right[i] * scale[i]);
        let y = back(&l, forward(&l, scaled));
        let x: [f64; N] = std::array::from_fn(|i| y[i] * scale[i]);
        let explained: f64 = (0..N).map(|i| x[i] * self.right[i]).sum();
        let left = (self.square - explained).max(0.0);
        let free = self.rows.saturating_sub(N).max(1) as f64;
        let variance = left / free;
        let deviation = std::array::from_fn(|i| {
            let mut unit = [0.0; N];
            unit[i] = 1.0;
            let column = forward(&l, unit);
            (variance * column.iter().map(|c| c * c).sum::<f64>()).sqrt() * scale[i]
        });
        let solution = Solution { x, deviation, residual: (left / self.rows.max(1) as f64).sqrt() };
        x.iter().all(|v| v.is_finite()).then_some(solution)
    }
}

fn forward<const N: usize>(l: &[[f64; N]; N], mut b: [f64; N]) -> [f64; N] {
    for i in 0..N {
        let sum: f64 = (0..i).map(|k| l[i][k] * b[k]).sum();
        b[i] = (b[i] - sum) / l[i][i];
    }
    b
}

fn back<const N: usize>(l: &[[f64; N]; N], mut b: [f64; N]) -> [f64; N] {
    for i in (0..N).rev() {
        let sum: f64 = (i + 1..N).map(|k| l[k][i] * b[k]).sum();
        b[i] = (b[i] - sum) / l[i][i];
    }
    b
}

/// Eigenvalues, ascending, and unit eigenvectors of a symmetric matrix, by Jacobi rotations.
pub fn symmetric_eigen(matrix: Mat3) -> ([f64; 3], [Vec3; 3]) {
    let mut a = matrix;
    let mut v = Mat3::IDENTITY;
    for _ in 0..16 {
        for (p, q) in [(0, 1), (0, 2), (1, 2)] {
            let off = a.col(q)[p];
            if off == 0.0 {
                continue;
            }
            let theta = (a.col(q)[q] - a.col(p)[p]) / (2.0 * off);
            let t = theta.signum() / (theta.abs() + theta.hypot(1.0));
            let t = if theta == 0.0 { 1.0 } else { t };
            let c = 1.0 / t.hypot(1.0);
            let s = t * c;
            let mut j = Mat3::IDENTITY;
            j.col_mut(p)[p] = c;
            j.col_mut(q)[q] = c;
            j.col_mut(q)[p] = s;
            j.col_mut(p)[q] = -s;
            a = j.transpose() * a * j;
            v *= j;
        }
    }
    let mut order = [0, 1, 2];
    order.sort_by(|&i, &j| a.col(i)[i].total_cmp(&a.col(j)[j]));
    (order.map(|i| a.col(i)[i]), order.map(|i| v.col(i).normalize_or_zero()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_parabola_comes_back_from_its_points() {
        let mut fit = LeastSquares::<3>::default();
        for i in 0..9 {
            let x = f64::from(i) * 0.25 - 1.0;
            fit.add(&[1.0, x, x * x], 0.3 - 2.0 * x + 0.01 * x * x);
        }
        let s = fit.solve().expect("solvable");
        let error = (s.x[0] - 0.3).abs() + (s.x[1] + 2.0).abs() + (s.x[2] - 0.01).abs();
        assert!(error < 1e-7, "{:?}", s.x);
    }

    #[test]
    fn an_unknown_that_no_row_sees_is_zero() {
        let mut fit = LeastSquares::<2>::default();
        fit.add(&[2.0, 0.0], 6.0);
        fit.add(&[1.0, 0.0], 3.0);
        let s = fit.solve().expect("solvable");
        assert!((s.x[0] - 3.0).abs() < 1e-7 && s.x[1] == 0.0);
    }

    #[test]
    fn eigenvectors_rebuild_the_matrix() {
        let m = Mat3::from_cols_array(&[4.0, 1.0, -2.0, 1.0, 2.0, 0.5, -2.0, 0.5, 3.0]);
        let (values, vectors) = symmetric_eigen(m);
        for (value, v) in values.iter().zip(vectors) {
            assert!((m * v - v * *value).length() < 1e-12);
        }
        assert!(values[0] <= values[1] && values[1] <= values[2]);
    }
}
