//! B-spline and NURBS curves and surfaces.
//!
//! Poles are held weighted, `(w x, w y, w z, w)`; a surface whose weights are all equal skips the
//! quotient. A periodic one is held with its ends unrolled and a period: parameters are brought
//! into the knots' range first.

use super::basis::{Basis, DEGREE_MAX};
use super::{CurveJet, Jet, Jet3};
use crate::{Affine3, Vec3};
use glam::DVec4;

/// Why a B-spline is refused.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NurbsError {
    /// The degree is 0 or beyond what is evaluated.
    #[error("a B-spline of degree {0}; from 1 to {DEGREE_MAX} are evaluated")]
    Degree(usize),
    /// Knots, poles and degree do not fit together.
    #[error(
        "{knots} knots with {poles} poles of degree {degree}; there must be poles + degree + 1"
    )]
    Count {
        /// Number of knots, repeated by multiplicity.
        knots: usize,
        /// Number of poles along that direction.
        poles: usize,
        /// Degree along that direction.
        degree: usize,
    },
    /// A knot is smaller than the one before it, or none of them spans a range.
    #[error("knots must not fall and must span a range (knot {0})")]
    Knots(usize),
    /// A pole is not finite.
    #[error("pole {0} is not a finite point")]
    Pole(usize),
    /// A weight is missing, not finite or not positive.
    #[error("weight {0} is missing or not a positive number")]
    Weight(usize),
}

/// Degree, knots and period along one parameter.
#[derive(Debug, Clone, PartialEq)]
struct Direction {
    degree: usize,
    knots: Vec<f64>,
    period: Option<f64>,
}

impl Direction {
    fn new(
        degree: usize,
        knots: Vec<f64>,
        poles: usize,
        period: Option<f64>,
    ) -> Result<Self, NurbsError> {
        if degree == 0 || degree > DEGREE_MAX {
            return Err(NurbsError::Degree(degree));
        }
        if poles <= degree || knots.len() != poles + degree + 1 {
            return Err(NurbsError::Count { knots: knots.len(), poles, degree });
        }
        let falls = knots.windows(2).position(|k| {
            !matches!(
                k[0].partial_cmp(&k[1]),
                Some(std::cmp::Ordering::Less | std::cmp::Ordering::Equal)
            )
        });
        if let Some(i) = falls {
            return Err(NurbsError::Knots(i + 1));
        }
        let range = knots[poles] - knots[degree];
        if !(range.is_finite() && range > 0.0) {
            return Err(NurbsError::Knots(degree));
        }
        Ok(Self { degree, knots, period })
    }

    fn domain(&self) -> [f64; 2] {
        [self.knots[self.degree], self.knots[self.knots.len() - self.degree - 1]]
    }

    /// `t` brought into the range where the surface repeats itself.
    fn wrapped(&self, t: f64) -> f64 {
        let [lo, hi] = self.domain();
        match self.period {
            Some(period) if t < lo || t > hi => t - period * ((t - lo) / period).floor(),
            _ => t,
        }
    }

    fn basis<const N: usize>(&self, t: f64, order: usize) -> Basis<N> {
        Basis::at(&self.knots, self.degree, self.wrapped(t), order)
    }
}

fn weighted(poles: &[Vec3], weights: Option<&[f64]>) -> Result<Vec<DVec4>, NurbsError> {
    if let Some(i) = poles.iter().position(|p| !p.is_finite()) {
        return Err(NurbsError::Pole(i));
    }
    let Some(weights) = weights else {
        return Ok(poles.iter().map(|p| p.extend(1.0)).collect());
    };
    let bad = |w: &f64| !(w.is_finite() && *w > 0.0);
    if let Some(i) = weights.iter().position(bad) {
        return Err(NurbsError::Weight(i));
    }
    if weights.len() != poles.len() {
        return Err(NurbsError::Weight(weights.len().min(poles.len())));
    }
    Ok(poles.iter().zip(weights).map(|(p, w)| (*p * *w).extend(*w)).collect())
}

fn is_rational(weights: Option<&[f64]>) -> bool {
    weights.is_some_and(|w| w.iter().any(|x| *x != w[0]))
}

fn moved(poles: &[DVec4], motion: &Affine3) -> Vec<DVec4> {
    poles
        .iter()
        .map(|p| (motion.transform_vector3(p.truncate()) + motion.translation * p.w).extend(p.w))
        .collect()
}

/// A B-spline curve, rational or not.
#[derive(Debug, Clone, PartialEq)]
pub struct NurbsCurve {
    along: Direction,
    poles: Vec<DVec4>,
}

impl NurbsCurve {
    /// A curve from its degree, knots (repeated by multiplicity), poles in mm and weights.
    ///
    /// # Errors
    /// [`NurbsError`] where these do not fit together.
    pub fn new(
        degree: usize,
        knots: Vec<f64>,
        poles: &[Vec3],
        weights: Option<&[f64]>,
        period: Option<f64>,
    ) -> Result<Self, NurbsError> {
        let along = Direction::new(degree, knots, poles.len(), period)?;
        Ok(Self { along, poles: weighted(poles, weights)? })
    }

    /// Position and derivatives at `t`.
    pub fn jet(&self, t: f64) -> CurveJet {
        let b: Basis<{ DEGREE_MAX + 1 }> = self.along.basis(t, 3);
        let poles = &self.poles[b.first..=b.first + self.along.degree];
        let sum = |k: usize| -> DVec4 { poles.iter().zip(&b.d[k]).map(|(p, n)| *p * *n).sum() };
        let [a0, a1, a2, a3] = [sum(0), sum(1), sum(2), sum(3)];
        let w = a0.w;
        let p = a0.truncate() / w;
        let d1 = (a1.truncate() - p * a1.w) / w;
        let d2 = (a2.truncate() - d1 * (2.0 * a1.w) - p * a2.w) / w;
        let d3 = (a3.truncate() - d2 * (3.0 * a1.w) - d1 * (3.0 * a2.w) - p * a3.w) / w;
        CurveJet { p, d1, d2, d3 }
    }

    /// Range of the parameter.
    pub fn domain(&self) -> [f64; 2] {
        self.along.domain()
    }

    /// Period, where the curve closes on itself.
    pub fn period(&self) -> Option<f64> {
        self.along.period
    }

    pub(super) fn moved(&self, motion: &Affine3) -> Self {
        Self { along: self.along.clone(), poles: moved(&self.poles, motion) }
    }
}

/// A B-spline surface, rational or not.
#[derive(Debug, Clone, PartialEq)]
pub struct NurbsSurface {
    u: Direction,
    v: Direction,
    /// v runs fastest.
    poles: Vec<DVec4>,
    columns: usize,
    rational: bool,
}

/// Definition of a B-spline surface along one parameter.
#[derive(Debug, Clone, PartialEq)]
pub struct Knots {
    /// Degree.
    pub degree: usize,
    /// Knots, repeated by multiplicity.
    pub knots: Vec<f64>,
    /// Period, where the surface closes on itself.
    pub period: Option<f64>,
}

impl Knots {
    /// Number of poles that belong to these knots.
    pub fn poles(&self) -> usize {
        self.knots.len().saturating_sub(self.degree + 1)
    }
}

/// Weighted sums of the poles: derivative `[i][j]`, i-th along u and j-th along v.
type Sums<const K: usize> = [[DVec4; K]; K];

impl NurbsSurface {
    /// A surface from its knots along u and v, its poles in mm (v running fastest) and weights.
    ///
    /// # Errors
    /// [`NurbsError`] where these do not fit together.
    pub fn new(
        u: Knots,
        v: Knots,
        poles: &[Vec3],
        weights: Option<&[f64]>,
    ) -> Result<Self, NurbsError> {
        let (rows, columns) = (u.poles(), v.poles());
        if rows * columns != poles.len() {
            let (knots, degree) = (u.knots.len(), u.degree);
            return Err(NurbsError::Count { knots, poles: poles.len() / columns.max(1), degree });
        }
        Ok(Self {
            u: Direction::new(u.degree, u.knots, rows, u.period)?,
            v: Direction::new(v.degree, v.knots, columns, v.period)?,
            poles: weighted(poles, weights)?,
            columns,
            rational: is_rational(weights),
        })
    }

    /// Range of the parameters.
    pub fn domain(&self) -> [[f64; 2]; 2] {
        [self.u.domain(), self.v.domain()]
    }

    /// Periods, where the surface closes on itself.
    pub fn period(&self) -> [Option<f64>; 2] {
        [self.u.period, self.v.period]
    }

    /// Degrees along u and v.
    pub fn degree(&self) -> [usize; 2] {
        [self.u.degree, self.v.degree]
    }

    /// Knots along u and v, repeated by multiplicity.
    pub fn knots(&self) -> [&[f64]; 2] {
        [&self.u.knots, &self.v.knots]
    }

    /// Whether the weights differ.
    pub fn is_rational(&self) -> bool {
        self.rational
    }

    /// Poles in mm with their weights, v running fastest.
    pub fn poles(&self) -> impl Iterator<Item = (Vec3, f64)> + '_ {
        self.poles.iter().map(|p| (p.truncate() / p.w, p.w))
    }

    pub(super) fn moved(&self, motion: &Affine3) -> Self {
        Self { poles: moved(&self.poles, motion), ..self.clone() }
    }

    /// Position and derivatives up to the second order.
    pub fn jet(&self, u: f64, v: f64) -> Jet {
        let a: Sums<3> = self.sums(u, v);
        if self.rational { quotient(&a) } else { plain(&a, self.poles[0].w) }
    }

    /// Position and derivatives up to the third order.
    pub fn jet3(&self, u: f64, v: f64) -> Jet3 {
        quotient3(&self.sums(u, v))
    }

    fn sums<const K: usize>(&self, u: f64, v: f64) -> Sums<K> {
        match self.u.degree.max(self.v.degree) {
            0..=3 => self.sums_to_degree::<K, 4>(u, v),
            4..=7 => self.sums_to_degree::<K, 8>(u, v),
            _ => self.sums_to_degree::<K, { DEGREE_MAX + 1 }>(u, v),
        }
    }

    fn sums_to_degree<const K: usize, const N: usize>(&self, u: f64, v: f64) -> Sums<K> {
        let bu: Basis<N> = self.u.basis(u, K - 1);
        let bv: Basis<N> = self.v.basis(v, K - 1);
        let mut out = [[DVec4::ZERO; K]; K];
        for i in 0..=self.u.degree {
            let start = (bu.first + i) * self.columns + bv.first;
            let row = &self.poles[start..=start + self.v.degree];
            let mut along_v = [DVec4::ZERO; K];
            for (j, pole) in row.iter().enumerate() {
                for (k, sum) in along_v.iter_mut().enumerate() {
                    *sum += *pole * bv.d[k][j];
                }
            }
            for (k, out) in out.iter_mut().enumerate() {
                for (l, sum) in out.iter_mut().enumerate().take(K - k) {
                    *sum += along_v[l] * bu.d[k][i];
                }
            }
        }
        out
    }
}

fn plain<const K: usize>(a: &Sums<K>, w: f64) -> Jet {
    let part = |i: usize, j: usize| a[i][j].truncate() / w;
    Jet {
        p: part(0, 0),
        du: part(1, 0),
        dv: part(0, 1),
        duu: part(2, 0),
        duv: part(1, 1),
        dvv: part(0, 2),
    }
}

/// Derivatives of `S` from those of `w S` and `w` (Leibniz).
fn quotient<const K: usize>(a: &Sums<K>) -> Jet {
    let w = |i: usize, j: usize| a[i][j].w;
    let x = |i: usize, j: usize| a[i][j].truncate();
    let r = 1.0 / w(0, 0);
    let p = x(0, 0) * r;
    let du = (x(1, 0) - p * w(1, 0)) * r;
    let dv = (x(0, 1) - p * w(0, 1)) * r;
    Jet {
        p,
        du,
        dv,
        duu: (x(2, 0) - du * (2.0 * w(1, 0)) - p * w(2, 0)) * r,
        duv: (x(1, 1) - dv * w(1, 0) - du * w(0, 1) - p * w(1, 1)) * r,
        dvv: (x(0, 2) - dv * (2.0 * w(0, 1)) - p * w(0, 2)) * r,
    }
}

fn quotient3(a: &Sums<4>) -> Jet3 {
    let w = |i: usize, j: usize| a[i][j].w;
    let x = |i: usize, j: usize| a[i][j].truncate();
    let r = 1.0 / w(0, 0);
    let jet = quotient(a);
    let Jet { p, du, dv, duu, duv, dvv } = jet;
    let mixed = |x_ab: Vec3, first: f64, s_ab: Vec3, other: f64, s_aa: Vec3| {
        x_ab - s_ab * (2.0 * first) - s_aa * other
    };
    Jet3 {
        jet,
        duuu: (x(3, 0) - duu * (3.0 * w(1, 0)) - du * (3.0 * w(2, 0)) - p * w(3, 0)) * r,
        duuv: (mixed(x(2, 1), w(1, 0), duv, w(0, 1), duu)
            - du * (2.0 * w(1, 1))
            - dv * w(2, 0)
            - p * w(2, 1))
            * r,
        duvv: (mixed(x(1, 2), w(0, 1), duv, w(1, 0), dvv)
            - dv * (2.0 * w(1, 1))
            - du * w(0, 2)
            - p * w(1, 2))
            * r,
        dvvv: (x(0, 3) - dvv * (3.0 * w(0, 1)) - dv * (3.0 * w(0, 2)) - p * w(0, 3)) * r,
    }
}
