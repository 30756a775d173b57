//! The lowest signed distance of a moving convex body to a mesh, by branch and bound.
//!
//! A supporting plane of the body at one point of a cell bounds the distance over the whole cell:
//! convexity gives `sd(q) ≥ sd(p) + g · (q - p)` with the gradient `g` at `p`. Over time the plane
//! gains at most [`MovingPlane::gain`](crate::motion::MovingPlane::gain). Both losses fall with the
//! square of the cell's size near a contact, where the gradient stands across the surface and
//! across the motion. The plane at the lowest point of a triangle loses nothing over it; that point
//! is found from the second derivatives at the middle.

use crate::motion::{Motion, Reach, Stretch};
use crate::obstacle::Obstacle;
use crate::patch::Patch;
use cutter::BodyKind;
use cutter::distance::{Kernel, ShapeAt};
use geom::Vec3;

/// Planes that one query may look at before it gives up unproven.
const MOST_PLANES: u32 = 400_000;
/// A failing query stops to refine its depth at this share of it.
const DEPTH_SHARE: f64 = 0.01;

/// Where a body comes closest to an obstacle, or cuts deepest into it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Approach {
    /// Which body of the assembly.
    pub what: BodyKind,
    /// Number of the obstacle.
    pub obstacle: usize,
    /// Triangle of the obstacle.
    pub triangle: u32,
    /// Point of the obstacle, mm.
    pub place: Vec3,
    /// When in the move, 0 to 1.
    pub share: f64,
    /// Signed distance attained there, mm: negative where the body is in the material.
    pub distance_mm: f64,
    /// Signed distance that is proven for the whole move, mm.
    pub at_least_mm: f64,
}

/// What a query is about.
#[derive(Clone, Copy)]
pub(crate) struct Query<'a> {
    pub(crate) what: BodyKind,
    pub(crate) kernel: &'a Kernel,
    pub(crate) motion: &'a Motion,
    /// Only distances below this matter, mm.
    pub(crate) below_mm: f64,
    /// How finely the lowest is wanted, mm.
    pub(crate) resolution_mm: f64,
}

/// What a query found.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Found {
    /// The lowest distance below the limit, if any.
    pub(crate) lowest: Option<Approach>,
    /// Distance proven for everything, as far as it lies below the limit less the resolution, mm.
    pub(crate) at_least_mm: f64,
}

/// A piece of the surface over a stretch of the move.
#[derive(Clone, Copy)]
struct Cell {
    corners: [Vec3; 3],
    deviation: f64,
    /// Node of the refined triangle, where there is one.
    node: Option<usize>,
    stretch: Stretch,
}

/// Which points of a cell stand for the true surface, so that a distance there is attained.
#[derive(Clone, Copy, PartialEq)]
enum Record {
    Nothing,
    Corners,
    All,
}

/// One supporting plane's view of a cell.
struct View {
    value: f64,
    place: Vec3,
    bound: f64,
    spread: f64,
    gain: f64,
}

struct Search<'a> {
    query: Query<'a>,
    obstacle: &'a Obstacle<'a>,
    number: usize,
    best: f64,
    lowest: Option<Approach>,
    unproven: f64,
    planes: u32,
    whole: Reach,
    stretch: Stretch,
}

impl Query<'_> {
    /// The lowest distance to one obstacle during the move.
    pub(crate) fn against(&self, obstacle: &Obstacle<'_>, number: usize) -> Found {
        let mut found = Found { lowest: None, at_least_mm: self.below_mm - self.resolution_mm };
        let mut query = *self;
        for stretch in pieces(self.motion, obstacle) {
            let mut search = Search {
                query,
                obstacle,
                number,
                best: query.below_mm,
                lowest: None,
                unproven: f64::INFINITY,
                planes: 0,
                whole: self.motion.reach(stretch),
                stretch,
            };
            search.run();
            found.at_least_mm = found.at_least_mm.min(search.at_least());
            if let Some(lowest) = search.lowest {
                query.below_mm = lowest.distance_mm;
                found.lowest = Some(lowest);
            }
        }
        if let Some(lowest) = &mut found.lowest {
            lowest.at_least_mm = found.at_least_mm;
        }
        found
    }
}

/// Stretches short against the obstacle, so that boxes far from the path are passed by as a whole.
fn pieces(motion: &Motion, obstacle: &Obstacle<'_>) -> Vec<Stretch> {
    let size = obstacle.bvh.bounds().map_or(1.0, |(lo, hi)| (hi - lo).length());
    let number = (motion.bound_mm(size) / (0.03 * size)).ceil().clamp(1.0, 4096.0);
    let half = 0.5 / number;
    (0..number as usize).map(|i| Stretch { middle: (2 * i + 1) as f64 * half, half }).collect()
}

impl Search<'_> {
    fn tolerance(&self) -> f64 {
        self.query.resolution_mm.max(-self.best * DEPTH_SHARE)
    }

    fn at_least(&self) -> f64 {
        (self.best - self.tolerance()).min(self.unproven)
    }

    fn run(&mut self) {
        let obstacle = self.obstacle;
        let (kernel, whole, off) = (self.query.kernel, self.whole, obstacle.deviation_mm);
        let start = self.best;
        // the tolerance grows with the depth only: bounds made with the first one stay valid
        let tolerance = self.tolerance();
        obstacle.bvh.minimise(
            start,
            |lo, hi| box_bound(kernel, &whole, lo, hi) - off + tolerance,
            |t, _| {
                self.triangle(t);
                self.best
            },
        );
    }

    fn triangle(&mut self, t: u32) {
        let corners = self.obstacle.mesh.corners(t as usize);
        let coarse = Cell {
            corners,
            deviation: self.obstacle.deviation_mm,
            node: None,
            stretch: self.stretch,
        };
        let whole = self.whole;
        // the coarse triangle first: most are passed by with it, and none is refined needlessly
        if self.passes(&coarse, &whole, Record::Nothing, t).is_none() {
            return;
        }
        let patch = self.obstacle.patch(t);
        let root = patch.map(|p| p.node(0));
        let cell = root.map_or(coarse, |n| Cell {
            corners: n.corners,
            deviation: n.deviation_mm,
            node: Some(0),
            ..coarse
        });
        let mut stack = vec![cell];
        while let Some(cell) = stack.pop() {
            if self.planes > MOST_PLANES {
                self.unproven = f64::NEG_INFINITY;
                return;
            }
            let same = cell.stretch == self.stretch;
            let reach = if same { whole } else { self.query.motion.reach(cell.stretch) };
            let record = match cell.node {
                Some(_) if cell.deviation > 0.5 * self.query.resolution_mm => Record::Corners,
                _ => Record::All,
            };
            if let Some(view) = self.passes(&cell, &reach, record, t) {
                self.split(&cell, &view, patch, &mut stack);
            }
        }
    }

    /// `None` where a plane proves the cell; else what the better plane lacks.
    fn passes(&mut self, cell: &Cell, reach: &Reach, record: Record, t: u32) -> Option<View> {
        let [a, b, c] = cell.corners;
        let middle = (a + b + c) / 3.0;
        let (first, shape) = self.view(middle, cell, reach);
        if record == Record::All {
            self.note(&first, cell, t);
        }
        let enough = self.best - self.tolerance() + cell.deviation;
        if first.bound >= enough {
            return None;
        }
        if record == Record::Corners {
            self.note_corners(cell, reach, t);
        }
        let (second, _) = self.view(lowest_point(&shape, cell.corners, middle), cell, reach);
        if record == Record::All {
            self.note(&second, cell, t);
        }
        if second.bound >= enough {
            return None;
        }
        Some(if second.bound > first.bound { second } else { first })
    }

    fn view(&mut self, p: Vec3, cell: &Cell, reach: &Reach) -> (View, ShapeAt) {
        self.planes += 1;
        let pose = reach.pose;
        let shape = self.query.kernel.shape_at(pose.tip, pose.axis, p);
        let value = shape.value_mm;
        let plane = reach.plane(shape.gradient, p, value);
        let (mut bound, mut lowest, mut gain, mut arm) = (f64::INFINITY, value, 0.0_f64, 0.0_f64);
        for q in cell.corners {
            let (v, g) = (plane.value(q), plane.gain(q));
            bound = bound.min(v - g);
            lowest = lowest.min(v);
            gain = gain.max(g);
            arm = arm.max(q.distance_squared(pose.tip));
        }
        let curl = reach.curl_mm(arm.sqrt());
        let view = View {
            value,
            place: p,
            bound: bound - curl,
            spread: value - lowest,
            gain: gain + curl,
        };
        (view, shape)
    }

    fn note_corners(&mut self, cell: &Cell, reach: &Reach, t: u32) {
        for p in cell.corners {
            let value = self.query.kernel.at(reach.pose.tip, reach.pose.axis, p);
            self.note(&View { value, place: p, bound: value, spread: 0.0, gain: 0.0 }, cell, t);
        }
    }

    fn note(&mut self, view: &View, cell: &Cell, t: u32) {
        if view.value >= self.best {
            return;
        }
        self.best = view.value;
        self.lowest = Some(Approach {
            what: self.query.what,
            obstacle: self.number,
            triangle: t,
            place: view.place,
            share: cell.stretch.middle,
            distance_mm: view.value,
            at_least_mm: view.value,
        });
    }

    /// Splits what loses most: the stretch of time or the piece of surface. A cell that has lost
    /// nothing but the surface's own deviation is left unproven.
    fn split(&mut self, cell: &Cell, view: &View, patch: Option<&Patch>, stack: &mut Vec<Cell>) {
        let refined = cell.node.zip(patch);
        let children = refined.and_then(|(n, p)| p.children(n).map(|first| (first, p)));
        let fine = view.spread + view.gain < 0.25 * self.tolerance();
        if fine && children.is_none() {
            self.unproven = self.unproven.min(view.bound - cell.deviation);
            return;
        }
        let bent = if children.is_some() { cell.deviation } else { 0.0 };
        if view.gain > view.spread.max(bent) {
            stack.extend(cell.stretch.halves().map(|stretch| Cell { stretch, ..*cell }));
        } else if let Some((first, patch)) = children {
            stack.extend((first..first + 4).map(|i| {
                let node = patch.node(i);
                let (corners, deviation) = (node.corners, node.deviation_mm);
                Cell { corners, deviation, node: Some(i), ..*cell }
            }));
        } else {
            stack.extend(quarters(cell.corners).map(|corners| Cell { corners, ..*cell }));
        }
    }
}

fn quarters([a, b, c]: [Vec3; 3]) -> [[Vec3; 3]; 4] {
    let (ab, bc, ca) = (0.5 * (a + b), 0.5 * (b + c), 0.5 * (c + a));
    [[a, ab, ca], [ab, b, bc], [ca, bc, c], [ab, bc, ca]]
}

/// Bound over a box: the plane at its middle, at the corner where it is least.
fn box_bound(kernel: &Kernel, reach: &Reach, lo: Vec3, hi: Vec3) -> f64 {
    let (middle, half) = (0.5 * (lo + hi), 0.5 * (hi - lo));
    let (value, g) = kernel.at_with_gradient(reach.pose.tip, reach.pose.axis, middle);
    let arm = middle.distance(reach.pose.tip) + half.length();
    reach.plane(g, middle, value).box_bound(middle, half) - reach.curl_mm(arm)
}

/// Where the distance is least over a triangle, by its second-order form at `middle`.
fn lowest_point(shape: &ShapeAt, corners: [Vec3; 3], middle: Vec3) -> Vec3 {
    let [a, b, c] = corners;
    let (x, y) = (b - a, c - a);
    let form = |u: Vec3, v: Vec3| {
        shape.along_per_mm * u.dot(shape.along) * v.dot(shape.along)
            + shape.around_per_mm * u.dot(shape.around) * v.dot(shape.around)
    };
    // gradient at corner a, then the form in the weights of b and c
    let from = a - middle;
    let gx = shape.gradient.dot(x) + form(from, x);
    let gy = shape.gradient.dot(y) + form(from, y);
    let (xx, xy, yy) = (form(x, x), form(x, y), form(y, y));
    let value = |s: f64, t: f64| gx * s + gy * t + 0.5 * (xx * s * s + yy * t * t) + xy * s * t;
    let det = xx * yy - xy * xy;
    if det > 1e-12 * xx * yy {
        let (s, t) = ((xy * gy - yy * gx) / det, (xy * gx - xx * gy) / det);
        if s >= 0.0 && t >= 0.0 && s + t <= 1.0 {
            return a + x * s + y * t;
        }
    }
    // else on a side
    let on = |slope: f64, bend: f64| {
        let at = if bend > 0.0 { -slope / bend } else { f64::from(u8::from(slope < 0.0)) };
        if at.is_nan() { 0.0 } else { at.clamp(0.0, 1.0) }
    };
    let (s, t) = (on(gx, xx), on(gy, yy));
    // from b to c: slope and bend along (-1, 1) at (1, 0)
    let u = on(gy + xy - gx - xx, xx - 2.0 * xy + yy);
    let (s, t) = [(s, 0.0), (0.0, t), (1.0 - u, u)]
        .into_iter()
        .min_by(|p, q| value(p.0, p.1).total_cmp(&value(q.0, q.1)))
        .unwrap_or((0.0, 0.0));
    a + x * s + y * t
}
