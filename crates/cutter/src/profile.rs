//! The cutting profile: a chain of arcs and lines from the tip to the end of the flutes.

use crate::distance::Kernel;
use std::f64::consts::PI;

/// An arc of the profile about `(r0_mm, z0_mm)`: the point with normal `kappa` is
/// `(r0 + radius sin kappa, z0 - radius cos kappa)`. A sharp corner is an arc of radius 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arc {
    /// Distance of the centre from the axis, mm; negative beyond the axis.
    pub r0_mm: f64,
    /// Height of the centre over the tip, mm.
    pub z0_mm: f64,
    /// Radius, mm.
    pub radius_mm: f64,
    /// Normal angle at the lower end, rad.
    pub kappa_lo_rad: f64,
    /// Normal angle at the upper end, rad.
    pub kappa_hi_rad: f64,
}

/// A straight piece of the profile, all of whose points have the same normal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// Lower end `(r, z)`, mm.
    pub from_mm: (f64, f64),
    /// Upper end `(r, z)`, mm.
    pub to_mm: (f64, f64),
    /// Normal angle, rad.
    pub kappa_rad: f64,
}

/// One piece of the profile.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Element {
    /// An arc; radius 0 for a sharp corner.
    Arc(Arc),
    /// A straight piece.
    Line(Line),
}

impl Arc {
    /// Point `(r, z)` with normal angle `kappa_rad`, mm.
    pub fn point(&self, kappa_rad: f64) -> (f64, f64) {
        let (s, c) = kappa_rad.sin_cos();
        (self.r0_mm + self.radius_mm * s, self.z0_mm - self.radius_mm * c)
    }

    /// Length of the arc, mm.
    pub fn length_mm(&self) -> f64 {
        self.radius_mm * (self.kappa_hi_rad - self.kappa_lo_rad)
    }
}

impl Line {
    /// Length, mm.
    pub fn length_mm(&self) -> f64 {
        (self.to_mm.0 - self.from_mm.0).hypot(self.to_mm.1 - self.from_mm.1)
    }
}

impl Element {
    /// Smallest and largest normal angle, rad.
    pub fn kappa_range(&self) -> (f64, f64) {
        match self {
            Element::Arc(a) => (a.kappa_lo_rad, a.kappa_hi_rad),
            Element::Line(l) => (l.kappa_rad, l.kappa_rad),
        }
    }

    /// Lower end `(r, z)`, mm.
    pub fn start(&self) -> (f64, f64) {
        match self {
            Element::Arc(a) => a.point(a.kappa_lo_rad),
            Element::Line(l) => l.from_mm,
        }
    }

    /// Upper end `(r, z)`, mm.
    pub fn end(&self) -> (f64, f64) {
        match self {
            Element::Arc(a) => a.point(a.kappa_hi_rad),
            Element::Line(l) => l.to_mm,
        }
    }

    /// The element pushed outwards along its normals by `by_mm`.
    fn grown(&self, by_mm: f64) -> Self {
        match *self {
            Element::Arc(a) => Element::Arc(Arc { radius_mm: a.radius_mm + by_mm, ..a }),
            Element::Line(l) => {
                let (s, c) = l.kappa_rad.sin_cos();
                let shift = |p: (f64, f64)| (p.0 + by_mm * s, p.1 - by_mm * c);
                Element::Line(Line { from_mm: shift(l.from_mm), to_mm: shift(l.to_mm), ..l })
            }
        }
    }
}

/// The convex body of the cutting part: its cutting elements from the tip to the end of the
/// flutes, closed there by a flat top.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    /// Cutting elements, normal angles never decreasing.
    elements: Vec<Element>,
    /// Cutting elements and the top that closes the body.
    closed: Vec<Element>,
    /// The closed body, laid out for signed distances.
    kernel: Kernel,
}

impl Profile {
    /// From cutting elements in order from the tip; sharp corners are put in where the normal
    /// jumps, and the body is closed by a flat top.
    pub(crate) fn new(chain: &[Element]) -> Self {
        let mut elements: Vec<Element> = Vec::with_capacity(chain.len() + 1);
        for &next in chain {
            let start = next.start();
            let kappa = elements.last().map_or(0.0, |e| e.kappa_range().1);
            push_corner(&mut elements, start, kappa, next.kappa_range().0);
            elements.push(next);
        }
        let mut closed = elements.clone();
        if let Some(last) = elements.last() {
            let top = last.end();
            push_corner(&mut closed, top, last.kappa_range().1, PI);
            closed.push(Element::Line(Line { from_mm: top, to_mm: (0.0, top.1), kappa_rad: PI }));
        }
        Self::from_closed(elements, closed)
    }

    fn from_closed(elements: Vec<Element>, closed: Vec<Element>) -> Self {
        let kernel = Kernel::new(&closed);
        Self { elements, closed, kernel }
    }

    /// Cutting elements in order from the tip.
    pub fn elements(&self) -> &[Element] {
        &self.elements
    }

    /// Cutting elements and the top that closes the body.
    pub fn closed(&self) -> &[Element] {
        &self.closed
    }

    /// The body laid out for signed distances.
    pub fn kernel(&self) -> &Kernel {
        &self.kernel
    }

    /// Height of the end of the flutes over the tip, mm.
    pub fn top_mm(&self) -> f64 {
        self.elements.last().map_or(0.0, |e| e.end().1)
    }

    /// Largest distance of the profile from the axis, mm.
    pub fn largest_radius_mm(&self) -> f64 {
        self.support(0.5 * PI)
    }

    /// Support function: the largest `x · nu` over the body for the outward normal at `kappa_rad`,
    /// mm. A half-space with that normal towards the body is missed iff this is smaller than its
    /// offset from the tip.
    pub fn support(&self, kappa_rad: f64) -> f64 {
        let (s, c) = kappa_rad.sin_cos();
        let of = |p: (f64, f64)| p.0 * s - p.1 * c;
        let mut best = f64::NEG_INFINITY;
        for e in &self.closed {
            let here = match e {
                Element::Arc(a) if kappa_rad >= a.kappa_lo_rad && kappa_rad <= a.kappa_hi_rad => {
                    of((a.r0_mm, a.z0_mm)) + a.radius_mm
                }
                _ => of(e.start()).max(of(e.end())),
            };
            best = best.max(here);
        }
        best
    }

    /// The body with an allowance laid round it: every point at most `allowance_mm` from it. Exact
    /// because the body is convex. The tip of the result lies `allowance_mm` below the origin.
    pub fn grown(&self, allowance_mm: f64) -> Self {
        let by = allowance_mm.max(0.0);
        let grow = |list: &[Element]| list.iter().map(|e| e.grown(by)).collect();
        Self::from_closed(grow(&self.elements), grow(&self.closed))
    }

    /// The arc with the largest radius; `None` for a cutter without rounded edges.
    pub fn main_arc(&self) -> Option<Arc> {
        let arcs = self.elements.iter().filter_map(|e| match e {
            Element::Arc(a) if a.radius_mm > 0.0 => Some(*a),
            _ => None,
        });
        arcs.reduce(|best, a| if a.radius_mm > best.radius_mm { a } else { best })
    }

    /// Largest radius that cuts in a layer of `depth_mm` (measured along the part's normal) when
    /// the profile touches at `kappa_rad`, mm: the point that limits the cutting speed.
    pub fn layer_radius_mm(&self, kappa_rad: f64, depth_mm: f64) -> f64 {
        let floor = self.support(kappa_rad) - depth_mm.max(0.0);
        let (s, c) = kappa_rad.sin_cos();
        let inside = |p: (f64, f64)| p.0 * s - p.1 * c >= floor;
        let mut largest: f64 = 0.0;
        for e in &self.elements {
            for end in [e.start(), e.end()].into_iter().filter(|&p| inside(p)) {
                largest = largest.max(end.0);
            }
            for r in crossings(e, (s, c), floor) {
                largest = largest.max(r);
            }
            if let Element::Arc(a) = e
                && a.kappa_lo_rad <= 0.5 * PI
                && a.kappa_hi_rad >= 0.5 * PI
                && inside(a.point(0.5 * PI))
            {
                largest = largest.max(a.r0_mm + a.radius_mm);
            }
        }
        largest
    }
}

/// Radii at which an element crosses the line `r s - z c = level`.
fn crossings(element: &Element, (s, c): (f64, f64), level: f64) -> Vec<f64> {
    match element {
        Element::Line(l) => {
            let of = |p: (f64, f64)| p.0 * s - p.1 * c - level;
            let (a, b) = (of(l.from_mm), of(l.to_mm));
            let crosses = a * b < 0.0;
            let t = a / (a - b);
            crosses.then_some(l.from_mm.0 + t * (l.to_mm.0 - l.from_mm.0)).into_iter().collect()
        }
        Element::Arc(a) => {
            let x = (level - (a.r0_mm * s - a.z0_mm * c)) / a.radius_mm;
            if a.radius_mm <= 0.0 || x.abs() > 1.0 {
                return Vec::new();
            }
            let (kappa, away) = (s.atan2(c), x.acos());
            let within = |k: &f64| *k >= a.kappa_lo_rad && *k <= a.kappa_hi_rad;
            [kappa - away, kappa + away].into_iter().filter(within).map(|k| a.point(k).0).collect()
        }
    }
}

/// A sharp corner at `at` from one normal angle to the next, where they differ.
fn push_corner(list: &mut Vec<Element>, at: (f64, f64), from_rad: f64, to_rad: f64) {
    if to_rad - from_rad > geom::tolerance::PARALLEL_RAD {
        list.push(Element::Arc(Arc {
            r0_mm: at.0,
            z0_mm: at.1,
            radius_mm: 0.0,
            kappa_lo_rad: from_rad,
            kappa_hi_rad: to_rad,
        }));
    }
}
