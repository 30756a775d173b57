//! Borders of a face in the parameters of its surface.
//!
//! A file gives borders in space only. Each point is projected from the one before it, so that a
//! border runs on over a seam instead of jumping back. Where a border touches a pole (a point at
//! which one parameter has no effect) the other parameter jumps there; the side on which the face
//! lies tells which way.

use super::edge::{Edges, Row};
use super::locate::{locate, shift_to};
use super::shape::Reason;
use geom::surface::Surface;
use geom::{Vec2, Vec3, tolerance};
use step_io::Orientation;
use step_io::scene;

/// Share of the face's size below which a derivative counts as none: a pole.
const POLE_SHARE: f64 = 1e-7;
/// Corners into which once round a pole is divided.
const POLE_PIECES: f64 = 36.0;

/// A corner of a border.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Node {
    /// Shared vertex.
    pub(super) vertex: u32,
    /// Parameters; continuous along the border.
    pub(super) uv: Vec2,
}

/// A closed border; the face lies to the left seen along `du × dv`.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Border {
    pub(super) outer: bool,
    pub(super) nodes: Vec<Node>,
    /// Places of the curve between each node and the next.
    pub(super) between: Vec<Vec<Vec2>>,
    /// What one way round adds to the parameters: a whole number of periods.
    pub(super) winding: Vec2,
}

/// A face's borders in space, before any projection.
pub(super) struct Wire {
    outer: bool,
    rows: Vec<Row>,
}

/// The rows of a border in the order in which the face runs along them.
pub(super) fn wire(
    bound: &scene::Bound<'_>,
    face: Orientation,
    edges: &mut Edges<'_>,
) -> Result<Wire, Reason> {
    let mut rows = Vec::new();
    for (edge, orientation) in bound.oriented_edges() {
        let mut row = edges.row(&edge)?;
        if orientation == Orientation::Reversed {
            turn(&mut row);
        }
        rows.push(row);
    }
    // seen along the surface's own normal the face is to be on the left
    if bound.orientation() != face {
        rows.reverse();
        rows.iter_mut().for_each(turn);
    }
    let joins = |i: usize| rows[i].nodes.last() == rows[(i + 1) % rows.len()].nodes.first();
    if !(0..rows.len()).all(joins) {
        return Err("a border whose edges do not join".to_owned());
    }
    Ok(Wire { outer: bound.is_outer(), rows })
}

fn turn(row: &mut Row) {
    row.nodes.reverse();
    row.between.reverse();
    row.between.iter_mut().for_each(|b| b.reverse());
}

impl Wire {
    pub(super) fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// The same border the other way round.
    pub(super) fn turned(&self) -> Self {
        let mut rows = self.rows.clone();
        rows.reverse();
        rows.iter_mut().for_each(turn);
        Self { outer: self.outer, rows }
    }
}

/// A point on the way along a border.
struct Stop {
    p: Vec3,
    vertex: Option<u32>,
}

/// Projects a wire onto its surface.
pub(super) fn project(
    wire: &Wire,
    surface: &Surface,
    vertices: &[Vec3],
    size_mm: f64,
) -> Result<Border, Reason> {
    let mut stops = Vec::new();
    for row in &wire.rows {
        for (piece, between) in row.between.iter().enumerate() {
            let vertex = row.nodes[piece];
            stops.push(Stop { p: vertices[vertex as usize], vertex: Some(vertex) });
            stops.extend(between.iter().map(|p| Stop { p: *p, vertex: None }));
        }
    }
    let mut walk = Walk { surface, size_mm };
    let plain =
        |s: &Stop| s.vertex.is_some() && walk.first(s.p).is_ok_and(|uv| walk.pole(uv).is_none());
    let start = stops.iter().position(plain).ok_or("a border that runs through poles only")?;
    stops.rotate_left(start);
    walk.round(&stops, wire.outer)
}

/// A pole: the parameter that has no effect there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Pole {
    pub(super) axis: usize,
}

struct Walk<'a> {
    surface: &'a Surface,
    size_mm: f64,
}

impl Walk<'_> {
    fn first(&self, p: Vec3) -> Result<Vec2, Reason> {
        let uv = locate(self.surface, p, self.size_mm).ok_or("a border off its surface")?;
        if self.gap(p, uv) > tolerance::BORDER_GAP_MM {
            return Err(format!("a border {:.3} mm off its surface", self.gap(p, uv)));
        }
        Ok(uv)
    }

    fn gap(&self, p: Vec3, uv: Vec2) -> f64 {
        self.surface.point(uv.x, uv.y).distance(p)
    }

    /// The place of `p` that runs on from `before`.
    fn next(&self, p: Vec3, before: Vec2) -> Result<Vec2, Reason> {
        let near = self.surface.project(p, before);
        let near = near.filter(|uv| self.gap(p, *uv) <= tolerance::BORDER_GAP_MM);
        let uv = near.map_or_else(|| self.first(p), Ok)?;
        let [pu, pv] = self.surface.period();
        Ok(uv + Vec2::new(shift_to(uv.x, before.x, pu), shift_to(uv.y, before.y, pv)))
    }

    fn pole(&self, uv: Vec2) -> Option<Pole> {
        pole_at(self.surface, uv, self.size_mm)
    }

    fn round(&mut self, stops: &[Stop], outer: bool) -> Result<Border, Reason> {
        let mut border =
            Border { outer, nodes: Vec::new(), between: Vec::new(), winding: Vec2::ZERO };
        let mut at = self.first(stops[0].p)?;
        let first = at;
        // the pole that was entered and not left yet
        let mut inside: Option<(Pole, Vec2, u32)> = None;
        for stop in stops {
            let mut uv = self.next(stop.p, at)?;
            if let Some(pole) = self.pole(uv) {
                uv[pole.axis] = at[pole.axis];
                if let Some(vertex) = stop.vertex {
                    border.push(vertex, uv);
                    inside = Some((pole, uv, vertex));
                }
                continue;
            }
            if let Some((pole, entry, vertex)) = inside.take() {
                let turn = self.turn(pole, entry, at, uv);
                uv[pole.axis] = entry[pole.axis] + turn;
                self.leave(pole, entry, turn, vertex, &mut border);
            }
            match stop.vertex {
                Some(vertex) => border.push(vertex, uv),
                None => border.between.last_mut().into_iter().for_each(|b| b.push(uv)),
            }
            at = uv;
        }
        let last = at;
        let [pu, pv] = self.surface.period();
        border.winding = Vec2::new(shift_to(first.x, last.x, pu), shift_to(first.y, last.y, pv));
        if let Some((pole, entry, vertex)) = inside {
            let turn = self.turn(pole, entry, at, first);
            border.winding[pole.axis] = entry[pole.axis] + turn - first[pole.axis];
            self.leave(pole, entry, turn, vertex, &mut border);
        }
        Ok(border)
    }

    /// Adds the corners of the way through a pole: all of them one vertex, so close together that
    /// no triangle spans much of the parameter without effect.
    fn leave(&self, pole: Pole, entry: Vec2, turn: f64, vertex: u32, border: &mut Border) {
        let [lo, hi] = self.surface.domain()[pole.axis];
        let pieces = (POLE_PIECES * (turn / (hi - lo)).abs()).ceil().clamp(1.0, POLE_PIECES);
        for k in 1..=pieces as u32 {
            let mut uv = entry;
            uv[pole.axis] += turn * f64::from(k) / pieces;
            border.push(vertex, uv);
        }
    }

    /// How far the parameter that has no effect in the pole goes on there: the face lies to the
    /// left of the way.
    fn turn(&self, pole: Pole, entry: Vec2, before: Vec2, after: Vec2) -> f64 {
        let across = 1 - pole.axis;
        let upper = before[across] < entry[across];
        let direction = if upper == (pole.axis == 0) { -1.0 } else { 1.0 };
        let turn = after[pole.axis] - entry[pole.axis];
        let Some(period) = self.surface.period()[pole.axis] else { return turn };
        // nothing turned means once round
        let least = 1e-6 * period;
        let forward = (direction * turn - least).rem_euclid(period) + least;
        direction * forward
    }
}

impl Border {
    fn push(&mut self, vertex: u32, uv: Vec2) {
        self.nodes.push(Node { vertex, uv });
        self.between.push(Vec::new());
    }
}

/// The parameter that has no effect at `uv`, if there is one.
pub(super) fn pole_at(surface: &Surface, uv: Vec2, size_mm: f64) -> Option<Pole> {
    let jet = surface.jet(uv.x, uv.y);
    let [[u0, u1], [v0, v1]] = surface.domain();
    let span = |lo: f64, hi: f64| if (hi - lo).is_finite() { hi - lo } else { 1.0 };
    let reach = [jet.du.length() * span(u0, u1), jet.dv.length() * span(v0, v1)];
    let axis = usize::from(reach[1] < reach[0]);
    (reach[axis] <= POLE_SHARE * size_mm).then_some(Pole { axis })
}
