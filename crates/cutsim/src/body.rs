//! The cutting part as a convex body of revolution, in the form that the ray kernels want.
//!
//! The signed distance of a convex body is the largest of its support planes' distances,
//! `sd(P) = max over κ of ν(κ)·P − h(κ)` with `ν = (sin κ, −cos κ)` in (r, z). On an arc that
//! maximum is `|P − centre| − ρ` where the foot lies on the arc; on a line it is one plane. The
//! same expression holds inside, so the function is convex everywhere and 1-Lipschitz.

use geom::Vec3;
use std::f64::consts::{FRAC_PI_2, PI};

/// One piece of the profile, normals by their κ (angle between the outward normal and −axis).
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Piece {
    /// `r = r0 + ρ sin κ`, `z = z0 − ρ cos κ`; ρ = 0 is a sharp corner.
    Arc {
        /// Radius at which the arc's centre lies, mm; negative for large arcs.
        r0_mm: f64,
        /// Height of the centre over the tip, mm.
        z0_mm: f64,
        /// Radius ρ, mm.
        radius_mm: f64,
        /// First κ, rad.
        kappa_lo_rad: f64,
        /// Last κ, rad.
        kappa_hi_rad: f64,
    },
    /// A straight piece: all its points share one normal.
    Line {
        /// κ of its normal, rad.
        kappa_rad: f64,
        /// Support: distance of its line from the tip along that normal, mm.
        support_mm: f64,
    },
}

/// An arc ready for use: centre, radius and the two end normals.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct ArcPiece {
    pub(crate) r0: f64,
    pub(crate) z0: f64,
    pub(crate) rho: f64,
    pub(crate) lo: [f64; 2],
    pub(crate) hi: [f64; 2],
}

/// A straight piece ready for use: normal in (r, z) and support.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct LinePiece {
    pub(crate) nr: f64,
    pub(crate) nz: f64,
    pub(crate) h: f64,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Element {
    Arc(ArcPiece),
    Line(LinePiece),
}

/// Convex body of revolution about its axis, tip at the origin.
#[derive(Debug, Clone, PartialEq)]
pub struct Body {
    elements: Vec<Element>,
    reach_mm: f64,
}

/// Signed distance at a point of the (r, z) half-plane with what its derivatives need.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Foot {
    /// Signed distance, mm.
    pub(crate) value: f64,
    /// Its gradient in (r, z), a unit vector.
    pub(crate) gr: f64,
    pub(crate) gz: f64,
    /// Which element holds the foot.
    pub(crate) element: usize,
}

fn normal(kappa_rad: f64) -> [f64; 2] {
    let (s, c) = kappa_rad.sin_cos();
    [s, -c]
}

impl ArcPiece {
    /// Whether the direction from the centre lies between the arc's end normals.
    #[inline(always)]
    pub(crate) fn holds(&self, dr: f64, dz: f64) -> bool {
        self.lo[0] * dz - self.lo[1] * dr >= 0.0 && dr * self.hi[1] - dz * self.hi[0] >= 0.0
    }

    /// Signed distance and gradient at `(dr, dz)` from the centre, `length` away.
    #[inline(always)]
    fn foot(&self, dr: f64, dz: f64, length: f64) -> (f64, f64, f64) {
        if length > 0.0 && self.holds(dr, dz) {
            return (length - self.rho, dr / length, dz / length);
        }
        let lo = self.lo[0] * dr + self.lo[1] * dz;
        let hi = self.hi[0] * dr + self.hi[1] * dz;
        let (v, g) = if lo >= hi { (lo, self.lo) } else { (hi, self.hi) };
        (v - self.rho, g[0], g[1])
    }
}

impl Body {
    /// A body from the pieces of its profile in order from the tip, closed above by a flat at
    /// `top_mm` whose edge lies at radius `r_top_mm`. `None` where a number is not finite or no
    /// piece is given.
    pub fn new(pieces: &[Piece], top_mm: f64, r_top_mm: f64) -> Option<Self> {
        let last = match pieces.last()? {
            Piece::Arc { kappa_hi_rad, .. } => *kappa_hi_rad,
            Piece::Line { kappa_rad, .. } => *kappa_rad,
        };
        let mut all = pieces.to_vec();
        all.push(Piece::Arc {
            r0_mm: r_top_mm,
            z0_mm: top_mm,
            radius_mm: 0.0,
            kappa_lo_rad: last,
            kappa_hi_rad: PI,
        });
        all.push(Piece::Line { kappa_rad: PI, support_mm: top_mm });
        Self::from_closed(&all, top_mm.hypot(all.iter().map(widest).fold(r_top_mm, f64::max)))
    }

    /// A body from a chain that is closed already; `reach_mm` is the radius of a ball about the
    /// tip that holds it.
    fn from_closed(pieces: &[Piece], reach_mm: f64) -> Option<Self> {
        let elements: Vec<Element> = pieces.iter().map(element).collect::<Option<_>>()?;
        (reach_mm.is_finite() && !elements.is_empty()).then_some(Self { elements, reach_mm })
    }

    /// Radius of a ball about the tip that holds the whole body, mm.
    pub fn reach_mm(&self) -> f64 {
        self.reach_mm
    }

    pub(crate) fn element(&self, i: usize) -> &Element {
        &self.elements[i]
    }

    /// Signed distance of a point of the (r, z) half-plane, mm; negative inside.
    pub fn signed_distance_mm(&self, r_mm: f64, z_mm: f64) -> f64 {
        self.foot(r_mm, z_mm).value
    }

    /// Signed distance with its gradient.
    #[inline(always)]
    pub(crate) fn foot(&self, r: f64, z: f64) -> Foot {
        let mut best = Foot { value: f64::NEG_INFINITY, gr: 0.0, gz: -1.0, element: 0 };
        for (i, e) in self.elements.iter().enumerate() {
            let (value, gr, gz) = match e {
                Element::Arc(a) => {
                    let (dr, dz) = (r - a.r0, z - a.z0);
                    let length = (dr * dr + dz * dz).sqrt();
                    if length > a.rho && a.holds(dr, dz) {
                        // outside with its foot on the arc: nothing is nearer
                        let inv = 1.0 / length;
                        let value = length - a.rho;
                        return Foot { value, gr: dr * inv, gz: dz * inv, element: i };
                    }
                    a.foot(dr, dz, length)
                }
                Element::Line(l) => (l.nr * r + l.nz * z - l.h, l.nr, l.nz),
            };
            if value > best.value {
                best = Foot { value, gr, gz, element: i };
            }
        }
        best
    }

    /// Curvature of the signed distance along the profile at a foot: 1 / distance from the arc's
    /// centre, 0 on a line or where the foot is an arc's end.
    #[inline(always)]
    pub(crate) fn bend(&self, foot: &Foot, r: f64, z: f64) -> f64 {
        match &self.elements[foot.element] {
            Element::Arc(a) if foot.value + a.rho > 0.0 && a.holds(r - a.r0, z - a.z0) => {
                1.0 / (foot.value + a.rho)
            }
            _ => 0.0,
        }
    }

    /// Signed distance of a point in space from the body with its tip at `tip`, and its gradient.
    #[inline(always)]
    pub(crate) fn distance_at(&self, tip: Vec3, axis: Vec3, q: Vec3) -> (f64, Vec3) {
        let d = q - tip;
        let z = d.dot(axis);
        let radial = d - axis * z;
        let r = radial.length();
        let foot = self.foot(r, z);
        let out = if r > 0.0 { radial / r } else { axis.any_orthonormal_vector() };
        (foot.value, out * foot.gr + axis * foot.gz)
    }
}

fn element(piece: &Piece) -> Option<Element> {
    match *piece {
        Piece::Arc { r0_mm, z0_mm, radius_mm, kappa_lo_rad, kappa_hi_rad } => {
            let finite = [r0_mm, z0_mm, radius_mm, kappa_lo_rad, kappa_hi_rad];
            let ok = finite.iter().all(|v| v.is_finite())
                && radius_mm >= 0.0
                && kappa_hi_rad >= kappa_lo_rad
                && kappa_hi_rad - kappa_lo_rad <= PI;
            ok.then(|| {
                Element::Arc(ArcPiece {
                    r0: r0_mm,
                    z0: z0_mm,
                    rho: radius_mm,
                    lo: normal(kappa_lo_rad),
                    hi: normal(kappa_hi_rad),
                })
            })
        }
        Piece::Line { kappa_rad, support_mm } => {
            let [nr, nz] = normal(kappa_rad);
            (kappa_rad.is_finite() && support_mm.is_finite()).then_some(Element::Line(LinePiece {
                nr,
                nz,
                h: support_mm,
            }))
        }
    }
}

/// Largest radius on a piece; lines end where arcs or corners begin.
fn widest(piece: &Piece) -> f64 {
    match *piece {
        Piece::Arc { r0_mm, radius_mm, kappa_lo_rad, kappa_hi_rad, .. } => {
            r0_mm + radius_mm * FRAC_PI_2.max(kappa_lo_rad).min(kappa_hi_rad).sin()
        }
        Piece::Line { .. } => 0.0,
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    /// Ball nose of radius `r` with `flute` mm of cutting length.
    pub(crate) fn ball(r: f64, flute: f64) -> Body {
        let pieces = [
            Piece::Arc {
                r0_mm: 0.0,
                z0_mm: r,
                radius_mm: r,
                kappa_lo_rad: 0.0,
                kappa_hi_rad: FRAC_PI_2,
            },
            Piece::Line { kappa_rad: FRAC_PI_2, support_mm: r },
        ];
        Body::new(&pieces, flute, r).expect("a ball")
    }

    /// Corner-radius cutter.
    pub(crate) fn torus(d: f64, rc: f64, flute: f64) -> Body {
        let pieces = [
            Piece::Line { kappa_rad: 0.0, support_mm: 0.0 },
            Piece::Arc {
                r0_mm: d / 2.0 - rc,
                z0_mm: rc,
                radius_mm: rc,
                kappa_lo_rad: 0.0,
                kappa_hi_rad: FRAC_PI_2,
            },
            Piece::Line { kappa_rad: FRAC_PI_2, support_mm: d / 2.0 },
        ];
        Body::new(&pieces, flute, d / 2.0).expect("a torus")
    }

    /// Tangent-barrel: flank arc `rho` that reaches the cylinder at r = d/2, ball tip `rc`.
    pub(crate) fn barrel(d: f64, rho: f64, rc: f64, flute: f64) -> Body {
        let r0 = d / 2.0 - rho;
        let kj = ((0.0 - r0) / (rho - rc)).asin();
        let z0 = rc + (rho - rc) * kj.cos();
        let pieces = [
            Piece::Arc {
                r0_mm: 0.0,
                z0_mm: rc,
                radius_mm: rc,
                kappa_lo_rad: 0.0,
                kappa_hi_rad: kj,
            },
            Piece::Arc {
                r0_mm: r0,
                z0_mm: z0,
                radius_mm: rho,
                kappa_lo_rad: kj,
                kappa_hi_rad: FRAC_PI_2,
            },
            Piece::Line { kappa_rad: FRAC_PI_2, support_mm: d / 2.0 },
        ];
        Body::new(&pieces, flute.max(z0 + 1.0), d / 2.0).expect("a barrel")
    }

    #[test]
    fn a_point_beside_a_tangent_barrel() {
        // derived: D 10, arc 250, ball tip 1.5; foot at κ 82.50245° gives 3.366171 mm
        let b = barrel(10.0, 250.0, 1.5, 20.0);
        assert!((b.signed_distance_mm(6.2, 10.0) - 3.366_171).abs() < 5e-7);
        let f = b.foot(6.2, 10.0);
        assert!((f.gr.atan2(-f.gz).to_degrees() - 82.502_45).abs() < 5e-6);
    }

    #[test]
    fn inside_outside_and_over_the_top() {
        let b = ball(6.0, 26.0);
        assert!((b.signed_distance_mm(0.0, -1.0) - 1.0).abs() < 1e-15);
        assert!((b.signed_distance_mm(0.0, 6.0) + 6.0).abs() < 1e-12);
        assert!((b.signed_distance_mm(9.0, 30.0) - 5.0).abs() < 1e-12);
        assert!((b.signed_distance_mm(8.0, 20.0) - 2.0).abs() < 1e-12);
    }

    #[test]
    fn numbers_that_are_none_are_refused() {
        let nan = Piece::Line { kappa_rad: f64::NAN, support_mm: 1.0 };
        assert!(Body::new(&[nan], 10.0, 5.0).is_none());
        assert!(Body::new(&[], 10.0, 5.0).is_none());
    }
}
