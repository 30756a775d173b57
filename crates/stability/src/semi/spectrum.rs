//! Eigenvalues of a real Hessenberg matrix: the shifted QR method with double steps of Francis, as in
//! the EISPACK routine `hqr` (from memory).

use num_complex::Complex64;

/// Steps for one eigenvalue after which the method gives up.
const MOST_STEPS: usize = 60;

/// The eigenvalue of largest modulus; of a pair the upper one. Zero for an empty matrix; infinite
/// where the method does not settle, so that nothing is taken for stable.
pub(super) fn largest(hessenberg: &[Vec<f64>]) -> Complex64 {
    let Some(all) = eigenvalues(hessenberg) else {
        return Complex64::new(f64::INFINITY, 0.0);
    };
    let upper = all.into_iter().map(|v| Complex64::new(v.re, v.im.abs()));
    upper.fold(Complex64::ZERO, |best, v| if v.norm() > best.norm() { v } else { best })
}

/// All eigenvalues; `None` where the method does not settle or the matrix holds NaN.
pub(super) fn eigenvalues(hessenberg: &[Vec<f64>]) -> Option<Vec<Complex64>> {
    let mut work = Francis { a: hessenberg.to_vec(), shift: 0.0, scale: 0.0 };
    work.scale = work.a.iter().flatten().map(|v| v.abs()).sum();
    if !work.scale.is_finite() {
        return None;
    }
    let mut found = Vec::with_capacity(work.a.len());
    let mut size = work.a.len();
    while size > 0 {
        size -= work.deflate(size, &mut found)?;
    }
    Some(found)
}

struct Francis {
    a: Vec<Vec<f64>>,
    /// Sum of the exceptional shifts.
    shift: f64,
    scale: f64,
}

impl Francis {
    /// Finds one or two eigenvalues at the lower end of the leading block of `size`.
    fn deflate(&mut self, size: usize, found: &mut Vec<Complex64>) -> Option<usize> {
        let last = size - 1;
        for step in 0..MOST_STEPS {
            let low = self.small_subdiagonal(last);
            if low == last {
                found.push(Complex64::new(self.a[last][last] + self.shift, 0.0));
                return Some(1);
            }
            if low + 1 == last {
                found.extend(self.pair(last));
                return Some(2);
            }
            self.double_step(low, last, step);
        }
        None
    }

    /// The row up to which the block that ends at `last` hangs together.
    fn small_subdiagonal(&mut self, last: usize) -> usize {
        for l in (1..=last).rev() {
            let mut size = self.a[l - 1][l - 1].abs() + self.a[l][l].abs();
            if size == 0.0 {
                size = self.scale;
            }
            if self.a[l][l - 1].abs() <= f64::EPSILON * size {
                self.a[l][l - 1] = 0.0;
                return l;
            }
        }
        0
    }

    fn pair(&self, last: usize) -> [Complex64; 2] {
        let (a, d) = (self.a[last - 1][last - 1], self.a[last][last]);
        let product = self.a[last][last - 1] * self.a[last - 1][last];
        let (middle, half) = (0.5 * (a + d) + self.shift, 0.5 * (a - d));
        let root = Complex64::new(half * half + product, 0.0).sqrt();
        [middle + root, middle - root]
    }

    /// One double step on rows `low..=last`.
    fn double_step(&mut self, low: usize, last: usize, step: usize) {
        let (x, y, w) = self.shifts(last, step);
        let (start, mut p, mut q, mut r) = self.first_column(low, last, x, y, w);
        for i in start + 2..=last {
            self.a[i][i - 2] = 0.0;
            if i > start + 2 {
                self.a[i][i - 3] = 0.0;
            }
        }
        for k in start..last {
            let mut size = 0.0;
            if k != start {
                p = self.a[k][k - 1];
                q = self.a[k + 1][k - 1];
                r = if k + 1 < last { self.a[k + 2][k - 1] } else { 0.0 };
                size = p.abs() + q.abs() + r.abs();
                if size != 0.0 {
                    p /= size;
                    q /= size;
                    r /= size;
                }
            }
            let s = (p * p + q * q + r * r).sqrt() * if p < 0.0 { -1.0 } else { 1.0 };
            if s == 0.0 {
                continue;
            }
            if k == start {
                if low != start {
                    self.a[k][k - 1] = -self.a[k][k - 1];
                }
            } else {
                self.a[k][k - 1] = -s * size;
            }
            p += s;
            self.reflect(k, low, last, [p / s, q / s, r / s], [q / p, r / p]);
        }
    }

    fn shifts(&mut self, last: usize, step: usize) -> (f64, f64, f64) {
        let a = &mut self.a;
        let x = a[last][last];
        let (y, w) = (a[last - 1][last - 1], a[last][last - 1] * a[last - 1][last]);
        if step % 10 != 9 {
            return (x, y, w);
        }
        // an exceptional shift breaks a cycle
        self.shift += x;
        for (i, row) in a.iter_mut().enumerate().take(last + 1) {
            row[i] -= x;
        }
        let s = a[last][last - 1].abs() + if last > 1 { a[last - 1][last - 2].abs() } else { 0.0 };
        (0.75 * s, 0.75 * s, -0.4375 * s * s)
    }

    /// Row at which the double step starts, and the vector that starts it.
    fn first_column(
        &self,
        low: usize,
        last: usize,
        x: f64,
        y: f64,
        w: f64,
    ) -> (usize, f64, f64, f64) {
        let a = &self.a;
        let mut m = last - 2;
        loop {
            let z = a[m][m];
            let (rest, sum) = (x - z, y - z);
            let p = (rest * sum - w) / a[m + 1][m] + a[m][m + 1];
            let (q, r) = (a[m + 1][m + 1] - z - rest - sum, a[m + 2][m + 1]);
            let size = p.abs() + q.abs() + r.abs();
            let (p, q, r) = (p / size, q / size, r / size);
            if m == low {
                return (m, p, q, r);
            }
            let u = a[m][m - 1].abs() * (q.abs() + r.abs());
            let v = p.abs() * (a[m - 1][m - 1].abs() + z.abs() + a[m + 1][m + 1].abs());
            if u <= f64::EPSILON * v {
                return (m, p, q, r);
            }
            m -= 1;
        }
    }

    /// Householder reflection on rows and columns k, k+1, k+2.
    fn reflect(&mut self, k: usize, low: usize, last: usize, xyz: [f64; 3], qr: [f64; 2]) {
        let ([x, y, z], [q, r]) = (xyz, qr);
        let three = k + 1 < last;
        for j in k..=last {
            let mut p = self.a[k][j] + q * self.a[k + 1][j];
            if three {
                p += r * self.a[k + 2][j];
                self.a[k + 2][j] -= p * z;
            }
            self.a[k + 1][j] -= p * y;
            self.a[k][j] -= p * x;
        }
        let bottom = last.min(k + 3);
        for row in self.a.iter_mut().take(bottom + 1).skip(low) {
            let mut p = x * row[k] + y * row[k + 1];
            if three {
                p += z * row[k + 2];
                row[k + 2] -= p * r;
            }
            row[k + 1] -= p * q;
            row[k] -= p;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The companion matrix of a polynomial with these roots (pairs given once).
    fn companion(roots: &[Complex64]) -> Vec<Vec<f64>> {
        let mut polynomial = vec![1.0];
        for root in roots {
            let factor = if root.im == 0.0 {
                vec![1.0, -root.re]
            } else {
                vec![1.0, -2.0 * root.re, root.norm_sqr()]
            };
            let mut product = vec![0.0; polynomial.len() + factor.len() - 1];
            for (i, p) in polynomial.iter().enumerate() {
                for (j, f) in factor.iter().enumerate() {
                    product[i + j] += p * f;
                }
            }
            polynomial = product;
        }
        let size = polynomial.len() - 1;
        let mut rows = vec![vec![0.0; size]; size];
        for j in 0..size {
            rows[0][j] = -polynomial[j + 1];
            if j + 1 < size {
                rows[j + 1][j] = 1.0;
            }
        }
        rows
    }

    #[test]
    fn roots_of_polynomials_come_back() {
        let sets: [&[(f64, f64)]; 4] = [
            &[(0.3, 0.0), (-1.2, 0.0), (0.7, 0.4)],
            &[(0.0, 1.0), (0.5, 0.5), (-0.9, 0.1), (0.2, 0.0), (-0.4, 0.0)],
            &[(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0)],
            &[(2.0, 0.0), (1.0, 0.0), (0.5, 0.0), (0.25, 0.0), (0.1, 0.9)],
        ];
        for set in sets {
            let roots: Vec<Complex64> = set.iter().map(|(r, i)| Complex64::new(*r, *i)).collect();
            let found = eigenvalues(&companion(&roots)).unwrap();
            for root in roots {
                let nearest = found.iter().map(|f| (f - root).norm()).fold(f64::MAX, f64::min);
                assert!(nearest < 1e-9, "{root}: {found:?}");
            }
        }
    }

    #[test]
    fn trace_and_sum_of_squares_are_kept() {
        // a full Hessenberg matrix of reproducible numbers
        for size in 1..40 {
            let value = |i: usize, j: usize| {
                if i > j + 1 { 0.0 } else { ((i * 31 + j * 17 + 7) as f64 * 0.618).fract() - 0.4 }
            };
            let rows: Vec<Vec<f64>> =
                (0..size).map(|i| (0..size).map(|j| value(i, j)).collect()).collect();
            let found = eigenvalues(&rows).unwrap();
            assert_eq!(found.len(), size);
            let trace: f64 = (0..size).map(|i| rows[i][i]).sum();
            let squares: f64 = (0..size)
                .flat_map(|i| (0..size).map(move |j| (i, j)))
                .map(|(i, j)| rows[i][j] * rows[j][i])
                .sum();
            let sum: Complex64 = found.iter().sum();
            let sum_of_squares: Complex64 = found.iter().map(|v| v * v).sum();
            assert!((sum - trace).norm() < 1e-10, "{size}");
            assert!((sum_of_squares - squares).norm() < 1e-9, "{size}");
        }
    }

    #[test]
    fn nothing_unsettled_is_taken_for_stable() {
        assert_eq!(largest(&[vec![f64::NAN]]).re, f64::INFINITY);
    }
}
