//! Edges of a body as rows of points that the faces on both sides share.

use super::shape::{Reason, Shapes};
use geom::surface::{Curve, CurveJet};
use geom::{Vec3, tolerance};
use std::collections::HashMap;
use step_io::model::EntityKey;
use step_io::scene;

/// Halvings of a piece of an edge at most.
const HALVINGS_MAX: u32 = 10;
/// Points at which a curve is looked at to find the parameter of a point.
const PROBES: usize = 200;
/// Steps of Newton's method from the best of them.
const STEPS: usize = 20;

/// How finely edges are divided.
#[derive(Debug, Clone, Copy)]
pub(super) struct Fineness {
    /// Chord height, mm.
    pub(super) chord_mm: f64,
    /// Turn of the tangent over one piece, rad.
    pub(super) turn_rad: f64,
}

/// An edge: its points in the order of the file, from start to end.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Row {
    /// Shared vertices.
    pub(super) nodes: Vec<u32>,
    /// For each piece the points of the curve at a quarter, a half and three quarters of it.
    pub(super) between: Vec<[Vec3; 3]>,
}

/// The vertices of a body and the rows of its edges.
pub(super) struct Edges<'m> {
    shapes: Shapes<'m>,
    fineness: Fineness,
    pub(super) vertices: Vec<Vec3>,
    ends: HashMap<EntityKey, u32>,
    rows: HashMap<EntityKey, Result<Row, Reason>>,
}

impl<'m> Edges<'m> {
    pub(super) fn new(shapes: Shapes<'m>, fineness: Fineness) -> Self {
        Self { shapes, fineness, vertices: Vec::new(), ends: HashMap::new(), rows: HashMap::new() }
    }

    /// The shared vertex that stands for a vertex of the file.
    pub(super) fn vertex(&mut self, v: Option<scene::Vertex<'_>>) -> Result<u32, Reason> {
        let v = v.ok_or("an edge without a vertex")?;
        if let Some(known) = self.ends.get(&v.key()) {
            return Ok(*known);
        }
        let point = v.point().ok_or("a vertex without a point")?;
        let number = self.add(self.shapes.scaled(&point.xyz()));
        self.ends.insert(v.key(), number);
        Ok(number)
    }

    fn add(&mut self, p: Vec3) -> u32 {
        self.vertices.push(p);
        (self.vertices.len() - 1) as u32
    }

    /// The row of an edge, made the first time.
    pub(super) fn row(&mut self, edge: &scene::Edge<'_>) -> Result<Row, Reason> {
        if let Some(known) = self.rows.get(&edge.key()) {
            return known.clone();
        }
        let row = self.make(edge);
        self.rows.insert(edge.key(), row.clone());
        row
    }

    fn make(&mut self, edge: &scene::Edge<'_>) -> Result<Row, Reason> {
        let (start, end) = (self.vertex(edge.start())?, self.vertex(edge.end())?);
        let curve = self.shapes.curve(edge.curve().key())?;
        let [p, q] = [start, end].map(|v| self.vertices[v as usize]);
        let forward = edge.same_sense();
        let (first, last) = if forward { (p, q) } else { (q, p) };
        let [lo, hi] = range(&curve, first, last, start == end)?;
        let mut stops = vec![lo];
        let coarse = match curve {
            Curve::Line { .. } => 1,
            _ => 2,
        };
        for k in 0..coarse {
            let at = |k: i32| lo + (hi - lo) * f64::from(k) / f64::from(coarse);
            divide(&curve, [at(k), at(k + 1)], self.fineness, HALVINGS_MAX, &mut stops);
        }
        if !forward {
            stops.reverse();
        }
        Ok(self.lay(&curve, &stops, start, end))
    }

    fn lay(&mut self, curve: &Curve, stops: &[f64], start: u32, end: u32) -> Row {
        let mut nodes = vec![start];
        for t in &stops[1..stops.len() - 1] {
            nodes.push(self.add(curve.jet(*t).p));
        }
        nodes.push(end);
        let point = |a: f64, b: f64, share: f64| curve.jet(a + (b - a) * share).p;
        let between = stops
            .windows(2)
            .map(|w| [0.25, 0.5, 0.75].map(|share| point(w[0], w[1], share)))
            .collect();
        Row { nodes, between }
    }
}

/// Adds the end of every piece of `[a, b]` that is straight enough.
fn divide(curve: &Curve, [a, b]: [f64; 2], fine: Fineness, left: u32, stops: &mut Vec<f64>) {
    let [from, to] = [a, b].map(|t| curve.jet(t));
    let chord = to.p - from.p;
    let along = chord.normalize_or_zero();
    let off = |share: f64| {
        let d = curve.jet(a + (b - a) * share).p - from.p;
        (d - along * d.dot(along)).length()
    };
    let straight = [0.25, 0.5, 0.75].iter().all(|s| off(*s) <= fine.chord_mm);
    let turn = from.d1.angle_between(to.d1);
    if left == 0 || (straight && !(turn > fine.turn_rad)) {
        stops.push(b);
        return;
    }
    let middle = 0.5 * (a + b);
    divide(curve, [a, middle], fine, left - 1, stops);
    divide(curve, [middle, b], fine, left - 1, stops);
}

/// Parameters of the ends of an edge, rising.
fn range(curve: &Curve, p: Vec3, q: Vec3, closed: bool) -> Result<[f64; 2], Reason> {
    let lo = parameter(curve, p);
    if closed {
        if let Some(period) = curve.period() {
            return Ok([lo, lo + period]);
        }
        let domain = curve.domain();
        let ends = domain.map(|t| t.is_finite());
        return if ends == [true; 2] {
            Ok(domain)
        } else {
            Err("an edge without length".to_owned())
        };
    }
    let mut hi = parameter(curve, q);
    if let Some(period) = curve.period() {
        // an end a hair beyond the start is the start itself, once round
        let gap = (hi - lo).rem_euclid(period);
        hi = lo + if gap <= period * 1e-9 { period } else { gap };
    }
    if hi > lo { Ok([lo, hi]) } else { Err("an edge that runs against its curve".to_owned()) }
}

fn parameter(curve: &Curve, p: Vec3) -> f64 {
    match curve {
        Curve::Line { origin, direction } => (p - *origin).dot(*direction),
        Curve::Ellipse { frame, a_mm, b_mm } => {
            let q = frame.local(p);
            (q.y / b_mm).atan2(q.x / a_mm)
        }
        Curve::Hyperbola { frame, b_mm, .. } => (frame.local(p).y / b_mm).asinh(),
        Curve::Parabola { frame, .. } => frame.local(p).y,
        Curve::Nurbs(_) => nearest(curve, curve.domain(), p),
    }
}

/// Parameter of the point of the curve nearest to `p`, ends first.
fn nearest(curve: &Curve, [lo, hi]: [f64; 2], p: Vec3) -> f64 {
    for end in [lo, hi] {
        if curve.jet(end).p.distance(p) <= 10.0 * tolerance::COINCIDENT_MM {
            return end;
        }
    }
    let gap = |t: f64| curve.jet(t).p.distance_squared(p);
    let at = |i: usize| lo + (hi - lo) * i as f64 / PROBES as f64;
    let best = (0..=PROBES).map(at).min_by(|a, b| gap(*a).total_cmp(&gap(*b))).unwrap_or(lo);
    let mut t = best;
    for _ in 0..STEPS {
        let CurveJet { p: on, d1, d2, .. } = curve.jet(t);
        let slope = (on - p).dot(d1);
        let bend = d1.length_squared() + (on - p).dot(d2);
        let next = (t - slope / if bend > 0.0 { bend } else { d1.length_squared() }).clamp(lo, hi);
        if !next.is_finite() || (next - t).abs() <= f64::EPSILON * (hi - lo) {
            break;
        }
        t = next;
    }
    if gap(t) <= gap(best) { t } else { best }
}
