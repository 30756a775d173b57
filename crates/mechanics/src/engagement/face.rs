//! Where a cutter is in the cut while it finishes a face, for any form of cutter.
//!
//! Local picture at a contact: the feed along `f`, the surface normal `n`, `c = n × f`. The axis
//! leans across the feed, so in the plane across the feed the cutter's section is its profile. A
//! point of the cutter cuts where it is in the layer of stock, outside what the neighbouring pass
//! has cleared, and on the front half. The surface is a circle of its curvature across the feed and
//! a parabola along it (second order, valid while the layer is thin against the radii).

use super::{Slice, lag_rad};
use cutter::{Cutter, Element, Profile};
use std::f64::consts::PI;

/// Slices over the engaged part of the profile.
const SLICES: usize = 48;
/// Samples along the profile that find the engaged part.
const SCAN: usize = 1200;
/// Samples of the angle that find entry and exit.
const ANGLES: usize = 90;
/// Halvings that refine an end.
const HALVINGS: usize = 40;
/// Layers thinner than this are none, mm.
const THIN_MM: f64 = 1e-7;

/// The neighbouring pass that was cut before.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cleared {
    /// On the side of `c`.
    Left,
    /// On the other side.
    Right,
    /// None: the first pass.
    Nothing,
}

/// A contact on a face with its stock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FaceCut {
    /// Angle between surface normal and axis, rad.
    pub kappa_rad: f64,
    /// Whether the axis leans towards `c` (to the left of the feed).
    pub leans_left: bool,
    /// Stock along the normal, mm.
    pub layer_mm: f64,
    /// Distance to the neighbouring contact line along the surface, mm.
    pub stepover_mm: f64,
    /// Where that line lies.
    pub cleared: Cleared,
    /// Curvature of the surface across the feed, 1/mm, positive where it rises towards the cutter.
    pub across_per_mm: f64,
    /// Curvature along the feed, 1/mm.
    pub along_per_mm: f64,
    /// Helix angle, rad.
    pub helix_rad: f64,
}

/// The cutter stood on the surface, in the plane across the feed.
struct Stood<'a> {
    profile: &'a Profile,
    cut: &'a FaceCut,
    tip: [f64; 2],
    axis: [f64; 2],
    /// Where the tooth stands at angle 0.
    zero: [f64; 2],
}

/// Slices that are in the cut; empty where nothing is.
pub fn slices(cutter: &Cutter, cut: &FaceCut) -> Vec<Slice> {
    let Some(stood) = Stood::new(cutter.profile(), cut) else { return Vec::new() };
    let total: f64 = cutter.profile().elements().iter().map(length_mm).sum();
    let sample = |i: usize| total * (i as f64 + 0.5) / SCAN as f64;
    let within = (0..SCAN).filter(|i| stood.place(sample(*i)).is_some_and(|p| stood.touches(&p)));
    let ends = within.fold(None, |ends: Option<(usize, usize)>, i| {
        Some(ends.map_or((i, i), |(first, _)| (first, i)))
    });
    let Some((first, last)) = ends else { return Vec::new() };
    let half = 0.5 * total / SCAN as f64;
    let (from, to) = (sample(first) - half, sample(last) + half);
    let width = (to - from) / SLICES as f64;
    let mut lag = 0.0;
    let mut out = Vec::new();
    for i in 0..SLICES {
        let Some(place) = stood.place(from + width * (i as f64 + 0.5)) else { continue };
        let rise = width * place.kappa_rad.sin().abs();
        // near the axis the edge of a cutter runs straight out: no lag to speak of
        let span = lag_rad(rise, cut.helix_rad, place.radius_mm.max(width)).min(PI / 8.0);
        let slice = |(entry_rad, exit_rad): (f64, f64)| Slice {
            z_mm: place.z_mm,
            radius_mm: place.radius_mm,
            kappa_rad: place.kappa_rad,
            width_mm: width,
            lag_rad: lag + 0.5 * span,
            lag_span_rad: span,
            entry_rad,
            exit_rad,
        };
        out.extend(stood.arcs(&place).into_iter().map(slice));
        lag += span;
    }
    out
}

/// A point of the profile.
struct Place {
    z_mm: f64,
    radius_mm: f64,
    kappa_rad: f64,
}

fn length_mm(e: &Element) -> f64 {
    match e {
        Element::Arc(a) => a.length_mm(),
        Element::Line(l) => l.length_mm(),
    }
}

impl<'a> Stood<'a> {
    fn new(profile: &'a Profile, cut: &'a FaceCut) -> Option<Self> {
        let contact = profile.contact(cut.kappa_rad).ok()?;
        let (s, c) = cut.kappa_rad.sin_cos();
        let side = if cut.leans_left { 1.0 } else { -1.0 };
        let axis = [side * s, c];
        // a × f, and from the axis to the contact
        let zero = [c, -side * s];
        let to_contact = [side * c, -s];
        let tip = [0, 1].map(|i| -contact.r_mm * to_contact[i] - contact.z_mm * axis[i]);
        Some(Self { profile, cut, tip, axis, zero })
    }

    /// The profile at a length from its start.
    fn place(&self, mut at_mm: f64) -> Option<Place> {
        for e in self.profile.elements() {
            let length = length_mm(e);
            if at_mm <= length && length > 0.0 {
                let f = at_mm / length;
                let ((r, z), kappa_rad) = match e {
                    Element::Arc(a) => {
                        let k = a.kappa_lo_rad + f * (a.kappa_hi_rad - a.kappa_lo_rad);
                        (a.point(k), k)
                    }
                    Element::Line(l) => {
                        let mix = |a: f64, b: f64| a + f * (b - a);
                        let at = (mix(l.from_mm.0, l.to_mm.0), mix(l.from_mm.1, l.to_mm.1));
                        (at, l.kappa_rad)
                    }
                };
                return Some(Place { z_mm: z, radius_mm: r, kappa_rad });
            }
            at_mm -= length;
        }
        None
    }

    /// How far a point is inside what is still to be cut, mm: positive inside.
    fn inside_mm(&self, place: &Place, angle_rad: f64) -> f64 {
        let (sin, cos) = angle_rad.sin_cos();
        let at = |i: usize| {
            self.tip[i] + place.z_mm * self.axis[i] + place.radius_mm * cos * self.zero[i]
        };
        let (c, n, f) = (at(0), at(1), place.radius_mm * sin);
        let height = above(self.cut.across_per_mm, c, n) - 0.5 * self.cut.along_per_mm * f * f;
        (self.cut.layer_mm - height).min(self.uncleared_mm(c, n))
    }

    /// How far outside the neighbouring pass a point of the plane across the feed is, mm.
    fn uncleared_mm(&self, c: f64, n: f64) -> f64 {
        let step = match self.cut.cleared {
            Cleared::Nothing => return f64::INFINITY,
            Cleared::Left => self.cut.stepover_mm,
            Cleared::Right => -self.cut.stepover_mm,
        };
        // the neighbour's frame: along the surface's circle by the step
        let turn = step * self.cut.across_per_mm;
        let (s, co) = turn.sin_cos();
        let sinc = if turn.abs() < 1e-6 { 1.0 } else { s / turn };
        let rise = if turn.abs() < 1e-6 { 0.5 * turn } else { (1.0 - co) / turn };
        let (dc, dn) = (c - step * sinc, n - step * rise);
        let (c, n) = (dc * co + dn * s, dn * co - dc * s);
        let (x, y) = (c - self.tip[0], n - self.tip[1]);
        let z = x * self.axis[0] + y * self.axis[1];
        let r = x * self.zero[0] + y * self.zero[1];
        self.profile.kernel().value(r.abs(), z)
    }

    /// Whether any of the front half of a ring is in the layer.
    fn touches(&self, place: &Place) -> bool {
        (0..=ANGLES).any(|i| self.inside_mm(place, PI * i as f64 / ANGLES as f64) > THIN_MM)
    }

    /// The angles between which a point of the profile cuts.
    fn arcs(&self, place: &Place) -> Vec<(f64, f64)> {
        let step = PI / ANGLES as f64;
        let inside = |angle: f64| self.inside_mm(place, angle) > THIN_MM;
        let mut out: Vec<(f64, f64)> = Vec::new();
        let mut open = inside(0.0).then_some(0.0);
        for i in 1..=ANGLES {
            let angle = step * i as f64;
            match (open, inside(angle)) {
                (None, true) => open = Some(crossing(&inside, angle, angle - step)),
                (Some(entry), false) => {
                    out.push((entry, crossing(&inside, angle - step, angle)));
                    open = None;
                }
                _ => {}
            }
        }
        out.extend(open.map(|entry| (entry, PI)));
        out
    }
}

/// Height over a circle of curvature `k` through the origin, tangent to the first axis, mm.
fn above(k: f64, c: f64, n: f64) -> f64 {
    let (a, b) = (1.0 - k * n, k * c);
    (2.0 * n - k * (c * c + n * n)) / (1.0 + a.hypot(b))
}

/// Where a condition that holds at `within` and not at `without` ends.
fn crossing(inside: &dyn Fn(f64) -> bool, mut within: f64, mut without: f64) -> f64 {
    for _ in 0..HALVINGS {
        let middle = 0.5 * (within + without);
        if inside(middle) { within = middle } else { without = middle }
    }
    within
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engagement::peripheral::{Arc, Way};
    use cutter::{CutterSpec, Form};

    fn face(kappa_deg: f64, layer_mm: f64, stepover_mm: f64, cleared: Cleared) -> FaceCut {
        FaceCut {
            kappa_rad: kappa_deg.to_radians(),
            leans_left: true,
            layer_mm,
            stepover_mm,
            cleared,
            across_per_mm: 0.0,
            along_per_mm: 0.0,
            helix_rad: 30f64.to_radians(),
        }
    }

    /// Chip volume per tooth and mm of feed: what passes the slices, `∫ fz sin κ sin φ dφ r ds / fz`.
    fn section_mm2(slices: &[Slice]) -> f64 {
        let of = |s: &Slice| {
            let swing = s.entry_rad.cos() - s.exit_rad.cos();
            s.radius_mm * s.width_mm * s.kappa_rad.sin() * swing
        };
        slices.iter().map(of).sum()
    }

    #[test]
    fn a_cylinder_on_a_wall_is_a_peripheral_cut() {
        let mut spec = CutterSpec::new(Form::Flat, 12.0);
        spec.flute_length_mm = Some(20.0);
        let cutter = Cutter::new(&spec).unwrap();
        let found = slices(&cutter, &face(90.0, 1.3, 9.0, Cleared::Nothing));
        let arc = Arc::beside(12.0, 1.3, Way::Up).unwrap();
        let side: Vec<&Slice> = found.iter().filter(|s| s.kappa_rad > 1.57).collect();
        assert!(side.len() > 40);
        for s in side {
            assert!((s.entry_rad - arc.entry_rad).abs() < 1e-6, "{s:?}");
            assert!((s.exit_rad - arc.exit_rad).abs() < 1e-4, "{s:?} {arc:?}");
        }
    }

    #[test]
    fn the_chips_carry_off_the_layer() {
        // what the teeth cut in steady passes is step-over times layer, for every form and lean
        let ball = CutterSpec::new(Form::Ball, 12.0);
        let mut barrel = CutterSpec::new(Form::TaperBarrel, 12.0);
        barrel.arc_radius_mm = Some(250.0);
        barrel.corner_radius_mm = Some(2.0);
        barrel.taper_rad = Some(20f64.to_radians());
        barrel.flute_length_mm = Some(26.0);
        let cases = [(&ball, 15.0, 0.2, 0.3), (&ball, 40.0, 0.1, 0.5), (&barrel, 68.8, 0.15, 2.0)];
        for (spec, kappa, layer, step) in cases {
            let cutter = Cutter::new(spec).unwrap();
            for cleared in [Cleared::Left, Cleared::Right] {
                for across_per_mm in [0.0, -1.0 / 300.0, 1.0 / 800.0] {
                    let cut = FaceCut { across_per_mm, ..face(kappa, layer, step, cleared) };
                    let found = section_mm2(&slices(&cutter, &cut));
                    // on a bent surface the layer's middle is longer or shorter than its foot
                    let right = step * layer * (1.0 - 0.5 * across_per_mm * layer);
                    let error = (found / right - 1.0).abs();
                    assert!(
                        error < 0.02,
                        "{:?} {cleared:?} {across_per_mm}: {found} {right}",
                        spec.form
                    );
                }
            }
        }
    }

    #[test]
    fn a_mirrored_cut_is_mirrored() {
        let cutter = Cutter::new(&CutterSpec::new(Form::Ball, 10.0)).unwrap();
        let left = slices(&cutter, &face(25.0, 0.2, 0.3, Cleared::Left));
        let mirrored = FaceCut { leans_left: false, ..face(25.0, 0.2, 0.3, Cleared::Right) };
        let right = slices(&cutter, &mirrored);
        assert_eq!(left.len(), right.len());
        for (a, b) in left.iter().zip(&right) {
            assert!((a.entry_rad - (PI - b.exit_rad)).abs() < 1e-6);
        }
    }
}
