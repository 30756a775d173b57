//! The cutting profile of a cutter as the body that the ray kernels want.

use crate::body::{Body, Piece};
use cutter::{Element, Profile};

impl Body {
    /// The cutting part of a profile, closed above by a flat; `None` where the profile is empty.
    pub fn of_profile(profile: &Profile) -> Option<Self> {
        let pieces: Vec<Piece> = profile.elements().iter().map(piece).collect();
        let (r_top_mm, top_mm) = profile.elements().last()?.end();
        Self::new(&pieces, top_mm, r_top_mm)
    }
}

fn piece(element: &Element) -> Piece {
    match *element {
        Element::Arc(a) => Piece::Arc {
            r0_mm: a.r0_mm,
            z0_mm: a.z0_mm,
            radius_mm: a.radius_mm,
            kappa_lo_rad: a.kappa_lo_rad,
            kappa_hi_rad: a.kappa_hi_rad,
        },
        Element::Line(l) => {
            let (sin, cos) = l.kappa_rad.sin_cos();
            Piece::Line {
                kappa_rad: l.kappa_rad,
                support_mm: l.from_mm.0 * sin - l.from_mm.1 * cos,
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use cutter::{Cutter, CutterSpec, Form};

    #[test]
    fn both_bodies_keep_the_same_distance() {
        let mut spec = CutterSpec::new(Form::TangentBarrel, 10.0);
        spec.arc_radius_mm = Some(250.0);
        spec.corner_radius_mm = Some(1.5);
        let cutter = Cutter::new(&spec).expect("a cutter");
        let body = Body::of_profile(cutter.profile()).expect("a body");
        for (r, z) in [(6.2, 10.0), (0.3, -0.5), (2.0, 0.1), (5.5, 30.0), (3.0, 16.0)] {
            let expected = cutter.profile().signed_distance(r, z).value_mm;
            assert!((body.signed_distance_mm(r, z) - expected).abs() < 1e-9, "{r} {z}");
        }
    }
}
