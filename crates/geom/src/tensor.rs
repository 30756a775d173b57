//! Symmetric 2 × 2 tensors in a tangent plane.

/// A symmetric 2 × 2 tensor `[xx xy; xy yy]` in an orthonormal basis; curvatures in 1/mm.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Sym2 {
    /// First diagonal entry.
    pub xx: f64,
    /// Off-diagonal entry.
    pub xy: f64,
    /// Second diagonal entry.
    pub yy: f64,
}

/// Eigenvalues of a [`Sym2`], the larger first, with the angle of the larger one's eigenvector
/// from the first basis vector.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Eigen2 {
    /// Larger eigenvalue.
    pub large: f64,
    /// Smaller eigenvalue.
    pub small: f64,
    /// Angle of the eigenvector of `large` from the first basis vector, rad, in (-π/2, π/2].
    pub angle_rad: f64,
}

impl Sym2 {
    /// A tensor from its entries.
    pub fn new(xx: f64, xy: f64, yy: f64) -> Self {
        Self { xx, xy, yy }
    }

    /// A tensor that is diagonal in the basis at hand.
    pub fn diagonal(xx: f64, yy: f64) -> Self {
        Self { xx, xy: 0.0, yy }
    }

    /// Determinant.
    pub fn det(self) -> f64 {
        self.xx * self.yy - self.xy * self.xy
    }

    /// Trace.
    pub fn trace(self) -> f64 {
        self.xx + self.yy
    }

    /// The quadratic form `vᵀ A v` for `v = (x, y)`.
    pub fn form(self, x: f64, y: f64) -> f64 {
        x * x * self.xx + 2.0 * x * y * self.xy + y * y * self.yy
    }

    /// The tensor's entries in a basis turned by `angle_rad` (counter-clockwise) from this one.
    pub fn turned(self, angle_rad: f64) -> Self {
        let (s, c) = angle_rad.sin_cos();
        Self {
            xx: self.form(c, s),
            xy: (self.yy - self.xx) * s * c + self.xy * (c * c - s * s),
            yy: self.form(-s, c),
        }
    }

    /// Inverse, or `None` where the determinant vanishes.
    pub fn inverse(self) -> Option<Self> {
        let d = self.det();
        (d != 0.0 && d.is_finite()).then(|| Self::new(self.yy / d, -self.xy / d, self.xx / d))
    }

    /// `B A B` for a symmetric `B`.
    pub fn congruent(self, b: Self) -> Self {
        let form = |(x, y): (f64, f64), (u, v): (f64, f64)| {
            x * u * self.xx + (x * v + y * u) * self.xy + y * v * self.yy
        };
        let (first, second) = ((b.xx, b.xy), (b.xy, b.yy));
        Self::new(form(first, first), form(first, second), form(second, second))
    }

    /// What is left where negative eigenvalues become zero.
    pub fn rising(self) -> Self {
        let e = self.eigen();
        let (s, c) = e.angle_rad.sin_cos();
        let (large, small) = (e.large.max(0.0), e.small.max(0.0));
        Self::new(
            large * c * c + small * s * s,
            (large - small) * s * c,
            large * s * s + small * c * c,
        )
    }

    /// Every entry times `factor`.
    pub fn scaled(self, factor: f64) -> Self {
        Self::new(self.xx * factor, self.xy * factor, self.yy * factor)
    }

    /// Eigenvalues and direction.
    pub fn eigen(self) -> Eigen2 {
        let mean = 0.5 * (self.xx + self.yy);
        let half = 0.5 * (self.xx - self.yy);
        let radius = half.hypot(self.xy);
        Eigen2 { large: mean + radius, small: mean - radius, angle_rad: 0.5 * self.xy.atan2(half) }
    }
}

impl std::ops::Add for Sym2 {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        Self::new(self.xx + o.xx, self.xy + o.xy, self.yy + o.yy)
    }
}

impl std::ops::Sub for Sym2 {
    type Output = Self;
    fn sub(self, o: Self) -> Self {
        Self::new(self.xx - o.xx, self.xy - o.xy, self.yy - o.yy)
    }
}

/// Curvature (positive: rises towards the tool) from a surface radius as people give it: positive
/// convex, negative concave, infinite flat. The only place where the two signs meet.
pub fn curvature_from_radius(surface_radius_mm: f64) -> f64 {
    -1.0 / surface_radius_mm
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn eigenvalues_of_a_known_tensor() {
        // relative curvature of a barrel on a saddle: eigenvalues 0.01017670 and 0.1742147
        let m = Sym2::new(0.010_188_37, 0.001_383_136, 0.174_203_1);
        let e = m.eigen();
        // the entries above are rounded to seven digits
        assert!((e.small - 0.010_176_70).abs() < 2e-8);
        assert!((e.large - 0.174_214_7).abs() < 1e-7);
        assert!((m.det() - 0.001_772_932).abs() < 3e-9);
    }

    #[test]
    fn products_and_rising_parts_of_diagonal_tensors_turned() {
        // derived: in its own basis B A B is diag(2²·3, 5²·7), the rising part of diag(3, −7) is (3, 0)
        let (a, b) = (Sym2::diagonal(3.0, 7.0).turned(0.6), Sym2::diagonal(2.0, 5.0).turned(0.6));
        let back = a.congruent(b).turned(-0.6);
        assert!((back.xx - 12.0).abs() < 1e-12 && (back.yy - 175.0).abs() < 1e-12);
        assert!(back.xy.abs() < 1e-12);
        let part = Sym2::diagonal(3.0, -7.0).turned(0.6).rising().turned(-0.6);
        assert!((part.xx - 3.0).abs() < 1e-12 && part.yy.abs() < 1e-12 && part.xy.abs() < 1e-12);
    }

    #[test]
    fn turning_keeps_trace_and_determinant() {
        let m = Sym2::new(0.3, -0.2, 0.7);
        let t = m.turned(0.8);
        assert!((t.trace() - m.trace()).abs() < 1e-15 && (t.det() - m.det()).abs() < 1e-15);
        assert!((t.turned(-0.8).xy - m.xy).abs() < 1e-15);
    }

    #[test]
    fn eigenvector_angle_diagonalises() {
        let m = Sym2::new(0.3, -0.2, 0.7);
        let t = m.turned(m.eigen().angle_rad);
        assert!(t.xy.abs() < 1e-15 && t.xx >= t.yy);
    }
}
