//! Where a cutter is in the cut while it finishes a face, for any form of cutter.
//!
//! Local picture at a contact: the feed along `f`, the surface normal `n`, `c = n × f`. The axis
//! leans across the feed, so in the plane across the feed the cutter's section is its profile. A
//! point of the cutter cuts where it is in the layer of stock, outside what the neighbouring pass
//! has cleared, and on the front half. The surface is a circle of its curvature across the feed and
//! a parabola along it (second order, valid while the layer is thin against the radii).

use super::{Slice, lag_rad};
use cutter::{Cutter, Element, Profile};
use geom::golden::largest;
use std::f64::consts::PI;

/// Slices over the engaged part of the profile before they are halved.
const SLICES: usize = 32;
/// Fewest slices of a stretch of the engaged part.
const FEWEST_SLICES: usize = 4;
/// Most halvings of one of these slices.
const MOST_HALVINGS: usize = 8;
/// How far arcs may be off a straight line over a slice, by its share of the engaged part, rad.
const BENT_RAD: f64 = 4e-6;
/// Samples along the profile that find the engaged part.
const SCAN: usize = 1200;
/// Samples of the angle that find entry and exit.
const ANGLES: usize = 90;
/// Between two of them, rad.
const ANGLE_STEP: f64 = PI / ANGLES as f64;
/// Halvings that refine an end.
const HALVINGS: usize = 40;
/// Shrinkings by the golden section that refine a largest value.
const SHRINKINGS: usize = 24;
/// How far inside a stretch its ends are looked at, mm.
const END_MM: f64 = 1e-9;
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
    /// Sine and cosine of the even angles that are looked at.
    even: Vec<(f64, f64)>,
}

/// Slices that are in the cut; empty where nothing is. They are denser towards both ends of the
/// engaged part, where entry and exit run steeply, and end where the profile bends.
pub fn slices(cutter: &Cutter, cut: &FaceCut) -> Vec<Slice> {
    let Some(stood) = Stood::new(cutter.profile(), cut) else { return Vec::new() };
    let Some((from, to)) = stood.engaged() else { return Vec::new() };
    let mut lag = stood.lag_at(from);
    let mut out = Vec::new();
    for (width, ring) in stood.rings(from, to) {
        let place = &ring.place;
        let lag_span_rad = stood.lag_over(place, width);
        let slice = |[entry, exit]: [Swing; 2]| Slice {
            z_mm: place.z_mm,
            radius_mm: place.radius_mm,
            kappa_rad: place.kappa_rad,
            width_mm: width,
            lag_rad: lag + 0.5 * lag_span_rad,
            lag_span_rad,
            entry_rad: entry.middle,
            exit_rad: exit.middle,
            entry_span_rad: entry.span,
            exit_span_rad: exit.span,
        };
        out.extend(ring.arcs.into_iter().map(slice));
        lag += lag_span_rad;
    }
    out
}

/// A slice of the profile with its arcs.
struct Ring {
    place: Place,
    arcs: Vec<[Swing; 2]>,
}

/// A part of the profile between two lengths with the arcs at both.
struct Span {
    ends_mm: [f64; 2],
    arcs: [Vec<(f64, f64)>; 2],
    /// Halvings that are left.
    left: usize,
}

/// An angle at the middle of a slice and how much it grows over it, rad.
struct Swing {
    middle: f64,
    span: f64,
}

/// Arcs with how they change from the lower end of a slice to its upper, where there are as many.
fn swinging(middle: &[(f64, f64)], below: &[(f64, f64)], above: &[(f64, f64)]) -> Vec<[Swing; 2]> {
    let alike = middle.len() == below.len() && middle.len() == above.len();
    let of = |(i, arc): (usize, &(f64, f64))| {
        let span = |pick: fn(&(f64, f64)) -> f64| {
            if alike { pick(&above[i]) - pick(&below[i]) } else { 0.0 }
        };
        [Swing { middle: arc.0, span: span(|a| a.0) }, Swing { middle: arc.1, span: span(|a| a.1) }]
    };
    middle.iter().enumerate().map(of).collect()
}

/// How far the arcs at the middle are off the straight line between those at the ends, rad.
fn bent_rad(middle: &[(f64, f64)], [below, above]: [&[(f64, f64)]; 2]) -> f64 {
    if middle.len() != below.len() || middle.len() != above.len() {
        let length = |arcs: &[(f64, f64)]| arcs.iter().map(|a| a.1 - a.0).sum::<f64>();
        return [middle, below, above].map(length).into_iter().fold(0.0, f64::max);
    }
    let off = |m: f64, a: f64, b: f64| (m - 0.5 * (a + b)).abs();
    let of = |i: usize| {
        let (m, a, b) = (middle[i], below[i], above[i]);
        off(m.0, a.0, b.0).max(off(m.1, a.1, b.1))
    };
    (0..middle.len()).map(of).fold(0.0, f64::max)
}

/// A part of the profile between two lengths, with its number of slices.
struct Stretch {
    from_mm: f64,
    to_mm: f64,
    slices: usize,
}

/// Middle and width of slices that grow denser like a cosine towards both ends.
fn graded(stretch: &Stretch) -> impl Iterator<Item = (f64, f64)> + use<> {
    let &Stretch { from_mm, to_mm, slices } = stretch;
    let end = move |i: usize| {
        from_mm + 0.5 * (to_mm - from_mm) * (1.0 - (PI * i as f64 / slices as f64).cos())
    };
    (0..slices).map(move |i| (0.5 * (end(i) + end(i + 1)), end(i + 1) - end(i)))
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
        let even = (0..=ANGLES).map(|i| (ANGLE_STEP * i as f64).sin_cos()).collect();
        Some(Self { profile, cut, tip, axis, zero, even })
    }

    /// The lengths of the profile between which something is in the cut.
    fn engaged(&self) -> Option<(f64, f64)> {
        let total: f64 = self.profile.elements().iter().map(length_mm).sum();
        let step = total / SCAN as f64;
        let sample = |i: usize| step * (i as f64 + 0.5);
        let touches = |at_mm: f64| self.place(at_mm).is_some_and(|p| self.touches(&p));
        let first = (0..SCAN).find(|i| touches(sample(*i)))?;
        let last = (first..SCAN).rev().find(|i| touches(sample(*i)))?;
        let from = match first {
            0 => 0.0,
            _ => crossing(&touches, sample(first), sample(first - 1)),
        };
        let to = if last + 1 == SCAN {
            total
        } else {
            crossing(&touches, sample(last), sample(last + 1))
        };
        Some((from, to))
    }

    /// Slices of the engaged part with their widths, from the tip on: halved until entry and exit run
    /// straight over each.
    fn rings(&self, from_mm: f64, to_mm: f64) -> Vec<(f64, Ring)> {
        let mut out = Vec::new();
        for stretch in self.stretches(from_mm, to_mm) {
            // the ends of a stretch are ends of elements: look inside
            let inner = |at: f64| at.clamp(stretch.from_mm + END_MM, stretch.to_mm - END_MM);
            let arcs = |at: f64| self.place(inner(at)).map_or_else(Vec::new, |p| self.arcs(&p));
            let mut below = arcs(stretch.from_mm);
            for (at, width) in graded(&stretch) {
                let ends_mm = [at - 0.5 * width, at + 0.5 * width];
                let above = arcs(ends_mm[1]);
                let span = Span { ends_mm, arcs: [below, above.clone()], left: MOST_HALVINGS };
                self.split(span, to_mm - from_mm, &mut out);
                below = above;
            }
        }
        out
    }

    /// Halves a part until the arcs run straight over it.
    fn split(&self, span: Span, engaged_mm: f64, out: &mut Vec<(f64, Ring)>) {
        let [from, to] = span.ends_mm;
        let (at, width) = (0.5 * (from + to), to - from);
        let Some(place) = self.place(at) else { return };
        let middle = self.arcs(&place);
        let [below, above] = &span.arcs;
        let bent = bent_rad(&middle, [below, above]) * width / engaged_mm;
        if span.left == 0 || bent < BENT_RAD {
            let arcs = swinging(&middle, below, above);
            return out.push((width, Ring { place, arcs }));
        }
        let [below, above] = span.arcs;
        let left = span.left - 1;
        let low = Span { ends_mm: [from, at], arcs: [below, middle.clone()], left };
        self.split(low, engaged_mm, out);
        self.split(Span { ends_mm: [at, to], arcs: [middle, above], left }, engaged_mm, out);
    }

    /// How much a tooth's lag grows over a width of the profile, rad.
    fn lag_over(&self, place: &Place, width_mm: f64) -> f64 {
        let rise = width_mm * place.kappa_rad.sin().abs();
        lag_rad(rise, self.cut.helix_rad, place.radius_mm).min(PI / 8.0)
    }

    /// How far a tooth lags behind its tip at a length of the profile, rad.
    fn lag_at(&self, at_mm: f64) -> f64 {
        let below = if at_mm > 0.0 { self.stretches(0.0, at_mm) } else { Vec::new() };
        let each = below.iter().flat_map(graded);
        let of = |(at, width): (f64, f64)| Some(self.lag_over(&self.place(at)?, width));
        each.filter_map(of).sum()
    }

    /// The engaged part, cut where one element of the profile goes over into the next.
    fn stretches(&self, from_mm: f64, to_mm: f64) -> Vec<Stretch> {
        let mut at_mm = 0.0;
        let mut ends = vec![from_mm];
        for e in self.profile.elements() {
            at_mm += length_mm(e);
            ends.extend((at_mm > from_mm && at_mm < to_mm).then_some(at_mm));
        }
        ends.push(to_mm);
        let slices = |w: &[f64]| {
            let share = (w[1] - w[0]) / (to_mm - from_mm);
            ((share * SLICES as f64).ceil() as usize).max(FEWEST_SLICES)
        };
        ends.windows(2)
            .filter(|w| w[1] > w[0])
            .map(|w| Stretch { from_mm: w[0], to_mm: w[1], slices: slices(w) })
            .collect()
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
        self.inside_at_mm(place, angle_rad.sin_cos())
    }

    /// The same at an angle with this sine and cosine.
    fn inside_at_mm(&self, place: &Place, (sin, cos): (f64, f64)) -> f64 {
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
        let inside = |at: &(f64, f64)| self.inside_at_mm(place, *at) > THIN_MM;
        self.even.iter().any(inside) || self.looked_at(place).iter().any(|(_, inside)| *inside)
    }

    /// Angles of the front half, rising, with whether the ring is inside there: even steps, and between
    /// them where it comes nearest to going in or out.
    fn looked_at(&self, place: &Place) -> Vec<(f64, bool)> {
        let value = |angle: f64| self.inside_mm(place, angle);
        let even: Vec<f64> = self.even.iter().map(|at| self.inside_at_mm(place, *at)).collect();
        // what lies farther off than it moves in a step does not change over
        let near = place.radius_mm * ANGLE_STEP + THIN_MM;
        let mut out = Vec::with_capacity(ANGLES + 3);
        for (i, v) in even.iter().enumerate() {
            let angle = ANGLE_STEP * i as f64;
            let inside = *v > THIN_MM;
            let (before, after) = (even[i.saturating_sub(1)], even[(i + 1).min(ANGLES)]);
            let turns = if inside { *v <= before.min(after) } else { *v >= before.max(after) };
            let between = (turns && v.abs() <= near).then(|| {
                let sign = if inside { -1.0 } else { 1.0 };
                let (from, to) = ((angle - ANGLE_STEP).max(0.0), (angle + ANGLE_STEP).min(PI));
                largest(|a| sign * value(a), [from, to], SHRINKINGS, f64::INFINITY).0
            });
            let other = between.filter(|a| (value(*a) > THIN_MM) != inside);
            out.extend(other.filter(|a| *a < angle).map(|a| (a, !inside)));
            out.push((angle, inside));
            out.extend(other.filter(|a| *a > angle).map(|a| (a, !inside)));
        }
        out
    }

    /// The angles between which a point of the profile cuts.
    fn arcs(&self, place: &Place) -> Vec<(f64, f64)> {
        let inside = |angle: f64| self.inside_mm(place, angle) > THIN_MM;
        let looked_at = self.looked_at(place);
        let mut out: Vec<(f64, f64)> = Vec::new();
        let mut open = looked_at[0].1.then_some(0.0);
        for w in looked_at.windows(2) {
            let ((before, _), (angle, now)) = (w[0], w[1]);
            match (open, now) {
                (None, true) => open = Some(crossing(&inside, angle, before)),
                (Some(entry), false) => {
                    out.push((entry, crossing(&inside, before, angle)));
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
        assert!(side.len() > 20);
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
