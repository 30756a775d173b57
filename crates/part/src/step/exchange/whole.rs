//! A surface that closes on itself without a border, or with holes only: cut open to a rectangle.

use super::border::pole_at;
use super::sheet::{Corner, Id, Polygon};
use geom::Vec2;
use geom::surface::Surface;

/// Pieces of each side of the rectangle.
const PIECES: u32 = 24;
/// Places that are tried for a cut.
const CUTS: u32 = 97;

/// How a surface ends along one parameter.
#[derive(Debug, Clone, Copy, PartialEq)]
enum End {
    /// It joins itself.
    Joined,
    /// In a pole at either end.
    Poles,
}

/// The rectangle to which the surface is cut open beside its holes; `None` where the surface is
/// not closed, or a hole goes all the way across.
pub(super) fn frame(surface: &Surface, holes: &[Polygon], size_mm: f64) -> Option<Polygon> {
    let ends = [end(surface, 0, size_mm)?, end(surface, 1, size_mm)?];
    if ends == [End::Poles; 2] {
        return None;
    }
    let (domain, period) = (surface.domain(), surface.period());
    let mut range = domain;
    for axis in 0..2 {
        if ends[axis] == End::Joined {
            let start = free_cut(holes, axis, domain[axis][0], period[axis]?)?;
            range[axis] = [start, start + period[axis]?];
        }
    }
    let n = PIECES;
    let row = |k: u32| (0..n).map(move |i| (i, k));
    let bottom = row(0);
    let right = (0..n).map(|j| (n, j));
    let top = row(n).map(|(i, j)| (n - i, j));
    let left = (0..n).map(|j| (0, n - j));
    let all = bottom.chain(right).chain(top).chain(left);
    Some(all.map(|(i, j)| corner([i, j], range, ends)).collect())
}

fn corner(place: [u32; 2], range: [[f64; 2]; 2], ends: [End; 2]) -> Corner {
    let at = |axis: usize| {
        let [lo, hi] = range[axis];
        lo + (hi - lo) * f64::from(place[axis]) / f64::from(PIECES)
    };
    // the ends of a parameter that joins itself are one
    let known = |axis: usize| match ends[axis] {
        End::Joined => place[axis] % PIECES,
        End::Poles => place[axis],
    };
    let at_pole = (0..2)
        .find(|axis| ends[*axis] == End::Poles && (place[*axis] == 0 || place[*axis] == PIECES));
    let label = match at_pole {
        Some(axis) => u32::from(place[axis] > 0),
        None => 2 + known(0) + known(1) * (PIECES + 1),
    };
    let uv = Vec2::new(at(0), at(1));
    Corner { id: Id::Own(label), uv, pole: at_pole.map(|axis| 1 - axis), after: Vec::new() }
}

fn end(surface: &Surface, axis: usize, size_mm: f64) -> Option<End> {
    if surface.period()[axis].is_some() {
        return Some(End::Joined);
    }
    let domain = surface.domain();
    let other = domain[1 - axis][0];
    let is_pole = |level: &f64| {
        let mut uv = Vec2::splat(other);
        uv[axis] = *level;
        level.is_finite()
            && other.is_finite()
            && pole_at(surface, uv, size_mm).is_some_and(|p| p.axis == 1 - axis)
    };
    domain[axis].iter().all(is_pole).then_some(End::Poles)
}

/// A value of a parameter that no hole reaches.
fn free_cut(holes: &[Polygon], axis: usize, start: f64, period: f64) -> Option<f64> {
    let reaches = |hole: &Polygon| {
        let all = hole.iter().map(|c| c.uv[axis]);
        all.fold([f64::INFINITY, f64::NEG_INFINITY], |[lo, hi], x| [lo.min(x), hi.max(x)])
    };
    let blocked: Vec<[f64; 2]> = holes.iter().map(reaches).collect();
    let free = |cut: &f64| {
        blocked.iter().all(|[lo, hi]| {
            let above = cut + period * ((lo - cut) / period).ceil();
            above > *hi
        })
    };
    (0..CUTS).map(|k| start + period * f64::from(k) / f64::from(CUTS)).find(free)
}
