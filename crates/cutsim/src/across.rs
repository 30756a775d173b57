//! Walks across the lay: ridges between neighbouring passes, and profiles for roughness.

use crate::deviation::{Cut, Ray, Swept};
use crate::entry::Reach;
use crate::sample::ray_near;
use crate::texture::Profile;
use geom::Vec3;
use part::Part;
use rayon::prelude::*;
use toolpath::{RunKind, Toolpath};

/// Samples of one round of the search for a ridge.
const ROUND: usize = 13;
/// Rounds of that search: each narrows the bracket to two of its steps.
const ROUNDS: usize = 3;

/// A contact point with its feed direction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Station {
    point: Vec3,
    normal: Vec3,
    across: Vec3,
}

/// A ridge: where it stands and how high.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ridge {
    /// On the nominal surface, mm.
    pub point: Vec3,
    /// Height along the normal, mm.
    pub height_mm: f64,
}

/// The faces that are walked on.
#[derive(Clone, Copy)]
pub(crate) struct Ground<'a> {
    pub(crate) part: &'a Part,
    pub(crate) faces: &'a [usize],
    pub(crate) swept: &'a Swept,
    pub(crate) reach: Reach,
}

/// At most about `count` contact points, evenly along all contact lines.
pub(crate) fn stations(path: &Toolpath, count: usize) -> Vec<Station> {
    let cuts: Vec<_> = path.runs.iter().filter(|r| r.kind == RunKind::Cut).collect();
    let total: f64 = cuts.iter().map(|r| r.contact_length_mm()).sum();
    let every = total / count.max(1) as f64;
    let mut next = 0.5 * every;
    let mut out = Vec::new();
    for run in cuts {
        for pair in run.contacts.windows(2) {
            let way = pair[1].point - pair[0].point;
            let length = way.length();
            while next <= length && length > 0.0 {
                out.extend(station(pair[0].point + way * (next / length), pair[0].normal, way));
                next += every;
            }
            next -= length;
        }
    }
    out
}

fn station(point: Vec3, normal: Vec3, way: Vec3) -> Option<Station> {
    let across = normal.cross(way).try_normalize()?;
    Some(Station { point, normal, across })
}

impl Station {
    /// Point `w` mm across the feed in the tangent plane, bent down onto the surface by the caller.
    fn aside(&self, w: f64) -> Vec3 {
        self.point + self.across * w
    }
}

impl Ground<'_> {
    /// The ray at arc length about `w` across from a station.
    fn ray(&self, station: &Station, w: f64) -> Option<Ray> {
        ray_near(self.part, self.faces, station.aside(w), w.abs() + self.reach.hi_mm.abs() + 1.0)
    }

    /// Cut heights at `ws` across from a station; `None` where the walk leaves the feature or
    /// nothing cut.
    fn heights(&self, station: &Station, ws: &[f64]) -> Vec<Option<(Ray, Cut)>> {
        let rays: Vec<Option<Ray>> = ws.iter().map(|w| self.ray(station, *w)).collect();
        let known: Vec<Ray> = rays.iter().flatten().copied().collect();
        let mut cuts = self.swept.cuts(&known, self.reach).into_iter();
        rays.into_iter().map(|r| r.and_then(|r| Some((r, cuts.next()??)))).collect()
    }

    /// The highest ridge within `width_mm` across from each station.
    pub(crate) fn ridges(&self, stations: &[Station], width_mm: f64) -> Vec<Ridge> {
        let found: Vec<Option<Ridge>> =
            stations.par_iter().map(|s| self.ridge(s, width_mm)).collect();
        found.into_iter().flatten().collect()
    }

    fn ridge(&self, station: &Station, width_mm: f64) -> Option<Ridge> {
        let (mut low, mut high) = (0.0, width_mm);
        let mut best: Option<Ridge> = None;
        for _ in 0..ROUNDS {
            let step = (high - low) / (ROUND - 1) as f64;
            let ws: Vec<f64> = (0..ROUND).map(|i| low + step * i as f64).collect();
            let heights = self.heights(station, &ws);
            let top = heights
                .iter()
                .enumerate()
                .filter_map(|(i, h)| h.map(|(ray, cut)| (i, ray, cut.deviation_mm)))
                .reduce(|a, b| if b.2 > a.2 { b } else { a })?;
            if best.is_none_or(|b| top.2 > b.height_mm) {
                best = Some(Ridge { point: top.1.point, height_mm: top.2 });
            }
            (low, high) = ((ws[top.0] - step).max(0.0), (ws[top.0] + step).min(width_mm));
        }
        best
    }

    /// A profile of `length_mm` across the lay, the station in its middle; the longest stretch on
    /// the feature without a gap. `None` where less than `least_mm` of it is there.
    pub(crate) fn profile(
        &self,
        station: &Station,
        length_mm: f64,
        step_mm: f64,
        least_mm: f64,
    ) -> Option<Profile> {
        let side = (0.5 * length_mm / step_mm).round() as i64;
        let mut points = self.walk(station, step_mm, side, -1.0);
        points.reverse();
        points.extend(self.walk(station, step_mm, side, 1.0).into_iter().skip(1));
        let cuts = self.swept.cuts(&points, self.reach);
        let um = |c: &Option<Cut>| c.map(|c| units::convert::mm_to_um(c.deviation_mm));
        let stretches = cuts.split(Option::is_none).map(|s| s.iter().filter_map(um).collect());
        let longest = stretches.max_by_key(Vec::len)?;
        (longest.len() as f64 * step_mm >= least_mm)
            .then_some(Profile { step_mm, heights_um: longest })
    }

    /// Steps over the surface in the plane of the station's normal and the direction across.
    fn walk(&self, station: &Station, step_mm: f64, count: i64, sign: f64) -> Vec<Ray> {
        let plane = station.across.cross(station.normal);
        let mut out: Vec<Ray> = Vec::new();
        let mut at = Ray { point: station.point, normal: station.normal };
        for _ in 0..=count {
            let Some(ray) = ray_near(self.part, self.faces, at.point, 1.0) else { break };
            out.push(ray);
            let Some(way) = ray.normal.cross(plane).try_normalize() else { break };
            let way = if way.dot(station.across) >= 0.0 { way } else { -way };
            at = Ray { point: ray.point + way * (sign * step_mm), normal: ray.normal };
        }
        out
    }
}
