//! The lower side of a cutter that stands upright: height over the tip by distance from the axis.

use cutter::{Element, Profile};
use std::f64::consts::FRAC_PI_2;

/// A piece of the lower side between two radii.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Piece {
    r_lo: f64,
    r_hi: f64,
    shape: Shape,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Shape {
    /// Height at `r_lo` and rise per mm.
    Line(f64, f64),
    /// Centre and radius.
    Arc(f64, f64, f64),
}

/// The lower side of a convex cutter: a convex function of the radius.
#[derive(Debug, Clone, PartialEq)]
pub struct Underside {
    pieces: Vec<Piece>,
    radius_mm: f64,
    top_mm: f64,
    undercuts: bool,
}

impl Underside {
    /// Of a cutting profile.
    pub fn new(profile: &Profile) -> Self {
        let mut pieces = Vec::new();
        let mut undercuts = false;
        for e in profile.elements() {
            let steep = e.kappa_range().1 > FRAC_PI_2 + geom::tolerance::PARALLEL_RAD;
            undercuts |= steep && e.end().0 < e.start().0.max(profile.largest_radius_mm());
            let (start, end, shape) = match *e {
                Element::Line(l) => {
                    let run = l.to_mm.0 - l.from_mm.0;
                    (l.from_mm, l.to_mm, Shape::Line(l.from_mm.1, (l.to_mm.1 - l.from_mm.1) / run))
                }
                Element::Arc(a) => {
                    let lo = a.kappa_lo_rad.min(FRAC_PI_2);
                    let hi = a.kappa_hi_rad.min(FRAC_PI_2);
                    (a.point(lo), a.point(hi), Shape::Arc(a.r0_mm, a.z0_mm, a.radius_mm))
                }
            };
            if end.0 - start.0 > geom::tolerance::COINCIDENT_MM * 1e-3 {
                pieces.push(Piece { r_lo: start.0, r_hi: end.0, shape });
            }
        }
        let radius_mm = pieces.last().map_or(0.0, |p| p.r_hi);
        Self { pieces, radius_mm, top_mm: profile.top_mm(), undercuts }
    }

    /// Largest radius, mm.
    pub fn radius_mm(&self) -> f64 {
        self.radius_mm
    }

    /// Height of the end of the flutes over the tip, mm.
    pub fn top_mm(&self) -> f64 {
        self.top_mm
    }

    /// Whether the profile narrows above its widest place.
    pub fn undercuts(&self) -> bool {
        self.undercuts
    }

    /// Radius of the flat end where the lower side is flat throughout.
    pub(crate) fn flat(&self) -> bool {
        matches!(self.pieces[..], [Piece { shape: Shape::Line(z, rise), .. }] if z == 0.0 && rise == 0.0)
    }

    /// Whether the lower side is one half ball.
    pub(crate) fn ball(&self) -> bool {
        matches!(self.pieces[..], [Piece { shape: Shape::Arc(r0, z0, radius), .. }]
            if r0.abs() < 1e-12 && (z0 - radius).abs() < 1e-12 && (radius - self.radius_mm).abs() < 1e-12)
    }

    /// Height over the tip at a distance from the axis up to the radius, mm.
    #[inline]
    pub fn height_mm(&self, r_mm: f64) -> f64 {
        self.value_and_slope(r_mm).0
    }

    /// Height over the tip and its rise per mm at a distance from the axis.
    #[inline]
    pub fn value_and_slope(&self, r_mm: f64) -> (f64, f64) {
        let Some(piece) = self.pieces.iter().find(|p| r_mm <= p.r_hi).or(self.pieces.last()) else {
            return (0.0, 0.0);
        };
        let r = r_mm.clamp(piece.r_lo, piece.r_hi);
        match piece.shape {
            Shape::Line(z, rise) => (z + rise * (r - piece.r_lo), rise),
            Shape::Arc(r0, z0, radius) => {
                let x = r - r0;
                let y = ((radius - x) * (radius + x)).max(0.0).sqrt();
                (z0 - y, x / y.max(1e-12))
            }
        }
    }
}
