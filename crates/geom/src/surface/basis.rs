//! B-spline basis functions and their derivatives (Piegl & Tiller, The NURBS Book, 2nd ed. 1997,
//! algorithms A2.1 and A2.3).

/// Highest degree that is evaluated.
pub(super) const DEGREE_MAX: usize = 31;

/// Highest derivative that is evaluated.
pub(super) const ORDER_MAX: usize = 3;

/// The basis functions that do not vanish at a parameter, with their derivatives.
/// `N` is at least degree + 1.
pub(super) struct Basis<const N: usize> {
    /// Number of the first pole with influence.
    pub(super) first: usize,
    /// `d[k][j]` is the k-th derivative of the j-th function.
    pub(super) d: [[f64; N]; ORDER_MAX + 1],
}

/// Number of the knot span that holds `t`; ends belong to the first and to the last span.
pub(super) fn span(knots: &[f64], degree: usize, t: f64) -> usize {
    let poles = knots.len() - degree - 1;
    let inner = &knots[degree + 1..poles];
    degree + inner.partition_point(|k| *k <= t)
}

impl<const N: usize> Basis<N> {
    /// Functions and derivatives up to `order` at `t`; outside of the knots' range the end
    /// polynomials go on.
    pub(super) fn at(knots: &[f64], degree: usize, t: f64, order: usize) -> Self {
        let span = span(knots, degree, t);
        let ndu = triangle::<N>(knots, degree, span, t);
        let mut d = [[0.0; N]; ORDER_MAX + 1];
        for (j, value) in d[0].iter_mut().enumerate().take(degree + 1) {
            *value = ndu[j][degree];
        }
        for r in 0..=degree {
            derivatives_of(&ndu, degree, r, order.min(degree), &mut d);
        }
        let mut factor = degree as f64;
        for (k, row) in d.iter_mut().enumerate().take(order.min(degree) + 1).skip(1) {
            row.iter_mut().take(degree + 1).for_each(|x| *x *= factor);
            factor *= (degree - k) as f64;
        }
        Self { first: span - degree, d }
    }
}

/// Functions of all degrees in the upper triangle, knot differences in the lower one.
fn triangle<const N: usize>(knots: &[f64], degree: usize, span: usize, t: f64) -> [[f64; N]; N] {
    let mut ndu = [[0.0; N]; N];
    let (mut left, mut right) = ([0.0; N], [0.0; N]);
    ndu[0][0] = 1.0;
    for j in 1..=degree {
        left[j] = t - knots[span + 1 - j];
        right[j] = knots[span + j] - t;
        let mut saved = 0.0;
        for r in 0..j {
            ndu[j][r] = right[r + 1] + left[j - r];
            let part = ndu[r][j - 1] / ndu[j][r];
            ndu[r][j] = saved + right[r + 1] * part;
            saved = left[j - r] * part;
        }
        ndu[j][j] = saved;
    }
    ndu
}

/// Derivatives of function `r`, without the factor p!/(p-k)!.
fn derivatives_of<const N: usize>(
    ndu: &[[f64; N]; N],
    degree: usize,
    r: usize,
    order: usize,
    d: &mut [[f64; N]; ORDER_MAX + 1],
) {
    let mut a = [[0.0; ORDER_MAX + 1]; 2];
    a[0][0] = 1.0;
    let (mut old, mut new) = (0, 1);
    for k in 1..=order {
        let low = degree - k;
        let mut sum = 0.0;
        if r >= k {
            a[new][0] = a[old][0] / ndu[low + 1][r - k];
            sum = a[new][0] * ndu[r - k][low];
        }
        let from = if r + 1 >= k { 1 } else { k - r };
        let to = if r <= low + 1 { k - 1 } else { degree - r };
        for j in from..=to {
            a[new][j] = (a[old][j] - a[old][j - 1]) / ndu[low + 1][r + j - k];
            sum += a[new][j] * ndu[r + j - k][low];
        }
        if r <= low {
            a[new][k] = -a[old][k - 1] / ndu[low + 1][r];
            sum += a[new][k] * ndu[r][low];
        }
        d[k][r] = sum;
        std::mem::swap(&mut old, &mut new);
    }
}
