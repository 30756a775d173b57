//! Position and derivatives of a surface at a parameter pair; normal and curvature from them.

use crate::{Site, Sym2, TangentTensor, Vec3};

/// Position and partial derivatives of a parametric surface at one parameter pair.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Jet {
    /// Position, mm.
    pub p: Vec3,
    /// ∂p/∂u.
    pub du: Vec3,
    /// ∂p/∂v.
    pub dv: Vec3,
    /// ∂²p/∂u².
    pub duu: Vec3,
    /// ∂²p/∂u∂v.
    pub duv: Vec3,
    /// ∂²p/∂v².
    pub dvv: Vec3,
}

/// A [`Jet`] with the third derivatives, which the second order of an offset needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Jet3 {
    /// Up to the second order.
    pub jet: Jet,
    /// ∂³p/∂u³.
    pub duuu: Vec3,
    /// ∂³p/∂u²∂v.
    pub duuv: Vec3,
    /// ∂³p/∂u∂v².
    pub duvv: Vec3,
    /// ∂³p/∂v³.
    pub dvvv: Vec3,
}

impl Jet3 {
    /// A jet whose third derivatives vanish.
    pub fn of_second_order(jet: Jet) -> Self {
        Self { jet, duuu: Vec3::ZERO, duuv: Vec3::ZERO, duvv: Vec3::ZERO, dvvv: Vec3::ZERO }
    }
}

impl Jet {
    /// Normal and curvature from the first and second fundamental forms. `flip` turns the normal
    /// `du × dv` round where the face is used the other way. `None` where the parametrisation is
    /// singular (pole, apex).
    pub fn site(&self, flip: bool) -> Option<Site> {
        let cross = self.du.cross(self.dv);
        let area = cross.length();
        let scale = self.du.length() * self.dv.length();
        if area.is_nan() || area <= 1e-12 * scale || scale == 0.0 {
            return None;
        }
        let normal = if flip { -cross / area } else { cross / area };
        let e1 = self.du / self.du.length();
        let e2 = normal.cross(e1);
        // du = a e1, dv = b e1 + c e2; the second form in the orthonormal basis follows by solving
        // with that triangular matrix.
        let a = self.du.length();
        let (b, c) = (self.dv.dot(e1), self.dv.dot(e2));
        let (l, m, n) = (self.duu.dot(normal), self.duv.dot(normal), self.dvv.dot(normal));
        let xx = l / (a * a);
        let xy = (m / a - b * xx) / c;
        let yy = (n - 2.0 * b * c * xy - b * b * xx) / (c * c);
        Some(Site {
            point: self.p,
            normal,
            curvature: TangentTensor { e1, e2, entries: Sym2::new(xx, xy, yy) },
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sphere_curves_alike_everywhere_and_away_from_the_tool() {
        let (r, u, v) = (40.0_f64, 0.7_f64, 0.4_f64);
        let (su, cu) = u.sin_cos();
        let (sv, cv) = v.sin_cos();
        let jet = Jet {
            p: Vec3::new(r * cv * cu, r * cv * su, r * sv),
            du: Vec3::new(-r * cv * su, r * cv * cu, 0.0),
            dv: Vec3::new(-r * sv * cu, -r * sv * su, r * cv),
            duu: Vec3::new(-r * cv * cu, -r * cv * su, 0.0),
            duv: Vec3::new(r * sv * su, -r * sv * cu, 0.0),
            dvv: Vec3::new(-r * cv * cu, -r * cv * su, -r * sv),
        };
        let site = jet.site(false).expect("regular point");
        assert!((site.normal - jet.p / r).length() < 1e-14);
        let e = site.curvature.entries.eigen();
        assert!((e.large + 1.0 / r).abs() < 1e-15 && (e.small + 1.0 / r).abs() < 1e-15);
    }
}
