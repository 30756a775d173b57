//! Signed distance to a convex body of revolution.
//!
//! For a convex body the signed distance is the largest signed distance to its supporting planes,
//! inside as outside. Over an arc that maximum is the distance to the centre less the radius
//! where the point lies in the arc's sector, and lies on one of the arc's end planes elsewhere, so
//! that a maximum over a handful of planes and sectors is exact everywhere, without a search.

use crate::profile::{Element, Profile};
use geom::Vec3;

/// A signed distance with its foot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Distance {
    /// Signed distance, mm: negative inside.
    pub value_mm: f64,
    /// Normal angle at the foot, rad.
    pub kappa_rad: f64,
    /// Foot on the profile `(r, z)`, mm.
    pub foot_mm: (f64, f64),
}

/// A signed distance with its derivatives in space.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShapeAt {
    /// Signed distance, mm.
    pub value_mm: f64,
    /// Outward unit normal at the foot: the gradient.
    pub gradient: Vec3,
    /// Unit tangent along the profile.
    pub along: Vec3,
    /// Second derivative along the profile, 1/mm.
    pub along_per_mm: f64,
    /// Unit tangent around the axis.
    pub around: Vec3,
    /// Second derivative around the axis, 1/mm.
    pub around_per_mm: f64,
}

/// Foot of a point: distance, sine and cosine of the normal angle, bend of the level line.
#[derive(Clone, Copy)]
struct Foot {
    value: f64,
    s: f64,
    c: f64,
    bend: f64,
}

/// A supporting plane of the body: `r s - z c - h`.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Plane {
    s: f64,
    c: f64,
    h: f64,
}

/// An arc with the directions of its two ends.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Sector {
    r0: f64,
    z0: f64,
    radius: f64,
    lo: (f64, f64),
    hi: (f64, f64),
}

/// A closed profile laid out for fast signed distances.
#[derive(Debug, Clone, PartialEq)]
pub struct Kernel {
    planes: Vec<Plane>,
    sectors: Vec<Sector>,
}

impl Plane {
    fn at(kappa: f64, (r, z): (f64, f64)) -> Self {
        let (s, c) = kappa.sin_cos();
        Self { s, c, h: r * s - z * c }
    }

    #[inline]
    fn value(&self, r: f64, z: f64) -> f64 {
        r * self.s - z * self.c - self.h
    }
}

impl Sector {
    #[inline]
    fn value(&self, r: f64, z: f64) -> f64 {
        let (x, y) = (r - self.r0, self.z0 - z);
        // x along sin kappa, y along cos kappa: in the sector iff the ends lie on either side
        let above_lo = x * self.lo.1 - y * self.lo.0;
        let below_hi = y * self.hi.0 - x * self.hi.1;
        if above_lo >= 0.0 && below_hi >= 0.0 {
            (x * x + y * y).sqrt() - self.radius
        } else {
            f64::NEG_INFINITY
        }
    }

    fn kappa(&self, r: f64, z: f64) -> f64 {
        (r - self.r0).atan2(self.z0 - z)
    }
}

impl Kernel {
    /// From the elements of a closed chain.
    pub(crate) fn new(closed: &[Element]) -> Self {
        let mut planes: Vec<Plane> = Vec::new();
        let mut sectors = Vec::new();
        for e in closed {
            match e {
                Element::Line(l) => planes.push(Plane::at(l.kappa_rad, l.from_mm)),
                Element::Arc(a) => {
                    let (lo, hi) = (a.kappa_lo_rad, a.kappa_hi_rad);
                    planes.push(Plane::at(lo, a.point(lo)));
                    planes.push(Plane::at(hi, a.point(hi)));
                    sectors.push(Sector {
                        r0: a.r0_mm,
                        z0: a.z0_mm,
                        radius: a.radius_mm,
                        lo: lo.sin_cos(),
                        hi: hi.sin_cos(),
                    });
                }
            }
        }
        planes.dedup_by(|b, a| {
            let near = geom::tolerance::SOLVED_MM * 1e-3;
            (a.s - b.s).abs() + (a.c - b.c).abs() + (a.h - b.h).abs() < near
        });
        Self { planes, sectors }
    }

    /// Signed distance of `(r_mm, z_mm)`, `r_mm` not negative, mm.
    #[inline]
    pub fn value(&self, r_mm: f64, z_mm: f64) -> f64 {
        let mut best = f64::NEG_INFINITY;
        for plane in &self.planes {
            best = best.max(plane.value(r_mm, z_mm));
        }
        for sector in &self.sectors {
            best = best.max(sector.value(r_mm, z_mm));
        }
        best
    }

    /// Signed distance of a point from a cutter that stands with its tip at `tip` and its axis
    /// (unit) along `axis`, mm.
    #[inline]
    pub fn at(&self, tip: Vec3, axis: Vec3, point: Vec3) -> f64 {
        let d = point - tip;
        let z = d.dot(axis);
        self.value((d - axis * z).length(), z)
    }

    /// The foot of `(r_mm, z_mm)`: a supporting plane whose distance is the signed distance.
    #[inline]
    fn foot(&self, r_mm: f64, z_mm: f64) -> Foot {
        let mut best = Foot { value: f64::NEG_INFINITY, s: 0.0, c: 1.0, bend: 0.0 };
        for plane in &self.planes {
            let value = plane.value(r_mm, z_mm);
            if value > best.value {
                best = Foot { value, s: plane.s, c: plane.c, bend: 0.0 };
            }
        }
        for sector in &self.sectors {
            let value = sector.value(r_mm, z_mm);
            let length = value + sector.radius;
            if value > best.value && length > 0.0 {
                let (x, y) = (r_mm - sector.r0, sector.z0 - z_mm);
                best = Foot { value, s: x / length, c: y / length, bend: 1.0 / length };
            }
        }
        best
    }

    /// Signed distance of a point from a cutter standing at `tip` along `axis` (unit), mm, with
    /// its gradient: the outward unit normal at the foot.
    #[inline]
    pub fn at_with_gradient(&self, tip: Vec3, axis: Vec3, point: Vec3) -> (f64, Vec3) {
        let at = self.shape_at(tip, axis, point);
        (at.value_mm, at.gradient)
    }

    /// Signed distance of a point with its first and second derivatives; arguments as
    /// [`Kernel::at`].
    #[inline]
    pub fn shape_at(&self, tip: Vec3, axis: Vec3, point: Vec3) -> ShapeAt {
        let d = point - tip;
        let z = d.dot(axis);
        let radial = d - axis * z;
        let r = radial.length();
        let foot = self.foot(r, z);
        // on the axis every azimuth is a supporting plane's
        let e = if r > 0.0 { radial / r } else { axis.any_orthonormal_vector() };
        ShapeAt {
            value_mm: foot.value,
            gradient: e * foot.s - axis * foot.c,
            along: e * foot.c + axis * foot.s,
            along_per_mm: foot.bend,
            around: axis.cross(e),
            around_per_mm: if r > 0.0 { foot.s / r } else { 0.0 },
        }
    }

    fn distance(&self, r: f64, z: f64) -> Distance {
        let (mut value, mut kappa) = (f64::NEG_INFINITY, 0.0);
        for sector in &self.sectors {
            let here = sector.value(r, z);
            if here > value {
                (value, kappa) = (here, sector.kappa(r, z));
            }
        }
        for plane in &self.planes {
            let here = plane.value(r, z);
            if here > value {
                (value, kappa) = (here, plane.s.atan2(plane.c));
            }
        }
        let (s, c) = kappa.sin_cos();
        Distance { value_mm: value, kappa_rad: kappa, foot_mm: (r - value * s, z + value * c) }
    }
}

impl Profile {
    /// Signed distance of `(r_mm, z_mm)` from the closed body with its foot; 1-Lipschitz, with the
    /// outward normal at the foot as gradient. Inside, where several feet are nearest, one of them.
    pub fn signed_distance(&self, r_mm: f64, z_mm: f64) -> Distance {
        self.kernel().distance(r_mm.abs(), z_mm)
    }

    /// Signed distance of a point from the body standing at `tip` along `axis` (unit), mm.
    #[inline]
    pub fn distance_at(&self, tip: Vec3, axis: Vec3, point: Vec3) -> f64 {
        self.kernel().at(tip, axis, point)
    }
}
