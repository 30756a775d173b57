//! The surface as cut: the simulation's figures in the words of the outcome.

use crate::Progress;
use crate::border;
use crate::job::{self, Prepared};
use crate::picture;
use crate::scene::Scene;
use cutsim::texture::{Parameters, default_cutoff_mm, kept_share};
use cutsim::{CutJob, CutSurface, cut_surface};
use geom::tolerance::COINCIDENT_MM;
use mechanics::finish::{self, FeedMarks};
use pattern::FacePasses;
use study::outcome::{Cusp, Gouge, PlanMap, Roughness};
use toolpath::Toolpath;
use units::Interval;
use units::convert::mm_to_um;

/// Samples of a map.
const SAMPLES: usize = 72_000;
/// A filter that keeps less than this of a wave as long as the step-over hides the cusp row.
const HIDES: f64 = 0.75;
/// Areas below this share of the feature count as reached: samples on its very border.
const BORDER_SHARE: f64 = 1e-4;

/// What the simulated cut says.
#[derive(Default)]
pub(crate) struct Surface {
    /// Cusp; its limit and prediction are the caller's.
    pub(crate) cusp: Cusp,
    /// Deepest cut below nominal.
    pub(crate) gouge: Option<Gouge>,
    /// Area that no pass reached, mm².
    pub(crate) uncut_mm2: Option<f64>,
    /// Texture.
    pub(crate) roughness: Vec<Roughness>,
    /// Maps.
    pub(crate) picture: Maps,
    /// What must be told.
    pub(crate) warnings: Vec<String>,
}

/// Maps over the plan.
#[derive(Default)]
pub(crate) struct Maps {
    /// Material left.
    pub(crate) cusp: Option<PlanMap>,
    /// Depth below nominal.
    pub(crate) gouge: Option<PlanMap>,
}

/// Simulates the cut of an operation.
pub(crate) fn cut(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    passes: &FacePasses,
    progress: Progress<'_>,
) -> Surface {
    let left_mm = prepared.operation.roughing.stock_left_mm.unwrap_or(0.0);
    let grown = prepared.assembly.cutter.profile().grown(left_mm);
    let job = CutJob {
        part: scene.part,
        faces: &prepared.faces,
        toolpath: &passes.toolpath,
        profile: &grown,
        stock_mm: prepared.operation.allowance_mm,
        stepover_mm: passes.stepover_mm.map_or(prepared.operation.allowance_mm, |s| s.max),
        samples: SAMPLES,
    };
    match cut_surface(&job, progress) {
        Some(cut) => words(scene, prepared, passes, &cut),
        None => Surface::default(),
    }
}

/// The same of an operation that finishes some faces in layers: what it and the operations before it,
/// whose map `before` holds, leave on them, and how deep it cuts into them and their neighbours.
pub(crate) fn of_layers(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    faces: &[usize],
    toolpath: &Toolpath,
    width_mm: f64,
    before: &mut Vec<Option<f64>>,
) -> Surface {
    let left_mm = prepared.operation.roughing.stock_left_mm.unwrap_or(0.0);
    let grown = prepared.assembly.cutter.profile().grown(left_mm);
    let job = CutJob {
        part: scene.part,
        faces,
        toolpath,
        profile: &grown,
        stock_mm: prepared.operation.allowance_mm,
        stepover_mm: width_mm,
        samples: SAMPLES,
    };
    let Some(mut cut) = cut_surface(&job, &|_| {}) else { return Surface::default() };
    together(&mut cut, before, job.stock_mm);
    Surface {
        cusp: cusp(&cut),
        gouge: gouge(&cut),
        uncut_mm2: cut.cut_max_mm.map(|_| uncut_mm2(&cut)),
        warnings: warnings(&cut),
        ..Surface::default()
    }
}

/// Lowers a map to what earlier operations left where that is less, and notes it for those to come.
fn together(cut: &mut CutSurface, before: &mut Vec<Option<f64>>, stock_mm: f64) {
    before.resize(cut.map.len(), None);
    for (sample, old) in cut.map.iter_mut().zip(before.iter_mut()) {
        let less = |a: f64| old.map_or(a, |b| a.min(b));
        *old = sample.deviation_mm.map(less).or(*old);
        // what a layer above has come down to is no cut of this surface
        sample.deviation_mm = old.filter(|mm| *mm < stock_mm - COINCIDENT_MM);
    }
    let left = || cut.map.iter().filter_map(|s| Some((s.deviation_mm?.max(0.0), s)));
    let highest = left().max_by(|a, b| a.0.total_cmp(&b.0)).map(|(mm, s)| (mm, s.point));
    let area: f64 = left().map(|(_, s)| s.area_mm2).sum();
    let volume: f64 = left().map(|(mm, s)| mm * s.area_mm2).sum();
    let uncut = cut.map.iter().filter(|s| s.deviation_mm.is_none());
    cut.uncut_mm2 = uncut.map(|s| s.area_mm2).sum();
    cut.cut_max_mm = highest.map(|h| h.0);
    cut.highest = highest.map(|h| h.1);
    cut.cut_mean_mm = (area > 0.0).then(|| volume / area);
}

fn uncut_mm2(cut: &CutSurface) -> f64 {
    let area: f64 = cut.map.iter().map(|m| m.area_mm2).sum();
    if cut.uncut_mm2 < BORDER_SHARE * area { 0.0 } else { cut.uncut_mm2 }
}

fn cusp(cut: &CutSurface) -> Cusp {
    Cusp {
        cut_max_um: cut.cut_max_mm.map(mm_to_um),
        cut_max_place_mm: cut.highest.map(|p| p.to_array()),
        cut_mean_um: cut.cut_mean_mm.map(mm_to_um),
        good_to_um: cut.cut_max_mm.map(|_| mm_to_um(cut.good_to_mm)),
        ..Cusp::default()
    }
}

fn gouge(cut: &CutSurface) -> Option<Gouge> {
    cut.gouge.map(|g| Gouge {
        depth_um: mm_to_um(g.depth_mm),
        place_mm: g.point.to_array(),
        by: g.by.name(),
    })
}

fn words(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    passes: &FacePasses,
    cut: &CutSurface,
) -> Surface {
    let band_mm = passes.stepover_mm.map_or(0.0, |s| s.max);
    let tops = border::tops(scene.part, &prepared.faces, cut, band_mm);
    let um = |top: Option<f64>| top.map(|h| mm_to_um(h.max(0.0)));
    let marks = feed_marks(scene, prepared, passes);
    let marks_um = marks.map_or(0.0, |m| mm_to_um(m.heights_mm().high));
    let mut roughness = across(passes, cut, marks_um);
    roughness.extend(along(scene, prepared, passes));
    roughness.extend(areal(cut));
    Surface {
        cusp: Cusp {
            interior_max_um: um(tops.interior_mm),
            border_max_um: um(tops.border_mm),
            ..cusp(cut)
        },
        gouge: gouge(cut),
        uncut_mm2: cut.cut_max_mm.map(|_| uncut_mm2(cut)),
        roughness,
        picture: maps(scene, cut),
        warnings: warnings(cut),
    }
}

fn maps(scene: &Scene<'_>, cut: &CutSurface) -> Maps {
    let frame = job::frame(scene.study);
    let of_map = || cut.map.iter().filter_map(|m| Some((m.point, mm_to_um(m.deviation_mm?))));
    let ridges = cut.ridges.iter().map(|r| (r.point, mm_to_um(r.height_mm)));
    let left = of_map().chain(ridges).map(|(p, d)| (p, d.max(0.0)));
    let below = of_map().map(|(p, d)| (p, (-d).max(0.0)));
    Maps { cusp: picture::plan_map(left, frame), gouge: picture::plan_map(below, frame) }
}

fn warnings(cut: &CutSurface) -> Vec<String> {
    let mut lines = Vec::new();
    let at = |p: geom::Vec3| format!("({:.2}, {:.2}, {:.2})", p.x, p.y, p.z);
    if let (Some(top), Some(ridge), Some(place)) = (cut.cut_max_mm, cut.ridge_max_mm, cut.highest)
        && top > 1.1 * ridge + cut.good_to_mm
    {
        lines.push(format!(
            "the highest material, {:.2} µm, stands at {}, not between passes ({:.2} µm there)",
            mm_to_um(top),
            at(place),
            mm_to_um(ridge)
        ));
    }
    if let Some(gouge) = cut.gouge.filter(|g| !g.on_feature && g.depth_mm > cut.good_to_mm) {
        lines.push(format!(
            "cuts {:.2} µm into a face beside the feature at {}",
            mm_to_um(gouge.depth_mm),
            at(gouge.point)
        ));
    }
    lines
}

fn row(
    parameter: &str,
    direction: &str,
    um: Interval,
    cutoff_mm: Option<f64>,
    note: Option<String>,
) -> Roughness {
    Roughness {
        parameter: parameter.to_owned(),
        direction: direction.to_owned(),
        um,
        cutoff_mm,
        note,
    }
}

/// Ra and Rz of the profiles across the lay, filtered by default and not at all.
///
/// A profile across the lay crosses every pass at another phase of its tooth marks: these stand in the
/// upper end, with runout and scatter.
fn across(passes: &FacePasses, cut: &CutSurface, marks_um: f64) -> Vec<Roughness> {
    let raw: Vec<Parameters> = cut.profiles.iter().filter_map(|p| p.unfiltered()).collect();
    let hull =
        |of: &[Parameters], pick: fn(&Parameters) -> f64| Interval::hull(of.iter().map(pick));
    let Some(ra) = hull(&raw, |p| p.ra_um) else { return Vec::new() };
    let cutoff_mm = default_cutoff_mm(ra.high);
    let filtered: Vec<Parameters> =
        cut.profiles.iter().filter_map(|p| p.filtered(cutoff_mm)).collect();
    let step_mm = passes.stepover_mm.map_or(0.0, |s| s.mean);
    let kept = kept_share(step_mm, cutoff_mm);
    let hides = (kept < HIDES).then(|| {
        format!(
            "this cut-off keeps only {:.0} % of a row {step_mm:.2} mm apart; read the unfiltered value",
            100.0 * kept
        )
    });
    let mut rows = Vec::new();
    for (name, pick) in [("Ra", ra_of as fn(&Parameters) -> f64), ("Rz", rz_of)] {
        if let Some(um) = hull(&filtered, pick) {
            let share = if name == "Ra" { finish::RA_PER_HEIGHT } else { 1.0 };
            let um = finish::with_scatter(um, scatter_um(name) + share * marks_um);
            let note = hides.clone().unwrap_or_else(|| SCATTERED.to_owned());
            rows.push(row(name, "across", um, Some(cutoff_mm), Some(note)));
        }
        let bare = Some("geometry of the cusps alone".to_owned());
        rows.extend(hull(&raw, pick).map(|um| row(name, "across", um, None, bare.clone())));
    }
    rows
}

fn ra_of(p: &Parameters) -> f64 {
    p.ra_um
}

fn rz_of(p: &Parameters) -> f64 {
    p.rz_um
}

/// What the range of a roughness holds.
const SCATTERED: &str = "low: cusps alone; high: with tooth marks, runout and a sharp edge's scatter (common practice, no \
     source)";

fn scatter_um(parameter: &str) -> f64 {
    if parameter == "Ra" { finish::SCATTER_RA_UM } else { finish::SCATTER_RZ_UM }
}

/// Ra and Rz along the feed: tooth marks in the middle of the path, runout and scatter.
fn along(scene: &Scene<'_>, prepared: &Prepared<'_>, passes: &FacePasses) -> Vec<Roughness> {
    let Some(marks) = feed_marks(scene, prepared, passes) else { return Vec::new() };
    let height_um =
        Interval::new(mm_to_um(marks.heights_mm().low), mm_to_um(marks.heights_mm().high));
    let share = |f: f64| Interval::new(f * height_um.low, f * height_um.high);
    let note = "low: marks of even teeth; high: with runout and a sharp edge's scatter (common \
                practice, no source)";
    [("Ra", share(finish::RA_PER_HEIGHT)), ("Rz", height_um)]
        .into_iter()
        .map(|(name, um)| {
            let um = finish::with_scatter(um, scatter_um(name));
            row(name, "along", um, None, Some(note.to_owned()))
        })
        .collect()
}

pub(crate) fn feed_marks(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    passes: &FacePasses,
) -> Option<FeedMarks> {
    let cuts: Vec<_> = passes.toolpath.runs.iter().filter(|r| r.kind.is_cut()).collect();
    let run = cuts.get(cuts.len() / 2)?;
    let middle = run.contacts.len() / 2;
    let (at, next) = (run.contacts.get(middle)?, run.contacts.get(middle.checked_sub(1)?)?);
    let axis = run.poses.get(middle)?.axis;
    let hit = scene.part.bvh.closest(&scene.part.mesh, at.point, f64::INFINITY)?;
    let site = scene.part.site_near(hit.triangle, at.point)?;
    let kappa_rad = cutter::contact::kappa_between(site.normal, axis);
    let contact = prepared.assembly.cutter.profile().contact(kappa_rad).ok()?;
    let relative = cutter::Relative::at(&site, axis, &contact)?;
    let way = next.point - at.point;
    let feed = (way - site.normal * way.dot(site.normal)).try_normalize()?;
    let fz_mm = prepared.feed_mm_s / (f64::from(prepared.cutter.teeth) * prepared.rev_s);
    // the mark of a feed is f²/8 times the relative curvature along it
    let per_mm = 8.0 * relative.tooth_mark_mm(feed, fz_mm).ok()? / (fz_mm * fz_mm);
    (per_mm > 0.0 && per_mm.is_finite()).then(|| FeedMarks {
        feed_per_tooth_mm: fz_mm,
        teeth: prepared.cutter.teeth.max(1) as usize,
        radius_mm: 1.0 / per_mm,
        surface_per_mm: 0.0,
        runout_mm: prepared.cutter.runout_mm,
    })
}

fn areal(cut: &CutSurface) -> Vec<Roughness> {
    let Some(areal) = cut.areal else { return Vec::new() };
    let of = |name: &str, mm: f64| row(name, "area", Interval::point(mm_to_um(mm)), None, None);
    vec![of("Sa", areal.sa_mm), of("Sz", areal.sz_mm)]
}

/// Closest approach of what does not cut.
pub(crate) fn approach(passes: &FacePasses) -> Option<study::outcome::Approach> {
    passes.closest_approach.map(|a| study::outcome::Approach {
        body: a.body.to_owned(),
        distance_mm: a.distance_mm,
        place_mm: a.place.to_array(),
        good_to_mm: None,
    })
}
