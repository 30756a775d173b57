//! Triangles between the borders of a face, and the face's area and share of the volume.

use super::shape::Reason;
use super::sheet::{Corner, Id, Polygon, holds};
use geom::surface::Surface;
use geom::{Vec2, Vec3};
use spade::{ConstrainedDelaunayTriangulation, Point2, Triangulation};
use std::collections::BTreeMap;

/// Places at which the surface is looked at for the distance of inner points, each way.
const PROBES: usize = 7;
/// Inner points each way at most.
const CELLS_MAX: f64 = 160.0;
/// Distance that inner points keep from the borders, in cells.
const MARGIN_CELLS: f64 = 0.45;
/// Places and weights of a rule of degree 4 on a triangle (D. A. Dunavant, Int. J. Numer. Meth.
/// Engng 21, 1985, from memory; the weights add up to 1).
const RULE: [(f64, f64); 2] = [
    (0.445_948_490_915_965, 0.223_381_589_678_011),
    (0.091_576_213_509_771, 0.109_951_743_655_322),
];
/// What the area between a curve and its chord is over that between the curve at quarter points
/// and the chord: the rest falls with the square of the length.
const QUARTERED: f64 = 16.0 / 15.0;

/// A vertex of a face's mesh.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Vertex {
    Shared(u32),
    /// Place in [`Filled::own`].
    Own(u32),
}

/// A face filled with triangles.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Filled {
    /// Vertices that no other face has.
    pub(super) own: Vec<Vec3>,
    /// Corners, counter-clockwise in the parameters.
    pub(super) triangles: Vec<[(Vertex, Vec2); 3]>,
    pub(super) area_mm2: f64,
    /// A third of the integral of `p · (du × dv)`, mm³.
    pub(super) flux_mm3: f64,
}

/// Enters the borders; which corner stands at each vertex.
fn constrain(
    cdt: &mut ConstrainedDelaunayTriangulation<Point2<f64>>,
    sheet: &[Polygon],
    corners: &[&Corner],
    place: impl Fn(Vec2) -> Vec2,
) -> Result<Vec<usize>, Reason> {
    let mut who: Vec<usize> = Vec::with_capacity(corners.len());
    let mut handles = Vec::with_capacity(corners.len());
    for (i, c) in corners.iter().enumerate() {
        let at = place(c.uv);
        let off = || "a border without finite place".to_owned();
        let handle = cdt.insert(Point2::new(at.x, at.y)).map_err(|_| off())?;
        if handle.index() == who.len() {
            who.push(i);
        } else if corners[who[handle.index()]].id != c.id {
            return Err("a border that touches itself".to_owned());
        }
        handles.push(handle);
    }
    let mut start = 0;
    for polygon in sheet {
        for k in 0..polygon.len() {
            let (a, b) = (handles[start + k], handles[start + (k + 1) % polygon.len()]);
            if a == b {
                continue;
            }
            if !cdt.can_add_constraint(a, b) {
                return Err("a border that crosses itself or another".to_owned());
            }
            cdt.add_constraint(a, b);
        }
        start += polygon.len();
    }
    Ok(who)
}

/// Fills the polygons of a sheet.
pub(super) fn fill(surface: &Surface, sheet: &[Polygon], chord_mm: f64) -> Result<Filled, Reason> {
    let (lo, hi) = bounds(sheet);
    let cell = cell(surface, lo, hi, chord_mm);
    let mut cdt = ConstrainedDelaunayTriangulation::<Point2<f64>>::new();
    let corners: Vec<&Corner> = sheet.iter().flatten().collect();
    let who = constrain(&mut cdt, sheet, &corners, |uv| (uv - lo) / cell)?;
    for p in inner_points(sheet, lo, hi, cell) {
        let _ = cdt.insert(Point2::new(p.x, p.y));
    }
    let mut out = Filled::default();
    let mut labels: BTreeMap<u32, u32> = BTreeMap::new();
    for c in &corners {
        let Id::Own(label) = c.id else { continue };
        labels.entry(label).or_insert_with(|| {
            out.own.push(surface.point(c.uv.x, c.uv.y));
            (out.own.len() - 1) as u32
        });
    }
    let mut own_of: Vec<Option<u32>> = vec![None; cdt.num_vertices()];
    let inside = inside(&cdt);
    for face in cdt.inner_faces() {
        let places = face.vertices().map(|v| {
            let p = v.position();
            let exact = who.get(v.index()).map(|c| corners[*c].uv);
            exact.unwrap_or(lo + Vec2::new(p.x, p.y) * cell)
        });
        if !inside[face.index()] {
            continue;
        }
        integrate(surface, places, &mut out);
        let ids = face.vertices().map(|v| match who.get(v.index()).map(|c| corners[*c].id) {
            Some(Id::Shared(id)) => Vertex::Shared(id),
            Some(Id::Own(label)) => Vertex::Own(labels[&label]),
            None => Vertex::Own(*own_of[v.index()].get_or_insert_with(|| {
                let uv = lo + Vec2::new(v.position().x, v.position().y) * cell;
                out.own.push(surface.point(uv.x, uv.y));
                (out.own.len() - 1) as u32
            })),
        });
        let poles = face.vertices().map(|v| who.get(v.index()).and_then(|c| corners[*c].pole));
        if ids[0] != ids[1] && ids[1] != ids[2] && ids[2] != ids[0] {
            let places = at_poles(places, poles);
            out.triangles.push([0, 1, 2].map(|k| (ids[k], places[k])));
        }
    }
    if out.triangles.is_empty() {
        return Err("a face too thin to be meshed".to_owned());
    }
    add_rims(surface, sheet, &mut out);
    Ok(out)
}

/// Which triangles lie inside: every side that belongs to a border leads from one side of it to
/// the other. Where they lie is not asked, because a flat triangle lies on both sides.
fn inside(cdt: &ConstrainedDelaunayTriangulation<Point2<f64>>) -> Vec<bool> {
    let outer = cdt.outer_face();
    let mut inside: Vec<Option<bool>> = vec![None; cdt.num_all_faces()];
    inside[outer.index()] = Some(false);
    let mut open: Vec<_> = Vec::new();
    for edge in cdt.convex_hull() {
        open.push((edge, false));
        open.push((edge.rev(), false));
    }
    while let Some((edge, here)) = open.pop() {
        let beyond = edge.rev();
        let Some(face) = beyond.face().as_inner() else { continue };
        let there = here != edge.is_constraint_edge();
        if inside[face.index()].replace(there).is_none() {
            open.extend(face.adjacent_edges().into_iter().map(|e| (e, there)));
        }
    }
    inside.into_iter().map(|x| x == Some(true)).collect()
}

fn bounds(sheet: &[Polygon]) -> (Vec2, Vec2) {
    let all = sheet.iter().flatten();
    all.fold((Vec2::INFINITY, Vec2::NEG_INFINITY), |(lo, hi), c| (lo.min(c.uv), hi.max(c.uv)))
}

/// Distance of inner points: as far as the surface leaves its chords by no more than allowed.
fn cell(surface: &Surface, lo: Vec2, hi: Vec2, chord_mm: f64) -> Vec2 {
    let (mut bend_u, mut bend_v) = (0.0_f64, 0.0_f64);
    for i in 0..PROBES {
        for j in 0..PROBES {
            let share = Vec2::new(i as f64 + 0.5, j as f64 + 0.5) / PROBES as f64;
            let at = lo + (hi - lo) * share;
            let jet = surface.jet(at.x, at.y);
            let n = jet.du.cross(jet.dv).normalize_or_zero();
            bend_u = bend_u.max(jet.duu.dot(n).abs());
            bend_v = bend_v.max(jet.dvv.dot(n).abs());
        }
    }
    let step = |bend: f64, extent: f64| {
        let wanted = (8.0 * chord_mm / bend).sqrt();
        let cells = (extent / wanted).ceil().clamp(1.0, CELLS_MAX);
        if extent > 0.0 { extent / cells } else { 1.0 }
    };
    Vec2::new(step(bend_u, hi.x - lo.x), step(bend_v, hi.y - lo.y))
}

/// Points of the grid that lie well inside, in cells from `lo`.
fn inner_points(sheet: &[Polygon], lo: Vec2, hi: Vec2, cell: Vec2) -> Vec<Vec2> {
    let [n, m] = ((hi - lo) / cell).to_array().map(|x| x.round() as usize);
    let sides: Vec<[Vec2; 2]> = sheet
        .iter()
        .flat_map(|p| (0..p.len()).map(|k| [p[k].uv, p[(k + 1) % p.len()].uv]))
        .map(|side| side.map(|uv| (uv - lo) / cell))
        .collect();
    let mut out = Vec::new();
    for i in 1..n {
        for j in 1..m {
            let p = Vec2::new(i as f64, j as f64);
            let near = |side: &[Vec2; 2]| {
                geom::segment::distance_squared_in_plane(p, *side) < MARGIN_CELLS * MARGIN_CELLS
            };
            if covered(sheet, lo + p * cell) && !sides.iter().any(near) {
                out.push(p);
            }
        }
    }
    out
}

fn covered(sheet: &[Polygon], uv: Vec2) -> bool {
    sheet.iter().filter(|p| holds(p, uv)).count() % 2 == 1
}

/// In a pole the parameter without effect is taken from the corners beside it.
fn at_poles(places: [Vec2; 3], poles: [Option<usize>; 3]) -> [Vec2; 3] {
    let mut out = places;
    for k in 0..3 {
        let (a, b) = ((k + 1) % 3, (k + 2) % 3);
        if let (Some(axis), None, None) = (poles[k], poles[a], poles[b]) {
            out[k][axis] = 0.5 * (places[a][axis] + places[b][axis]);
        }
    }
    out
}

/// Adds area and flux of a triangle of the parameters.
fn integrate(surface: &Surface, [a, b, c]: [Vec2; 3], out: &mut Filled) {
    let half = 0.5 * (b - a).perp_dot(c - a);
    for (x, weight) in RULE {
        for (p, q, r) in [(a, b, c), (b, c, a), (c, a, b)] {
            let uv = p * (1.0 - 2.0 * x) + (q + r) * x;
            add(surface, uv, half * weight, out);
        }
    }
}

fn add(surface: &Surface, uv: Vec2, share: f64, out: &mut Filled) {
    let jet = surface.jet(uv.x, uv.y);
    let n = jet.du.cross(jet.dv);
    out.area_mm2 += share * n.length();
    out.flux_mm3 += share * jet.p.dot(n) / 3.0;
}

/// Adds what lies between the borders and their chords.
fn add_rims(surface: &Surface, sheet: &[Polygon], out: &mut Filled) {
    for polygon in sheet {
        for (k, corner) in polygon.iter().enumerate() {
            let Some(middle) = corner.after.get(corner.after.len() / 2) else { continue };
            let end = polygon[(k + 1) % polygon.len()].uv;
            let way = corner.after.iter().copied().chain([end, corner.uv]);
            let (mut before, mut twice) = (corner.uv, 0.0);
            for uv in way {
                twice += (before - corner.uv).perp_dot(uv - corner.uv);
                before = uv;
            }
            add(surface, *middle, 0.5 * twice * QUARTERED, out);
        }
    }
}
