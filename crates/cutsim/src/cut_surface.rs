//! What an operation leaves on a feature: cusp, gouge, area not reached, texture.
//!
//! 1. Samples are spread evenly over the feature, each standing for a piece of its area.
//! 2. The cut of each is found; what no move reached within the stock is not cut.
//! 3. Ridges are searched between neighbouring passes from stations along the contact lines: a
//!    maximum is never left to where a sample happens to fall.
//! 4. The deepest cut below nominal is looked for under the middle of straight moves as well, where
//!    chords dig, under rapid moves, and on the other faces of the part near the path.
//! 5. Profiles across the lay give roughness; the samples give the areal parameters.

use crate::across::{Ground, Ridge, stations};
use crate::body::Body;
use crate::deviation::{Cut, Ray, Swept};
use crate::entry::Reach;
use crate::sample::{Sample, neighbours_together, over_faces, ray_near};
use crate::sweep::{self, Which};
use crate::texture::Profile;
use cutter::Profile as CutterProfile;
use geom::Vec3;
use part::Part;
use rayon::prelude::*;
use toolpath::{RunKind, Toolpath};

/// Told how far the work has come, from 0 to 1.
pub type Progress<'a> = &'a (dyn Fn(f64) + Sync);

/// Deepest gouge that is looked for, mm.
const DEEPEST_MM: f64 = 1.0;
/// Stations from which ridges are searched.
const STATIONS: usize = 2500;
/// Samples of a profile on one step-over.
const PER_STEP: f64 = 40.0;
/// Profiles across the lay.
const PROFILES: usize = 5;
/// The least length of a profile, in step-overs and in mm.
const PROFILE_LENGTH: (f64, f64) = (12.0, 6.0);
/// Share of a ridge's height that its search may miss.
const RIDGE_SHARE: f64 = 0.004;
/// What the entry of a ray is good to, mm.
const ENTRY_MM: f64 = 2e-6;

/// One operation on one feature.
pub struct CutJob<'a> {
    /// The part.
    pub part: &'a Part,
    /// Faces of the feature.
    pub faces: &'a [usize],
    /// The path.
    pub toolpath: &'a Toolpath,
    /// Cutting profile of the cutter.
    pub profile: &'a CutterProfile,
    /// Stock on the feature before the operation, mm: what lies higher is not reached.
    pub stock_mm: f64,
    /// Spacing of neighbouring contact lines, mm: where ridges and profiles are looked for.
    pub stepover_mm: f64,
    /// About how many samples the map shall have.
    pub samples: usize,
}

/// A sample of the map with what cut it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MapSample {
    /// On the nominal surface, mm.
    pub point: Vec3,
    /// Area it stands for, mm².
    pub area_mm2: f64,
    /// Height along the normal, mm; `None`: no move reached it.
    pub deviation_mm: Option<f64>,
}

/// The deepest cut below nominal and where.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gouge {
    /// Depth along the normal, mm, not negative.
    pub depth_mm: f64,
    /// Where, mm.
    pub point: Vec3,
    /// Face it is in.
    pub on_feature: bool,
    /// Kind of the run that made it.
    pub by: RunKind,
}

/// Areal parameters of the unfiltered map about its mean, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Areal {
    /// Arithmetic mean height.
    pub sa_mm: f64,
    /// Root mean square height.
    pub sq_mm: f64,
    /// Highest plus deepest.
    pub sz_mm: f64,
}

/// The surface as cut.
#[derive(Debug, Clone, PartialEq)]
pub struct CutSurface {
    /// Samples of the feature.
    pub map: Vec<MapSample>,
    /// Ridges between passes.
    pub ridges: Vec<Ridge>,
    /// Highest material left, mm; `None` where nothing was cut.
    pub cut_max_mm: Option<f64>,
    /// Where it stands.
    pub highest: Option<Vec3>,
    /// Highest ridge between neighbouring passes, mm.
    pub ridge_max_mm: Option<f64>,
    /// Area mean of the material left, mm.
    pub cut_mean_mm: Option<f64>,
    /// Deepest cut below nominal; `None` where nothing was cut.
    pub gouge: Option<Gouge>,
    /// Area that no move reached, mm².
    pub uncut_mm2: f64,
    /// Areal parameters.
    pub areal: Option<Areal>,
    /// Profiles across the lay.
    pub profiles: Vec<Profile>,
    /// Half-width of the error of `cut_max_mm`, mm.
    pub good_to_mm: f64,
}

/// Cuts the surface; `None` where the cutter has no body.
pub fn cut_surface(job: &CutJob<'_>, progress: Progress<'_>) -> Option<CutSurface> {
    let body = Body::of_profile(job.profile)?;
    let swept = Swept::new(body, sweep::moves(job.toolpath, Which::AtFeed));
    let reach = Reach { lo_mm: -DEEPEST_MM, hi_mm: job.stock_mm };
    let samples = over_faces(job.part, job.faces, job.samples);
    let rays: Vec<Ray> = samples.iter().map(|s| s.ray).collect();
    let cuts = swept.cuts_in_two_depths(&rays, reach);
    progress(0.5);
    let ground = Ground { part: job.part, faces: job.faces, swept: &swept, reach };
    let ridges = ground.ridges(&stations(job.toolpath, STATIONS), 1.2 * job.stepover_mm);
    progress(0.8);
    let gouge = gouge(job, &swept, &samples, &cuts);
    let profiles = profiles(job, &ground);
    progress(1.0);
    Some(summary(&samples, &cuts, ridges, gouge, profiles))
}

fn summary(
    samples: &[Sample],
    cuts: &[Option<Cut>],
    ridges: Vec<Ridge>,
    gouge: Option<Gouge>,
    profiles: Vec<Profile>,
) -> CutSurface {
    let map: Vec<MapSample> = samples
        .iter()
        .zip(cuts)
        .map(|(s, cut)| MapSample {
            point: s.ray.point,
            area_mm2: s.area_mm2,
            deviation_mm: cut.map(|c| c.deviation_mm),
        })
        .collect();
    let cut_samples = || map.iter().filter_map(|m| Some((m.point, m.deviation_mm?, m.area_mm2)));
    let ridge_max_mm = ridges.iter().map(|r| r.height_mm).reduce(f64::max);
    let of_ridges = ridges.iter().map(|r| (r.point, r.height_mm));
    let top = cut_samples()
        .map(|(p, d, _)| (p, d))
        .chain(of_ridges)
        .reduce(|a, b| if b.1 > a.1 { b } else { a });
    let area: f64 = cut_samples().map(|(_, _, a)| a).sum();
    let mean = cut_samples().map(|(_, d, a)| d * a).sum::<f64>() / area;
    let areal = top.map(|(_, highest)| {
        let sum = |f: &dyn Fn(f64) -> f64| {
            cut_samples().map(|(_, d, a)| f(d - mean) * a).sum::<f64>() / area
        };
        let lowest = cut_samples().map(|(_, d, _)| d).fold(highest, f64::min);
        Areal { sa_mm: sum(&f64::abs), sq_mm: sum(&|d| d * d).sqrt(), sz_mm: highest - lowest }
    });
    CutSurface {
        cut_max_mm: top.map(|t| t.1),
        highest: top.map(|t| t.0),
        cut_mean_mm: top.map(|_| mean),
        uncut_mm2: map.iter().filter(|m| m.deviation_mm.is_none()).map(|m| m.area_mm2).sum(),
        good_to_mm: ENTRY_MM + ridge_max_mm.unwrap_or(0.0) * RIDGE_SHARE,
        ridge_max_mm,
        gouge,
        areal,
        map,
        ridges,
        profiles,
    }
}

/// The deepest cut below nominal: on the samples, under the middles of straight moves, and on the
/// other faces near the path.
fn gouge(
    job: &CutJob<'_>,
    swept: &Swept,
    samples: &[Sample],
    cuts: &[Option<Cut>],
) -> Option<Gouge> {
    let reach = Reach { lo_mm: -DEEPEST_MM, hi_mm: job.stock_mm };
    let of_map =
        samples.iter().zip(cuts).filter_map(|(s, c)| Some(Dug::new(job, swept, s.ray, (*c)?)));
    let of_moves = deepest(job, swept, &middles(job), reach);
    let of_rapids = under_rapids(job, swept.body(), samples);
    let on_feature = of_map.chain(of_moves).chain(of_rapids).reduce(Dug::deeper)?;
    let (dug, on_feature) = match beside(job, swept) {
        Some(other) if other.deviation_mm < on_feature.deviation_mm => (other, false),
        _ => (on_feature, true),
    };
    let depth_mm = (-dug.deviation_mm).max(0.0);
    Some(Gouge { depth_mm, point: dug.point, on_feature, by: dug.by })
}

/// A cut at a place.
#[derive(Clone, Copy)]
struct Dug {
    point: Vec3,
    deviation_mm: f64,
    by: RunKind,
}

impl Dug {
    fn new(job: &CutJob<'_>, swept: &Swept, ray: Ray, cut: Cut) -> Self {
        let run = swept.moves()[cut.by as usize].run as usize;
        Self { point: ray.point, deviation_mm: cut.deviation_mm, by: job.toolpath.runs[run].kind }
    }

    fn deeper(self, other: Self) -> Self {
        if other.deviation_mm < self.deviation_mm { other } else { self }
    }
}

/// Rays under the middles of the straight moves that cut, not more than a fortieth of [`CutJob::samples`].
fn middles(job: &CutJob<'_>) -> Vec<Ray> {
    let cuts = job.toolpath.runs.iter().filter(|r| r.kind == RunKind::Cut);
    let middles: Vec<Vec3> =
        cuts.flat_map(|r| r.contacts.windows(2)).map(|w| w[0].point.midpoint(w[1].point)).collect();
    let stride = middles.len().div_ceil((job.samples / 40).max(1)).max(1);
    let chosen: Vec<Vec3> = middles.into_iter().step_by(stride).collect();
    let rays: Vec<Option<Ray>> =
        chosen.par_iter().map(|p| ray_near(job.part, job.faces, *p, 1.0)).collect();
    let mut rays: Vec<Ray> = rays.into_iter().flatten().collect();
    neighbours_together(&mut rays, |r| r.point);
    rays
}

fn deepest(job: &CutJob<'_>, swept: &Swept, rays: &[Ray], reach: Reach) -> Option<Dug> {
    let cuts = swept.cuts_in_two_depths(rays, reach);
    let known = rays.iter().zip(cuts).filter_map(|(r, c)| Some(Dug::new(job, swept, *r, c?)));
    known.reduce(Dug::deeper)
}

/// The deepest that a rapid move, which must not touch, digs into the feature.
fn under_rapids(job: &CutJob<'_>, body: &Body, samples: &[Sample]) -> Option<Dug> {
    let rapids = sweep::moves(job.toolpath, Which::Rapid);
    if rapids.is_empty() {
        return None;
    }
    let rays: Vec<Ray> = samples.iter().map(|s| s.ray).collect();
    let swept = Swept::new(body.clone(), rapids);
    deepest(job, &swept, &rays, Reach { lo_mm: -DEEPEST_MM, hi_mm: 0.0 })
}

/// The deepest cut into faces that are not the feature's. Beside the feature's edge a shallow cut
/// below nominal runs deep along the neighbour's normal: what counts there is how deep the point
/// lies inside what was swept.
fn beside(job: &CutJob<'_>, swept: &Swept) -> Option<Dug> {
    let others: Vec<usize> = (0..job.part.faces.len()).filter(|f| !job.faces.contains(f)).collect();
    let samples = over_faces(job.part, &others, job.samples / 4);
    let inside: Vec<(Ray, f64)> = samples
        .par_iter()
        .map(|s| (s.ray, swept.inside_mm(s.ray.point)))
        .filter(|(_, depth_mm)| *depth_mm > 0.0)
        .collect();
    let rays: Vec<Ray> = inside.iter().map(|(r, _)| *r).collect();
    let cuts = swept.cuts_in_two_depths(&rays, Reach { lo_mm: -DEEPEST_MM, hi_mm: 0.0 });
    let dug = inside.iter().zip(cuts).filter_map(|((ray, inside_mm), cut)| {
        let cut = cut?;
        let depth_mm = inside_mm.min(-cut.deviation_mm);
        Some(Dug { deviation_mm: -depth_mm, ..Dug::new(job, swept, *ray, cut) })
    });
    dug.reduce(Dug::deeper)
}

/// Profiles across the lay from stations spread along the path.
fn profiles(job: &CutJob<'_>, ground: &Ground<'_>) -> Vec<Profile> {
    let step_mm = job.stepover_mm / PER_STEP;
    let length_mm = (PROFILE_LENGTH.0 * job.stepover_mm).max(PROFILE_LENGTH.1);
    let least_mm = 3.0 * job.stepover_mm;
    let all = stations(job.toolpath, 4 * PROFILES);
    let middle = all.len().saturating_sub(PROFILES) / 2;
    let chosen = all.iter().skip(middle).take(PROFILES);
    chosen.filter_map(|s| ground.profile(s, length_mm, step_mm, least_mm)).collect()
}
