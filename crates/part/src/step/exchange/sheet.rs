//! The borders of a face laid out on one sheet of its parameters.
//!
//! On a closed surface a border may go once round. Two such borders are joined by a cut, one alone
//! is joined to the pole that it goes round; what comes out are plain polygons, the first of which
//! holds the others.

use super::border::{Border, pole_at};
use super::locate::shift_to;
use super::shape::Reason;
use super::whole;
use geom::Vec2;
use geom::surface::Surface;

/// Cuts that are tried between two borders.
const CUTS_MAX: usize = 48;

/// Which vertex a corner is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Id {
    /// A vertex of the body that other faces use too.
    Shared(u32),
    /// A vertex that this face alone has: a pole, or a point of a cut. Equal labels are one vertex.
    Own(u32),
}

/// Why borders cannot be laid out.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Trouble {
    /// They run the wrong way round: the face would lie outside of them.
    Turned,
    /// Anything else.
    Reason(Reason),
}

impl From<Reason> for Trouble {
    fn from(reason: Reason) -> Self {
        Self::Reason(reason)
    }
}

/// A corner of a polygon.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Corner {
    pub(super) id: Id,
    pub(super) uv: Vec2,
    /// The parameter that has no effect here.
    pub(super) pole: Option<usize>,
    /// Places of the border on the way to the next corner.
    pub(super) after: Vec<Vec2>,
}

/// A closed polygon; the face lies to its left.
pub(super) type Polygon = Vec<Corner>;

/// Lays the borders out: the outer polygon first.
pub(super) fn lay_out(
    borders: Vec<Border>,
    surface: &Surface,
    size_mm: f64,
) -> Result<Vec<Polygon>, Trouble> {
    let (round, plain): (Vec<Border>, Vec<Border>) =
        borders.into_iter().partition(|b| b.winding != Vec2::ZERO);
    let mut holes: Vec<Polygon> = plain.iter().map(|b| polygon(b, surface, size_mm)).collect();
    let outer = if round.is_empty() {
        let size = |i: &usize| area(&holes[*i]).abs();
        let largest = (0..holes.len()).max_by(|a, b| size(a).total_cmp(&size(b)));
        match largest.filter(|i| area(&holes[*i]) > 0.0) {
            Some(largest) => holes.swap_remove(largest),
            None => whole::frame(surface, &holes, size_mm).ok_or(Trouble::Turned)?,
        }
    } else {
        joined(round, &holes, surface, size_mm)?
    };
    if !(area(&outer) > 0.0) {
        return Err(Trouble::Turned);
    }
    let mut sheet = vec![into_domain(outer, surface)];
    for hole in holes {
        let placed = placed_inside(hole, &sheet[0], surface)?;
        sheet.push(placed);
    }
    Ok(sheet)
}

fn polygon(border: &Border, surface: &Surface, size_mm: f64) -> Polygon {
    let pieces = border.nodes.iter().zip(&border.between);
    pieces
        .map(|(n, between)| Corner {
            id: Id::Shared(n.vertex),
            uv: n.uv,
            pole: pole_at(surface, n.uv, size_mm).map(|p| p.axis),
            after: between.clone(),
        })
        .collect()
}

/// Twice the area in the parameters, positive where the polygon turns left.
fn area(polygon: &Polygon) -> f64 {
    let next = polygon.iter().cycle().skip(1);
    polygon.iter().zip(next).map(|(a, b)| a.uv.perp_dot(b.uv)).sum()
}

/// One polygon of borders that go once round.
fn joined(
    round: Vec<Border>,
    holes: &[Polygon],
    surface: &Surface,
    size_mm: f64,
) -> Result<Polygon, Reason> {
    let axis = usize::from(round[0].winding.x == 0.0);
    let several = || "a face with more than two borders that go round".to_owned();
    let mut ahead = None;
    let mut back = None;
    for border in round {
        let slot = if border.winding[axis] > 0.0 { &mut ahead } else { &mut back };
        if border.winding[1 - axis] != 0.0 || slot.replace(border).is_some() {
            return Err(several());
        }
    }
    match (ahead, back) {
        (Some(a), Some(b)) => cut_between(&a, &b, axis, holes, surface, size_mm),
        (Some(one), None) | (None, Some(one)) => round_a_pole(&one, axis, surface, size_mm),
        (None, None) => Err(several()),
    }
}

/// Once round `a`, over a cut to `b`, once round it and back over the cut.
fn cut_between(
    a: &Border,
    b: &Border,
    axis: usize,
    holes: &[Polygon],
    surface: &Surface,
    size_mm: f64,
) -> Result<Polygon, Reason> {
    let period = a.winding[axis];
    let mut cuts: Vec<(f64, usize, usize)> = Vec::new();
    let step = a.nodes.len().div_ceil(CUTS_MAX);
    for i in (0..a.nodes.len()).step_by(step) {
        let off = |j: &usize| {
            let d = b.nodes[*j].uv[axis] - a.nodes[i].uv[axis];
            (d + shift_to(d, 0.0, Some(period))).abs()
        };
        let nearest = (0..b.nodes.len()).min_by(|x, y| off(x).total_cmp(&off(y)));
        cuts.extend(nearest.map(|j| (off(&j), i, j)));
    }
    cuts.sort_by(|x, y| x.0.total_cmp(&y.0));
    for (_, i, j) in cuts {
        let first = once_round(&polygon(a, surface, size_mm), i, a.winding);
        let mut second = once_round(&polygon(b, surface, size_mm), j, b.winding);
        let end = first[first.len() - 1].uv;
        let mut by = Vec2::ZERO;
        by[axis] = shift_to(second[0].uv[axis], end[axis], Some(period));
        let other = surface.period()[1 - axis];
        by[1 - axis] = beyond(second[0].uv[1 - axis], end[1 - axis], axis, other);
        move_by(&mut second, by);
        let cut = [end, second[0].uv];
        let free = holes.iter().all(|h| !crosses(cut, h, axis, period))
            && !crosses(cut, &first, axis, period)
            && !crosses(cut, &second, axis, period);
        if free {
            return Ok(first.into_iter().chain(second).collect());
        }
    }
    Err("borders that no straight cut joins".to_owned())
}

/// The shift that takes `x` to the side of `from` on which the face lies: with the way along the
/// first parameter above it, along the second before it.
fn beyond(x: f64, from: f64, axis: usize, period: Option<f64>) -> f64 {
    let Some(p) = period else { return 0.0 };
    let ahead = if axis == 0 { (x - from).rem_euclid(p) } else { -(from - x).rem_euclid(p) };
    from + ahead - x
}

/// The corners from number `start` once round, and the first once more with the winding added.
fn once_round(corners: &Polygon, start: usize, winding: Vec2) -> Polygon {
    let n = corners.len();
    let mut out: Polygon = Vec::with_capacity(n + 1);
    for k in 0..=n {
        let mut c = corners[(start + k) % n].clone();
        if start + k >= n {
            c.uv += winding;
            c.after.iter_mut().for_each(|uv| *uv += winding);
        }
        out.push(c);
    }
    if let Some(last) = out.last_mut() {
        last.after.clear();
    }
    out
}

fn move_by(polygon: &mut Polygon, by: Vec2) {
    for c in polygon {
        c.uv += by;
        c.after.iter_mut().for_each(|uv| *uv += by);
    }
}

/// Whether the open segment crosses a side of the polygon, shifted by a period either way too.
fn crosses([p, q]: [Vec2; 2], polygon: &Polygon, axis: usize, period: f64) -> bool {
    let side = |a: Vec2, b: Vec2, c: Vec2| (b - a).perp_dot(c - a);
    [-1.0, 0.0, 1.0].iter().any(|k| {
        let mut by = Vec2::ZERO;
        by[axis] = k * period;
        let (p, q) = (p + by, q + by);
        polygon.windows(2).any(|w| {
            let (a, b) = (w[0].uv, w[1].uv);
            side(p, q, a) * side(p, q, b) < 0.0 && side(a, b, p) * side(a, b, q) < 0.0
        })
    })
}

/// Once round, then back along the pole.
fn round_a_pole(
    border: &Border,
    axis: usize,
    surface: &Surface,
    size_mm: f64,
) -> Result<Polygon, Reason> {
    let out = once_round(&polygon(border, surface, size_mm), 0, border.winding);
    let across = 1 - axis;
    let here = border.nodes[0].uv;
    // the face lies to the left: above a way along u, before a way along v
    let above = (border.winding[axis] > 0.0) == (axis == 0);
    let pole = pole_levels(surface, across).into_iter().find(|level| {
        let mut uv = here;
        uv[across] = *level;
        (*level > here[across]) == above
            && pole_at(surface, uv, size_mm).is_some_and(|p| p.axis == axis)
    });
    let level = pole.ok_or("a border that goes round no pole")?;
    let back: Polygon = out
        .iter()
        .rev()
        .map(|c| {
            let mut uv = c.uv;
            uv[across] = level;
            Corner { id: Id::Own(0), uv, pole: Some(axis), after: Vec::new() }
        })
        .collect();
    Ok(out.into_iter().chain(back).collect())
}

/// Where a surface may have poles along a parameter.
fn pole_levels(surface: &Surface, across: usize) -> Vec<f64> {
    if let Surface::Cone(c) = surface {
        let sin = c.half_angle_rad().unwrap_or(0.0).sin();
        return vec![-c.radius_mm() / sin];
    }
    surface.domain()[across].into_iter().filter(|x| x.is_finite()).collect()
}

/// The polygon moved by whole periods to where the surface's own range begins.
fn into_domain(mut polygon: Polygon, surface: &Surface) -> Polygon {
    let (domain, period) = (surface.domain(), surface.period());
    let mut by = Vec2::ZERO;
    for axis in 0..2 {
        let Some(p) = period[axis] else { continue };
        let least = polygon.iter().fold(f64::INFINITY, |m, c| m.min(c.uv[axis]));
        by[axis] = -p * ((least - domain[axis][0]) / p + 1e-6).floor();
    }
    move_by(&mut polygon, by);
    polygon
}

/// A hole moved by whole periods to where it lies inside the outer polygon.
fn placed_inside(hole: Polygon, outer: &Polygon, surface: &Surface) -> Result<Polygon, Reason> {
    let [pu, pv] = surface.period();
    let shifts = |period: Option<f64>| match period {
        Some(p) => vec![0.0, p, -p, 2.0 * p, -2.0 * p],
        None => vec![0.0],
    };
    // a hole may touch the outer border in a corner
    let inside = |by: Vec2| {
        let held = hole.iter().filter(|c| holds(outer, c.uv + by)).count();
        2 * held >= hole.len()
    };
    for u in shifts(pu) {
        for v in shifts(pv) {
            let by = Vec2::new(u, v);
            if inside(by) {
                let mut placed = hole.clone();
                move_by(&mut placed, by);
                return Ok(placed);
            }
        }
    }
    Err("a border outside of the outer one".to_owned())
}

/// Whether the polygon holds `p`, by the parity of crossings.
pub(super) fn holds(polygon: &Polygon, p: Vec2) -> bool {
    let next = polygon.iter().cycle().skip(1);
    let crossed = polygon.iter().zip(next).filter(|(a, b)| {
        let (a, b) = (a.uv, b.uv);
        (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x)
    });
    crossed.count() % 2 == 1
}
