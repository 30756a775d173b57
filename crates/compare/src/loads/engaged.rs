//! Where the cutter is in the cut, at places along the passes of an operation.

use crate::job::Prepared;
use crate::scene::Scene;
use cutter::contact::kappa_between;
use geom::Vec3;
use mechanics::chip::{self, Thickness};
use mechanics::engagement::Slice;
use mechanics::engagement::face::{Cleared, FaceCut, slices};
use pattern::FacePasses;
use rayon::prelude::*;
use study::{Cut, Traverse};

/// Places that are looked at.
const STATIONS: usize = 24;
/// How far off the part a contact may lie to be found on it, mm.
const REACH_MM: f64 = 1.0;

/// The cutter in the cut at one place.
pub(crate) struct Station {
    /// Angle between axis and normal, rad.
    pub(crate) kappa_rad: f64,
    /// Whether the axis leans to the left of the feed.
    leans_left: bool,
    /// Feed here over that of the operation.
    pub(crate) feed_factor: f64,
    /// In the cut beside a neighbouring pass.
    pub(crate) slices: Vec<Slice>,
}

impl Station {
    /// An upright cutter beside a wall, which stands on its right where it climbs.
    pub(crate) fn upright(slices: Vec<Slice>, climb: bool, feed_factor: f64) -> Self {
        Self { kappa_rad: std::f64::consts::FRAC_PI_2, leans_left: !climb, feed_factor, slices }
    }

    /// Angle at which a tooth passes the contact, and how far it lags there, rad.
    pub(crate) fn contact(&self) -> (f64, f64) {
        let angle = if self.leans_left { 0.0 } else { std::f64::consts::PI };
        (angle, self.nearest().map_or(0.0, |s| s.lag_rad))
    }

    /// Height of the contact over the tip, mm.
    pub(crate) fn contact_z_mm(&self) -> f64 {
        self.nearest().map_or(0.0, |s| s.z_mm)
    }

    /// The slice that touches the surface.
    fn nearest(&self) -> Option<&Slice> {
        let off = |s: &&Slice| (s.kappa_rad - self.kappa_rad).abs();
        self.slices.iter().min_by(|a, b| off(a).total_cmp(&off(b)))
    }
}

/// An operation in the cut.
pub(crate) struct Engaged {
    /// Places beside a neighbouring pass.
    pub(crate) stations: Vec<Station>,
    /// The first pass, which has no neighbour.
    pub(crate) first: Vec<Slice>,
    /// Feed per tooth, mm.
    pub(crate) feed_per_tooth_mm: f64,
}

/// A contact with the directions of its pass.
struct Sight {
    cut: FaceCut,
}

impl Engaged {
    /// Looks at places evenly spread over the passes. `None` where nothing is cut at any.
    pub(crate) fn of(
        scene: &Scene<'_>,
        prepared: &Prepared<'_>,
        passes: &FacePasses,
    ) -> Option<Self> {
        let sights = sights(scene, prepared, passes);
        let cutter = &prepared.assembly.cutter;
        let asked = |cut: &FaceCut| -> Vec<Cleared> {
            let both = [Cleared::Left, Cleared::Right];
            if prepared.operation.traverse == Traverse::BothWays {
                return both.to_vec();
            }
            let down = prepared.operation.cut == Cut::Down;
            let fits = |side: &Cleared| {
                is_down(&slices(cutter, &FaceCut { cleared: *side, ..*cut })) == Some(down)
            };
            both.into_iter().filter(fits).collect()
        };
        let stations: Vec<Station> = sights
            .par_iter()
            .flat_map_iter(|sight| {
                asked(&sight.cut).into_iter().map(|cleared| Station {
                    kappa_rad: sight.cut.kappa_rad,
                    leans_left: sight.cut.leans_left,
                    feed_factor: 1.0,
                    slices: slices(cutter, &FaceCut { cleared, ..sight.cut }),
                })
            })
            .filter(|s| !s.slices.is_empty())
            .collect();
        let middle = sights.get(sights.len() / 2)?;
        let first = slices(cutter, &FaceCut { cleared: Cleared::Nothing, ..middle.cut });
        let teeth_s = f64::from(prepared.cutter.teeth) * prepared.rev_s;
        let feed_per_tooth_mm = prepared.feed_mm_s / teeth_s;
        (!stations.is_empty()).then_some(Self { stations, first, feed_per_tooth_mm })
    }

    /// Thickest chip and mean chip over all places.
    pub(crate) fn chip(&self) -> Option<Thickness> {
        let of = |s: &Station| chip::over(&s.slices, s.feed_factor * self.feed_per_tooth_mm);
        let all: Vec<Thickness> = self.stations.iter().filter_map(of).collect();
        let max_mm = all.iter().map(|t| t.max_mm).fold(0.0, f64::max);
        let mean_mm = all.iter().map(|t| t.mean_mm).sum::<f64>() / all.len().max(1) as f64;
        (!all.is_empty()).then_some(Thickness { max_mm, mean_mm })
    }

    /// Largest radius that cuts, mm.
    pub(crate) fn largest_radius_mm(&self) -> f64 {
        let all = self.stations.iter().flat_map(|s| &s.slices);
        all.map(|s| s.radius_mm).fold(0.0, f64::max)
    }

    /// Height of the contact over the tip, mm: the lowest at any place, where the cutter is softest.
    pub(crate) fn contact_mm(&self) -> f64 {
        let all = self.stations.iter().filter_map(|s| Some(s.nearest()?.z_mm));
        all.reduce(f64::min).unwrap_or(0.0)
    }

    /// Lowest height that cuts, mm.
    pub(crate) fn lowest_mm(&self) -> f64 {
        let all = self.stations.iter().flat_map(|s| &s.slices).map(|s| s.z_mm);
        all.reduce(f64::min).unwrap_or(0.0)
    }

    /// Height along the axis that is in the cut, mm: the most at any place.
    pub(crate) fn depth_mm(&self) -> f64 {
        let of = |s: &Station| s.slices.iter().map(|p| p.width_mm * p.kappa_rad.sin()).sum::<f64>();
        self.stations.iter().map(of).fold(0.0, f64::max)
    }
}

/// Whether the chips start thick.
fn is_down(slices: &[Slice]) -> Option<bool> {
    let swing: f64 =
        slices.iter().map(|s| s.width_mm * (s.entry_rad.sin() - s.exit_rad.sin())).sum();
    (!slices.is_empty()).then_some(swing > 0.0)
}

fn sights(scene: &Scene<'_>, prepared: &Prepared<'_>, passes: &FacePasses) -> Vec<Sight> {
    let runs: Vec<_> = passes.toolpath.runs.iter().filter(|r| r.kind.is_cut()).collect();
    let moves: usize = runs.iter().map(|r| r.contacts.len().saturating_sub(1)).sum();
    let stride = moves.div_ceil(STATIONS).max(1);
    let mut index = stride / 2;
    let mut out = Vec::new();
    for run in runs {
        let count = run.contacts.len().saturating_sub(1);
        while index < count {
            out.extend(sight(scene, prepared, passes, run, index));
            index += stride;
        }
        index -= count;
    }
    out
}

fn sight(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    passes: &FacePasses,
    run: &toolpath::Run,
    i: usize,
) -> Option<Sight> {
    let (here, next, axis) = (run.contacts[i], run.contacts[i + 1], run.poses[i].axis);
    let part = scene.part;
    let hit = part.bvh.closest(&part.mesh, here.point, REACH_MM)?;
    let site = part.site_near(hit.triangle, here.point)?;
    let normal = here.normal;
    let chord = next.point - here.point;
    let feed = (chord - normal * chord.dot(normal)).try_normalize()?;
    let left: Vec3 = normal.cross(feed);
    Some(Sight {
        cut: FaceCut {
            kappa_rad: kappa_between(normal, axis),
            leans_left: axis.dot(left) >= 0.0,
            layer_mm: prepared.operation.allowance_mm,
            stepover_mm: passes.stepover_mm?.mean,
            cleared: Cleared::Nothing,
            across_per_mm: site.curvature.along(left),
            along_per_mm: site.curvature.along(feed),
            helix_rad: prepared.cutter.spec.helix_rad.unwrap_or(HELIX_RAD),
        },
    })
}

/// Helix where none is given: 30°, common practice, no source.
pub(crate) const HELIX_RAD: f64 = std::f64::consts::FRAC_PI_6;
