//! Smooth curves through points of the plane: penalised smoothing and the cubic spline.

use geom::Vec2;

/// Twice continuously differentiable curve through points, at whole-number parameters.
#[derive(Debug, Clone)]
pub(crate) struct Spline {
    points: Vec<Vec2>,
    /// Second derivatives at the points.
    bend: Vec<Vec2>,
}

impl Spline {
    /// Natural cubic spline through the points; `None` with fewer than two.
    pub(crate) fn through(points: Vec<Vec2>) -> Option<Self> {
        if points.len() < 2 {
            return None;
        }
        let bend = natural_bend(&points);
        Some(Self { points, bend })
    }

    /// Largest parameter.
    pub(crate) fn end(&self) -> f64 {
        (self.points.len() - 1) as f64
    }

    /// Point and first derivative at parameter `t`, straight on beyond either end.
    pub(crate) fn at(&self, t: f64) -> (Vec2, Vec2) {
        let clamped = t.clamp(0.0, self.end());
        let (p, d) = self.within(clamped);
        (p + d * (t - clamped), d)
    }

    fn within(&self, t: f64) -> (Vec2, Vec2) {
        let i = (t.floor() as usize).min(self.points.len() - 2);
        let (b, a) = (t - i as f64, 1.0 - (t - i as f64));
        let (p, q) = (self.points[i], self.points[i + 1]);
        let (m, n) = (self.bend[i], self.bend[i + 1]);
        let at = p * a + q * b + (m * (a * a * a - a) + n * (b * b * b - b)) / 6.0;
        let slope = q - p + (n * (3.0 * b * b - 1.0) - m * (3.0 * a * a - 1.0)) / 6.0;
        (at, slope)
    }
}

/// Tridiagonal solve of `mᵢ₋₁ + 4 mᵢ + mᵢ₊₁ = 6 (pᵢ₋₁ − 2 pᵢ + pᵢ₊₁)` with bent ends: the end value
/// equals its neighbour's, so that a parabola keeps its curvature up to the end.
fn natural_bend(p: &[Vec2]) -> Vec<Vec2> {
    let n = p.len();
    let mut bend = vec![Vec2::ZERO; n];
    if n < 3 {
        return bend;
    }
    let inner = n - 2;
    let mut diagonal = vec![4.0; inner];
    diagonal[0] += 1.0;
    diagonal[inner - 1] += 1.0;
    let mut right: Vec<Vec2> =
        (1..=inner).map(|i| (p[i - 1] - p[i] * 2.0 + p[i + 1]) * 6.0).collect();
    for i in 1..inner {
        let f = 1.0 / diagonal[i - 1];
        diagonal[i] -= f;
        let carried = right[i - 1] * f;
        right[i] -= carried;
    }
    for i in (0..inner).rev() {
        let after = if i + 1 < inner { bend[i + 2] } else { Vec2::ZERO };
        bend[i + 1] = (right[i] - after) / diagonal[i];
    }
    bend[0] = bend[1];
    bend[n - 1] = bend[n - 2];
    bend
}

/// Points at equal arc length along a polyline, about `step` apart, ends kept.
pub(crate) fn resampled(polyline: &[Vec2], step: f64) -> Vec<Vec2> {
    let mut along = vec![0.0];
    for w in polyline.windows(2) {
        along.push(along[along.len() - 1] + w[0].distance(w[1]));
    }
    let total = along[along.len() - 1];
    let n = ((total / step).round() as usize).max(2);
    let mut k = 0;
    (0..=n)
        .map(|i| {
            let target = total * i as f64 / n as f64;
            while k + 2 < along.len() && along[k + 1] < target {
                k += 1;
            }
            let span = along[k + 1] - along[k];
            let f = if span > 0.0 { ((target - along[k]) / span).clamp(0.0, 1.0) } else { 0.0 };
            polyline[k].lerp(polyline[k + 1], f)
        })
        .collect()
}

/// The points `q` that minimise `Σ|q − p|² + stiffness Σ|q''|²` (second differences), by conjugate
/// gradients on the banded normal equations. Straight rows of points stay as they are.
pub(crate) fn smoothed(points: &[Vec2], stiffness: f64) -> Vec<Vec2> {
    if points.len() < 3 {
        return points.to_vec();
    }
    let mut q = points.to_vec();
    let mut residual: Vec<Vec2> = minus(points, &applied(&q, stiffness));
    let mut direction = residual.clone();
    let mut rr = squared(&residual);
    let goal = rr * 1e-24;
    for _ in 0..200 {
        if rr <= goal || rr == 0.0 {
            break;
        }
        let ad = applied(&direction, stiffness);
        let step = rr / direction.iter().zip(&ad).map(|(a, b)| a.dot(*b)).sum::<f64>();
        for i in 0..q.len() {
            q[i] += direction[i] * step;
            residual[i] -= ad[i] * step;
        }
        let next = squared(&residual);
        for (d, r) in direction.iter_mut().zip(&residual) {
            *d = *r + *d * (next / rr);
        }
        rr = next;
    }
    q
}

fn squared(v: &[Vec2]) -> f64 {
    v.iter().map(|x| x.length_squared()).sum()
}

fn minus(a: &[Vec2], b: &[Vec2]) -> Vec<Vec2> {
    a.iter().zip(b).map(|(x, y)| *x - *y).collect()
}

fn applied(q: &[Vec2], stiffness: f64) -> Vec<Vec2> {
    let mut out = q.to_vec();
    for i in 1..q.len() - 1 {
        let second = (q[i - 1] - q[i] * 2.0 + q[i + 1]) * stiffness;
        out[i - 1] += second;
        out[i] -= second * 2.0;
        out[i + 1] += second;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_circle_is_met_between_the_points() {
        let on = |t: f64| Vec2::new(t.cos(), t.sin()) * 50.0;
        let points: Vec<_> = (0..60).map(|i| on(f64::from(i) * 0.02)).collect();
        let spline = Spline::through(points).expect("points");
        for i in 0..118 {
            let (p, d) = spline.at(f64::from(i) * 0.5);
            assert!((p.length() - 50.0).abs() < 1e-5, "{i} {}", p.length() - 50.0);
            assert!((d.dot(p) / (d.length() * p.length())).abs() < 1e-4);
        }
    }

    #[test]
    fn smoothing_keeps_lines_and_takes_the_jitter() {
        let line: Vec<_> = (0..40).map(|i| Vec2::new(f64::from(i), 2.0 * f64::from(i))).collect();
        let kept = smoothed(&line, 5.0);
        assert!(line.iter().zip(&kept).all(|(a, b)| a.distance(*b) < 1e-9));
        let rough: Vec<_> =
            line.iter().enumerate().map(|(i, p)| *p + Vec2::Y * [0.1, -0.1][i % 2]).collect();
        let calm = smoothed(&rough, 5.0);
        assert!((10..30).all(|i| calm[i].distance(line[i]) < 0.002), "{calm:?}");
    }

    #[test]
    fn resampling_spaces_evenly() {
        let bent = [Vec2::ZERO, Vec2::new(1.0, 0.0), Vec2::new(1.0, 3.0)];
        let even = resampled(&bent, 0.5);
        assert_eq!(even.len(), 9);
        assert!((even[4] - Vec2::new(1.0, 1.0)).length() < 1e-12);
    }
}
