//! How high the part stands over the plan, for moves through the air.

use cutter::Assembly;
use geom::{TriMesh, Vec2, Vec3};
use toolpath::Pose;

use crate::job::Frame;

/// Cells over the longer side of the part.
const CELLS: f64 = 128.0;
/// Longest piece of the cutter that one disc stands for, mm.
const DISC_MM: f64 = 8.0;

/// Largest height per cell of the plan, with the maxima over squares of 2ᵏ cells.
pub(crate) struct HeightMap {
    frame: Frame,
    lo: Vec2,
    cell: f64,
    size: [usize; 2],
    levels: Vec<Vec<f64>>,
}

/// The cutter and its holder as discs on the axis.
pub(crate) struct Discs {
    /// Height over the tip and radius, mm.
    discs: Vec<(f64, f64)>,
}

impl Discs {
    /// Discs that hold the whole assembly: each stands for the piece above it with that piece's
    /// largest radius.
    pub(crate) fn of(assembly: &Assembly) -> Self {
        let profile = assembly.cutter.profile();
        let top = profile.top_mm();
        let n = (top / DISC_MM).ceil().max(8.0);
        let mut discs: Vec<(f64, f64)> = vec![(0.0, 0.0)];
        for k in 1..=n as usize {
            let z = top * k as f64 / n;
            let r = profile
                .elements()
                .iter()
                .filter(|e| e.start().1 <= z)
                .map(|e| radius_at(e, z))
                .fold(0.0, f64::max);
            discs.push((top * (k - 1) as f64 / n, r));
            discs.push((z, r));
        }
        for body in &assembly.bodies {
            let r = body.r_lo_mm.max(body.r_hi_mm);
            let n = ((body.z_hi_mm - body.z_lo_mm) / DISC_MM).ceil().max(1.0);
            for k in 0..=n as usize {
                discs.push((body.z_lo_mm + (body.z_hi_mm - body.z_lo_mm) * k as f64 / n, r));
            }
        }
        Self { discs }
    }
}

/// Largest radius of an element up to height `z`.
fn radius_at(element: &cutter::Element, z: f64) -> f64 {
    let (from, to) = (element.start(), element.end());
    match element {
        cutter::Element::Line(_) if to.1 > z && to.1 > from.1 => {
            from.0 + (to.0 - from.0) * (z - from.1) / (to.1 - from.1)
        }
        cutter::Element::Line(_) => from.0.max(to.0),
        cutter::Element::Arc(a) => {
            let turn = ((a.z0_mm - z) / a.radius_mm).clamp(-1.0, 1.0).acos();
            let kappa = turn.clamp(a.kappa_lo_rad, a.kappa_hi_rad);
            a.r0_mm + a.radius_mm * kappa.min(std::f64::consts::FRAC_PI_2).sin()
        }
    }
}

impl HeightMap {
    /// Over all meshes; `None` without a triangle.
    pub(crate) fn over<'m>(
        meshes: impl Iterator<Item = &'m TriMesh> + Clone,
        frame: Frame,
    ) -> Option<Self> {
        let points = meshes.clone().flat_map(|m| m.vertices.iter().map(|v| frame.plan(*v)));
        let (lo, hi) =
            points.fold((Vec2::INFINITY, Vec2::NEG_INFINITY), |(lo, hi), p| (lo.min(p), hi.max(p)));
        if !(lo.is_finite() && hi.is_finite()) {
            return None;
        }
        let cell = ((hi - lo).max_element() / CELLS).max(geom::tolerance::COINCIDENT_MM);
        let count = |x: f64| (x / cell).floor() as usize + 1;
        let size = [count(hi.x - lo.x), count(hi.y - lo.y)];
        let mut map = Self { frame, lo, cell, size, levels: Vec::new() };
        let mut base = vec![f64::NEG_INFINITY; size[0] * size[1]];
        for mesh in meshes {
            for t in 0..mesh.triangles.len() {
                map.raise(&mut base, mesh.corners(t));
            }
        }
        map.pool(base);
        Some(map)
    }

    fn index(&self, x: f64, axis: usize) -> usize {
        ((x - self.lo[axis]) / self.cell).clamp(0.0, (self.size[axis] - 1) as f64) as usize
    }

    fn raise(&self, base: &mut [f64], corners: [Vec3; 3]) {
        let flat = corners.map(|p| self.frame.plan(p));
        let high = corners.map(|p| p.dot(self.frame.up));
        let (lo, hi) = (flat[0].min(flat[1]).min(flat[2]), flat[0].max(flat[1]).max(flat[2]));
        let top = high[0].max(high[1]).max(high[2]);
        let (ab, ac) = (flat[1] - flat[0], flat[2] - flat[0]);
        let area = ab.perp_dot(ac);
        let slope = Vec2::new(
            (high[1] - high[0]) * ac.y - (high[2] - high[0]) * ab.y,
            (high[2] - high[0]) * ab.x - (high[1] - high[0]) * ac.x,
        ) / area;
        for j in self.index(lo.y, 1)..=self.index(hi.y, 1) {
            for i in self.index(lo.x, 0)..=self.index(hi.x, 0) {
                let corner = self.lo + Vec2::new(i as f64, j as f64) * self.cell;
                let centre = corner + Vec2::splat(0.5 * self.cell);
                let reach = 0.5 * self.cell * (slope.x.abs() + slope.y.abs());
                let here = high[0] + slope.dot(centre - flat[0]) + reach;
                let height = if here.is_finite() { here.min(top) } else { top };
                let cell = &mut base[j * self.size[0] + i];
                *cell = cell.max(height);
            }
        }
    }

    fn pool(&mut self, base: Vec<f64>) {
        let [nx, ny] = self.size;
        self.levels.push(base);
        let mut half = 1;
        while 2 * half <= nx.max(ny) {
            let below = &self.levels[self.levels.len() - 1];
            let at = |i: usize, j: usize| below[j.min(ny - 1) * nx + i.min(nx - 1)];
            let next = (0..nx * ny)
                .map(|k| {
                    let (i, j) = (k % nx, k / nx);
                    at(i, j).max(at(i + half, j)).max(at(i, j + half)).max(at(i + half, j + half))
                })
                .collect();
            self.levels.push(next);
            half *= 2;
        }
    }

    /// Largest height within the square of half-side `r` about a plan point.
    fn highest(&self, at: Vec2, r: f64) -> f64 {
        let (lo, hi) = (at - Vec2::splat(r), at + Vec2::splat(r));
        let end = self.lo + Vec2::new(self.size[0] as f64, self.size[1] as f64) * self.cell;
        if hi.x < self.lo.x || hi.y < self.lo.y || lo.x > end.x || lo.y > end.y {
            return f64::NEG_INFINITY;
        }
        let (i0, i1) = (self.index(lo.x, 0), self.index(hi.x, 0));
        let (j0, j1) = (self.index(lo.y, 1), self.index(hi.y, 1));
        let span = (i1 - i0 + 1).min(j1 - j0 + 1);
        let k = (usize::BITS - 1 - span.leading_zeros()) as usize;
        let k = k.min(self.levels.len() - 1);
        let (side, level) = (1_usize << k, &self.levels[k]);
        let mut best = f64::NEG_INFINITY;
        let stops = |from: usize, to: usize| {
            (from..=to).step_by(side).map(move |i| i.min((to + 1).saturating_sub(side).max(from)))
        };
        for j in stops(j0, j1) {
            for i in stops(i0, i1) {
                best = best.max(level[j * self.size[0] + i]);
            }
        }
        best
    }

    /// How far a pose must rise along +Z for all of the assembly to stand `clearance_mm` over
    /// everything under it, mm.
    pub(crate) fn rise_mm(&self, discs: &Discs, pose: &Pose, clearance_mm: f64) -> f64 {
        let lean = pose.axis.cross(self.frame.up).length();
        discs
            .discs
            .iter()
            .map(|(z, r)| {
                let centre = pose.tip + pose.axis * *z;
                let low = centre.dot(self.frame.up) - r * lean;
                self.highest(self.frame.plan(centre), *r + clearance_mm) + clearance_mm - low
            })
            .fold(0.0, f64::max)
    }
}
