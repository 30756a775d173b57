//! Surfaces at a constant distance from another, along its natural normal.
//!
//! With `N = Su × Sv`, `n = N/|N|` the offset is `S + d n`. Its derivatives need those of `n`,
//! which follow from `N` by differentiating `n |N| = N`; so the second order of the offset uses
//! the third order of the base, and nothing is approximated.

use super::{Jet, Jet3, Surface};
use crate::Vec3;

/// A surface moved along its normal.
#[derive(Debug, Clone, PartialEq)]
pub struct Offset {
    base: Surface,
    distance_mm: f64,
}

impl Offset {
    /// The surface at `distance_mm` from `base`; the offset of an offset is one offset (their
    /// normals agree while the distance stays short of the base's radii of curvature).
    pub fn new(base: Surface, distance_mm: f64) -> Self {
        match base {
            Surface::Offset(inner) => {
                Self { base: inner.base, distance_mm: inner.distance_mm + distance_mm }
            }
            base => Self { base, distance_mm },
        }
    }

    /// The surface that it keeps its distance from; never an offset itself.
    pub fn base(&self) -> &Surface {
        &self.base
    }

    /// The distance along the base's `du × dv`, mm.
    pub fn distance_mm(&self) -> f64 {
        self.distance_mm
    }

    pub(super) fn jet(&self, u: f64, v: f64) -> Jet {
        match self.base.jet3(u, v) {
            Some(base) => offset_jet(&base, self.distance_mm),
            None => self.base.jet(u, v),
        }
    }
}

/// Jet of `S + d n` from the third-order jet of `S`. Where `S` is singular the result is not
/// finite, and no normal is found there.
fn offset_jet(s: &Jet3, d: f64) -> Jet {
    let Jet { p, du, dv, duu, duv, dvv } = s.jet;
    let normal = du.cross(dv);
    let nu = duu.cross(dv) + du.cross(duv);
    let nv = duv.cross(dv) + du.cross(dvv);
    let nuu = s.duuu.cross(dv) + 2.0 * duu.cross(duv) + du.cross(s.duuv);
    let nuv = s.duuv.cross(dv) + duu.cross(dvv) + du.cross(s.duvv);
    let nvv = s.duvv.cross(dv) + 2.0 * duv.cross(dvv) + du.cross(s.dvvv);
    let length = normal.length();
    let n = normal / length;
    let u = Slope::new(nu, n, length);
    let v = Slope::new(nv, n, length);
    // n_ab from differentiating n |N| = N twice
    let second = |n_ab: Vec3, a: &Slope, b: &Slope| {
        let length_ab = b.unit.dot(a.normal) + n.dot(n_ab);
        (n_ab - a.unit * b.length - b.unit * a.length - n * length_ab) / length
    };
    Jet {
        p: p + n * d,
        du: du + u.unit * d,
        dv: dv + v.unit * d,
        duu: duu + second(nuu, &u, &u) * d,
        duv: duv + second(nuv, &u, &v) * d,
        dvv: dvv + second(nvv, &v, &v) * d,
    }
}

/// First derivatives along one parameter: of the normal, of its length, of the unit normal.
struct Slope {
    normal: Vec3,
    length: f64,
    unit: Vec3,
}

impl Slope {
    fn new(normal: Vec3, n: Vec3, length_of_normal: f64) -> Self {
        let length = n.dot(normal);
        Self { normal, length, unit: (normal - n * length) / length_of_normal }
    }
}
