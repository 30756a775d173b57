//! Lines at constant height on the faces of a feature: the mesh says which faces a plane meets, and
//! the exact surfaces where it meets them.

use std::collections::{BTreeMap, BTreeSet};

use geom::{Site, Vec2, Vec3};
use part::Part;

use crate::chart::Spot;

/// Turn of the normal between two faces from which their edge counts as sharp: its cosine (3°).
const SHARP: f64 = 0.9986;
/// Newton steps towards the exact surface.
const STEPS: usize = 12;
/// How far the exact line may lie from the mesh's in height, as a multiple of the mesh's deviation, and
/// in mm; beyond it the mesh's own place serves.
const OFF: (f64, f64) = (8.0, 0.02);
/// Slope below which a line is not let move any farther (sine).
const FLATTEST: f64 = 1e-3;
/// Shortest stretch of the mesh's line, mm.
const SHORTEST_MM: f64 = 1e-7;
/// Length of the parameter for each radian that the normal turns over a sharp outer edge, mm.
pub(crate) const ROLL_MM: f64 = 1.0;

/// One stretch of a line: across a triangle, or round a sharp outer edge.
#[derive(Debug, Clone, Copy)]
enum Stretch {
    Across { triangle: u32, ends: [Vec3; 2], uv: [Vec2; 2], along: [Vec3; 2] },
    Round { from: Site, to: Site },
}

/// A line at constant height, larger heights on its left.
#[derive(Debug, Clone)]
pub(crate) struct Slice<'a> {
    part: &'a Part,
    up: Vec3,
    height: f64,
    stretches: Vec<Stretch>,
    /// Parameter at which each stretch begins, and the last ends, mm.
    starts: Vec<f64>,
    /// Whether it ends where it begins.
    pub(crate) closed: bool,
    /// Directions of the feature's border where it begins and ends there.
    pub(crate) border: [Option<Vec3>; 2],
}

/// A place of a slice.
#[derive(Debug, Clone, Copy)]
pub(crate) struct OnSlice {
    pub(crate) site: Site,
    /// Unit direction of the line.
    pub(crate) forward: Vec3,
    pub(crate) face: usize,
}

impl OnSlice {
    /// The same on a chart whose first coordinate runs along the line.
    pub(crate) fn spot(&self, q: Vec2) -> Spot {
        let db = self.site.normal.cross(self.forward);
        Spot { q, site: self.site, da: self.forward, db, face: self.face, uv: Vec2::ZERO }
    }
}

type Edge = (u32, u32);

/// The part of a triangle's line: where it leaves, and the line itself.
struct Link {
    to: Edge,
    stretch: Stretch,
}

/// Lines of a set of triangles at a height over the part's origin along `up`.
pub(crate) fn slices<'a>(
    part: &'a Part,
    triangles: &[u32],
    up: Vec3,
    height: f64,
) -> Vec<Slice<'a>> {
    let mut next: BTreeMap<Edge, Link> = BTreeMap::new();
    for t in triangles {
        if let Some((from, link)) = across(part, *t, up, height) {
            next.insert(from, link);
        }
    }
    let targets: BTreeSet<Edge> = next.values().map(|l| l.to).collect();
    let starts: Vec<Edge> = next.keys().filter(|e| !targets.contains(e)).copied().collect();
    let mut out = Vec::new();
    let mut follow = |start: Edge, next: &mut BTreeMap<Edge, Link>| {
        let mut line = Vec::new();
        let mut here = start;
        while let Some(link) = next.remove(&here) {
            line.push(link.stretch);
            here = link.to;
        }
        let along = |(a, b): Edge| {
            let [a, b] = [a, b].map(|v| part.mesh.vertices[v as usize]);
            (b - a).try_normalize()
        };
        let closed = here == start;
        let mut lines = parted(part, up, height, line, closed);
        if let (false, Some(last)) = (closed, lines.len().checked_sub(1)) {
            lines[0].border[0] = along(start);
            lines[last].border[1] = along(here);
        }
        out.extend(lines);
    };
    for start in starts {
        follow(start, &mut next);
    }
    while let Some(start) = next.keys().next().copied() {
        follow(start, &mut next);
    }
    out
}

/// Where the plane crosses a triangle: in over an edge that falls, out over one that rises.
fn across(part: &Part, t: u32, up: Vec3, height: f64) -> Option<(Edge, Link)> {
    let index = part.mesh.triangles[t as usize];
    let corner = part.mesh.corners(t as usize);
    let over = corner.map(|p| p.dot(up) - height);
    let side = over.map(|h| h >= 0.0);
    let uv = part.corner_uv.get(t as usize).copied().unwrap_or_default();
    let (mut from, mut to) = (None, None);
    for k in 0..3 {
        let m = (k + 1) % 3;
        if side[k] == side[m] {
            continue;
        }
        // from the lower number to the higher, so that both neighbours find the same place
        let (a, b) = if index[k] < index[m] { (k, m) } else { (m, k) };
        let f = over[a] / (over[a] - over[b]);
        let place = (corner[a].lerp(corner[b], f), uv[a].lerp(uv[b], f));
        let found = Some(((index[a], index[b]), place));
        if side[k] { from = found } else { to = found }
    }
    let ((from, (p, uv_p)), (to, (q, uv_q))) = (from?, to?);
    let along = (q - p).normalize_or_zero();
    let stretch =
        Stretch::Across { triangle: t, ends: [p, q], uv: [uv_p, uv_q], along: [along; 2] };
    Some((from, Link { to, stretch }))
}

/// A line parted at sharp inner edges, and led round sharp outer ones.
fn parted<'a>(
    part: &'a Part,
    up: Vec3,
    height: f64,
    mut line: Vec<Stretch>,
    closed: bool,
) -> Vec<Slice<'a>> {
    line.retain(
        |s| matches!(s, Stretch::Across { ends, .. } if ends[0].distance(ends[1]) > SHORTEST_MM),
    );
    if line.is_empty() {
        return Vec::new();
    }
    let (stretches, starts, border) = (Vec::new(), Vec::new(), [None; 2]);
    let bare = Slice { part, up, height, stretches, starts, closed: false, border };
    let n = line.len();
    let joints = if closed { n } else { n - 1 };
    let mut round: Vec<Option<Stretch>> = vec![None; n];
    let mut inner: Vec<usize> = Vec::new();
    for k in 0..joints {
        let m = (k + 1) % n;
        let (Some(a), Some(b)) = (bare.on(&line[k], 1.0), bare.on(&line[m], 0.0)) else { continue };
        if a.site.normal.dot(b.site.normal) > SHARP {
            blend(&mut line, k, m);
        } else if b.site.normal.dot(a.forward) > 0.0 {
            round[k] = Some(Stretch::Round { from: a.site, to: b.site });
        } else {
            inner.push(k);
        }
    }
    let rounded = |k: &usize| std::iter::once(line[*k]).chain(round[*k]);
    let whole = |order: &[usize], closed| {
        bare.clone().over(order.iter().flat_map(rounded).collect(), closed)
    };
    if inner.is_empty() {
        return vec![whole(&(0..n).collect::<Vec<_>>(), closed)];
    }
    // a closed line begins behind its last inner edge
    let shift = if closed { inner[inner.len() - 1] + 1 } else { 0 };
    let order: Vec<usize> = (0..n).map(|k| (k + shift) % n).collect();
    order.split_inclusive(|k| inner.contains(k)).map(|o| whole(o, false)).collect()
}

/// Where two stretches meet smoothly the planes across the line take the mean direction.
fn blend(line: &mut [Stretch], k: usize, m: usize) {
    if k == m {
        return;
    }
    let of = |s: &Stretch, end: usize| match s {
        Stretch::Across { along, .. } => along[end],
        Stretch::Round { .. } => Vec3::ZERO,
    };
    let mean = (of(&line[k], 1) + of(&line[m], 0)).normalize_or_zero();
    if let Stretch::Across { along, .. } = &mut line[k] {
        along[1] = mean;
    }
    if let Stretch::Across { along, .. } = &mut line[m] {
        along[0] = mean;
    }
}

impl Slice<'_> {
    fn over(mut self, stretches: Vec<Stretch>, closed: bool) -> Self {
        let mut starts = vec![0.0];
        for s in &stretches {
            let length = match s {
                Stretch::Across { ends, .. } => ends[0].distance(ends[1]),
                Stretch::Round { from, to } => ROLL_MM * from.normal.angle_between(to.normal),
            };
            starts.push(starts[starts.len() - 1] + length);
        }
        self.stretches = stretches;
        self.starts = starts;
        self.closed = closed;
        self
    }

    /// Its length, mm: the mesh's, and [`ROLL_MM`] for each radian round a sharp edge.
    pub(crate) fn length_mm(&self) -> f64 {
        self.starts[self.starts.len() - 1]
    }

    /// Parameters at which stretches begin, and the last ends.
    pub(crate) fn knots(&self) -> &[f64] {
        &self.starts
    }

    /// The place at a parameter; a closed line goes on and on.
    pub(crate) fn at(&self, t: f64) -> Option<OnSlice> {
        let t = if self.closed { t.rem_euclid(self.length_mm()) } else { t };
        let k = self.starts.partition_point(|s| *s <= t).clamp(1, self.stretches.len()) - 1;
        let span = self.starts[k + 1] - self.starts[k];
        let f = if span > 0.0 { ((t - self.starts[k]) / span).clamp(0.0, 1.0) } else { 0.0 };
        self.on(&self.stretches[k], f)
    }

    fn on(&self, stretch: &Stretch, f: f64) -> Option<OnSlice> {
        match stretch {
            Stretch::Across { triangle, ends, uv, along } => {
                let face = self.part.mesh.face_of[*triangle as usize] as usize;
                let near = ends[0].lerp(ends[1], f);
                let across = along[0].lerp(along[1], f);
                let site = self
                    .exact(face, near, across, uv[0].lerp(uv[1], f))
                    .or_else(|| self.part.site_near(*triangle, near))?;
                let chord = (ends[1] - ends[0]).normalize_or_zero();
                Some(OnSlice { site, forward: self.forward(&site, chord)?, face })
            }
            Stretch::Round { from, to } => {
                let normal = crate::link::slerp(from.normal, to.normal, f);
                let e1 = self.up.cross(normal).try_normalize()?;
                let curvature = geom::TangentTensor {
                    e1,
                    e2: normal.cross(e1),
                    entries: geom::Sym2::diagonal(-1.0 / ROLL_MM, 0.0),
                };
                let site = Site { point: from.point, normal, curvature };
                Some(OnSlice { site, forward: e1, face: usize::MAX })
            }
        }
    }

    /// Along the line: level, the material on the side of the face.
    fn forward(&self, site: &Site, chord: Vec3) -> Option<Vec3> {
        let level = self.up.cross(site.normal);
        let flat = level.length() < 1e-4;
        (if flat { chord } else { level }).try_normalize()
    }

    /// Where the exact surface meets the height and the plane across the mesh's line.
    fn exact(&self, face: usize, near: Vec3, across: Vec3, guess: Vec2) -> Option<Site> {
        let surface = self.part.faces[face].surface.as_ref()?;
        let most_off = OFF.0 * self.part.deviation_mm + OFF.1;
        let mut uv = guess;
        for _ in 0..STEPS {
            let jet = surface.jet(uv.x, uv.y);
            let off = Vec2::new(jet.p.dot(self.up) - self.height, (jet.p - near).dot(across));
            if off.length() <= 100.0 * geom::tolerance::SOLVED_MM {
                let site = jet.site(self.part.faces[face].flip)?;
                // where the surface is nearly level the line moves far for a little height
                let slope = site.normal.cross(self.up).length().max(FLATTEST);
                return (site.point.distance(near) * slope <= most_off).then_some(site);
            }
            let a = Vec2::new(jet.du.dot(self.up), jet.du.dot(across));
            let b = Vec2::new(jet.dv.dot(self.up), jet.dv.dot(across));
            let det = a.perp_dot(b);
            if det == 0.0 || !det.is_finite() {
                return None;
            }
            uv -= Vec2::new(off.perp_dot(b), a.perp_dot(off)) / det;
        }
        None
    }
}
