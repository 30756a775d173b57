//! One operation, computed: passes, time, cut surface, limits.

use crate::answers;
use crate::computed::ComputedOperation;
use crate::job::{self, Prepared};
use crate::loads::{self, Loads};
use crate::picture;
use crate::scene::Scene;
use crate::split::{self, Causes};
use crate::surface::{self, Surface};
use crate::{Progress, feature};
use cutter::Assembly;
use machine::{AccountOptions, RouteOptions, TimeAccount};
use pattern::FacePasses;
use study::outcome::{
    Cusp, CuttingData, LimitShare, OperationOutcome, OperationTime, Picture, Spread,
};
use study::{Diagnostic, Finish, Operation, OperationKind};
use units::Interval;

/// Ideal parabolic cusp row: Ra over height, 4 / (9 √3). Derived: mean of |z − h/3| over a parabola.
const RA_PER_CUSP: f64 = 0.256_600_119_7;

/// Computes one operation.
pub(crate) fn compute<'a>(
    scene: &Scene<'a>,
    operation: &'a Operation,
    progress: Progress<'_>,
) -> Result<ComputedOperation<'a>, Diagnostic> {
    let prepared = prepare(scene, operation)?;
    let job = job::face_job(scene.study, scene.part, &prepared, scene.fixtures, prepared.feed_mm_s);
    let passes = pattern::finish_face(&job, &|share| progress(0.35 * share))
        .map_err(|e| refuse(scene, operation, &e.to_string()))?;
    let options = account_options(scene, &prepared);
    let machine = &scene.study.machine;
    let (timed, surface) = rayon::join(
        || answers::timed(&passes.toolpath, machine, &options),
        || surface::cut(scene, &prepared, &passes, &|share| progress(0.4 + 0.6 * share)),
    );
    let (account, timing) = timed.map_err(|e| refuse(scene, operation, &e.to_string()))?;
    progress(1.0);
    let causes = Causes {
        path_mm: passes.path_mm,
        contact_feed_mm_s: passes.path_mm / account.times.programmed_s,
        ideal_link_s: split::ideal_link_s(&passes.toolpath, machine),
        real_s: account.times.total_s,
    };
    let loads = loads::of(scene, &prepared, &passes, account.times.cutting_s);
    let outcome = outcome(scene, &prepared, &passes, &account, surface, loads);
    Ok(ComputedOperation { prepared, outcome, timing, causes })
}

pub(crate) fn refuse(scene: &Scene<'_>, operation: &Operation, reason: &str) -> Diagnostic {
    let (what, remedy) = reason.split_once(": ").unwrap_or((reason, ""));
    scene.study.fault(
        operation.place,
        format!("operation \"{}\" cannot be done: {what}", operation.name),
        "an operation that cutter, part and machine allow",
        if remedy.is_empty() { "change the operation, its cutter or the machine" } else { remedy },
    )
}

pub(crate) fn prepare<'a>(
    scene: &Scene<'a>,
    operation: &'a Operation,
) -> Result<Prepared<'a>, Diagnostic> {
    let computed = matches!(
        operation.kind,
        OperationKind::FinishFace
            | OperationKind::SemiFinishFace
            | OperationKind::FinishFloor
            | OperationKind::FinishWall
    );
    if !computed {
        return Err(scene.study.fault(
            operation.place,
            format!("operation \"{}\" is of kind {}", operation.name, operation.kind.name()),
            "rough-pocket, rough-outside, rest-corners, semi-finish-face, finish-face, finish-floor or \
             finish-wall",
            "drill and chamfer are not computed: leave the operation out of every process alike",
        ));
    }
    let study = scene.study;
    if operation.roughing.spring_passes > 0 {
        return Err(study.fault(
            operation.place,
            format!(
                "operation \"{}\" asks for spring_passes, which only walls in layers have",
                operation.name
            ),
            "spring_passes on a feature of kind pocket or outside with `axis = \"fixed\"`",
            "take spring_passes out, or select the feature as a pocket",
        ));
    }
    let faces = feature::faces(study, scene.part, study.feature_of(operation))?;
    feature::sound(study, scene.part, study.feature_of(operation), &faces)?;
    let cutter = study.cutter_of(operation);
    let assembly = assembly(scene, cutter)?;
    let up = job::frame(study).up;
    let kappa_rad = job::expected_kappa_rad(operation, &assembly, scene.part, &faces, up);
    let rev_s = job::rev_s(operation, &assembly, kappa_rad);
    if !rev_s.is_finite() {
        return Err(study.fault(
            operation.place,
            format!("operation \"{}\" cuts at the tip, which does not move", operation.name),
            "an angle between axis and surface at which the cutter turns past the contact",
            "give rpm instead of vc_m_min, or lean the axis with kappa_deg",
        ));
    }
    let feed_mm_s = job::feed_mm_s(operation, cutter.teeth, rev_s);
    Ok(Prepared { operation, cutter, assembly, faces, rev_s, feed_mm_s })
}

/// A cutter in its holder.
pub(crate) fn assembly(
    scene: &Scene<'_>,
    cutter: &study::StudyCutter,
) -> Result<Assembly, Diagnostic> {
    Assembly::new(&cutter.spec).map_err(|e| {
        let message = format!("cutter \"{}\" cannot exist: {e}", cutter.id);
        let expected = "a cutter that can be ground";
        scene.study.fault(cutter.place, message, expected, "correct its dimensions")
    })
}

pub(crate) fn account_options(scene: &Scene<'_>, prepared: &Prepared<'_>) -> AccountOptions {
    AccountOptions {
        route: RouteOptions {
            mounting: job::mounting(scene.study, prepared.assembly.top_mm()),
            lever_mm: prepared.assembly.cutter.profile().largest_radius_mm(),
        },
        ..AccountOptions::default()
    }
}

fn outcome(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    passes: &FacePasses,
    account: &TimeAccount,
    surface: Surface,
    loads: Loads,
) -> OperationOutcome {
    let operation = prepared.operation;
    let times = account.times;
    let mut out = OperationOutcome {
        name: operation.name.clone(),
        feature: scene.study.feature_of(operation).name.clone(),
        kind: operation.kind.name().to_owned(),
        cutter: prepared.cutter.id.clone(),
        pattern: operation.pattern.name().to_owned(),
        time: time(&times),
        measured_time_s: operation.measured_time_s,
        feed_attainment: times.feed_attainment(),
        data: cutting_data(prepared, passes),
        path_mm: passes.path_mm,
        tip_path_mm: passes.tip_path_mm,
        link_mm: passes.link_mm + passes.rapid_mm,
        passes: passes.passes.len(),
        path_bound_mm: passes.path_bound_mm,
        uncut_mm2: surface.uncut_mm2,
        stepover_mm: passes.stepover_mm.map(|s| Spread { min: s.min, mean: s.mean, max: s.max }),
        cusp: Cusp {
            predicted_max_um: passes.predicted_cusp_max_mm.map(units::convert::mm_to_um),
            limit_um: limit_um(scene.study.feature_of(operation).finish),
            ..surface.cusp
        },
        gouge: surface.gouge,
        roughness: surface.roughness,
        closest_approach: surface::approach(passes),
        loads: loads.loads,
        form_error: loads.form_error,
        swarf: loads.swarf,
        chatter: loads.chatter,
        roughed: None,
        headroom: loads.headroom,
        life: loads.life,
        limits: limits(account),
        warnings: Vec::new(),
        broken: Vec::new(),
        unknown_limits: unknown_limits(scene, prepared),
        picture: pictures(scene, prepared, passes, account, surface.picture),
    };
    out.warnings = warnings(scene, prepared, passes, account, surface.warnings);
    out.warnings.extend(loads.warnings);
    out.broken = broken(scene, prepared, account, &out);
    out.broken.extend(loads.broken);
    out.unknown_limits.extend(loads.unknown);
    out
}

/// Times as the outcome tells them.
pub(crate) fn time(times: &machine::Times) -> OperationTime {
    OperationTime {
        total_s: times.total_s,
        cutting_s: times.cutting_s,
        linking_s: times.linking_s,
        programmed_s: times.programmed_s,
    }
}

pub(crate) fn limit_um(finish: Option<Finish>) -> Option<f64> {
    finish.map(|f| match f {
        Finish::Cusp { limit_mm } => units::convert::mm_to_um(limit_mm),
        Finish::Ra { limit_mm } => units::convert::mm_to_um(limit_mm) / RA_PER_CUSP,
    })
}

pub(crate) fn cutting_data(prepared: &Prepared<'_>, passes: &FacePasses) -> CuttingData {
    let per_minute = units::convert::mm_s_to_mm_min;
    let cuts = passes.toolpath.runs.iter().filter(|r| r.kind.is_cut());
    let feeds = cuts.flat_map(|r| r.tip_feed_mm_s.iter().copied()).map(per_minute);
    let teeth_s = f64::from(prepared.cutter.teeth) * prepared.rev_s;
    let (low, high) = passes.axis.kappa_rad;
    let middle = 0.5 * (low + high);
    let contact = prepared.assembly.cutter.profile().contact(middle).ok();
    let rpm = 60.0 * prepared.rev_s;
    CuttingData {
        rpm,
        feed_per_tooth_mm: prepared.feed_mm_s / teeth_s,
        contact_feed_mm_min: per_minute(prepared.feed_mm_s),
        tip_feed_mm_min: Interval::hull(feeds)
            .unwrap_or(Interval::point(per_minute(prepared.feed_mm_s))),
        contact_speed_m_min: contact
            .map(|c| units::convert::cutting_speed_m_min(c.effective_diameter_mm(), rpm)),
        kappa_deg: Interval::new(low.to_degrees(), high.to_degrees()),
    }
}

pub(crate) fn limits(account: &TimeAccount) -> Vec<LimitShare> {
    let line = |l: &machine::LimitShare| LimitShare {
        limit: l.limit.to_string(),
        time_share: l.time_share,
        worth_s: l.worth_s,
        relaxed_by: account.relaxed_by,
    };
    account.limits.iter().map(line).collect()
}

fn pictures(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    passes: &FacePasses,
    account: &TimeAccount,
    maps: surface::Maps,
) -> Picture {
    let frame = job::frame(scene.study);
    let (passes_mm, every) = picture::passes(&passes.toolpath, frame);
    let [border_mm, edges_mm] = picture::edges(scene.part, &prepared.faces, frame);
    let samples = account.series.iter().filter(|s| s.programmed_mm_s.is_some());
    let feed = samples.map(|s| [s.time_s, units::convert::mm_s_to_mm_min(s.attained_mm_s)]);
    Picture {
        passes_mm,
        every,
        border_mm,
        edges_mm,
        cusp: maps.cusp,
        gouge: maps.gouge,
        feed: feed.collect(),
    }
}

fn warnings(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    passes: &FacePasses,
    account: &TimeAccount,
    of_surface: Vec<String>,
) -> Vec<String> {
    let mut lines: Vec<String> = passes.warnings.iter().map(ToString::to_string).collect();
    lines.extend(prepared.assembly.notes.iter().cloned());
    lines.extend(of_surface);
    if !account.turning_over.is_empty() {
        lines.push(format!(
            "the rotary axes turn over or unwind in {} rapids",
            account.turning_over.len()
        ));
    }
    if prepared.assembly.bodies.iter().all(|b| b.kind != cutter::BodyKind::Holder) {
        lines.push(format!("cutter {} has no holder: none is checked", prepared.cutter.id));
    }
    if let Some(Finish::Ra { .. }) = scene.study.feature_of(prepared.operation).finish {
        lines.push(
            "the Ra asked for is turned into a cusp by the ideal row, Ra = 0.2566 h".to_owned(),
        );
    }
    lines
}

/// Limits of speed that nobody gave.
pub(crate) fn unknown_limits(scene: &Scene<'_>, prepared: &Prepared<'_>) -> Vec<String> {
    let mut lines = Vec::new();
    if prepared.cutter.max_rev_s.is_none() {
        lines.push(format!(
            "the fastest speed of cutter {} in its holder at this stick-out is not given, so that its speed \
             is not checked: give max_rpm from the data of cutter and holder, the lower of both",
            prepared.cutter.id
        ));
    }
    if scene.study.machine.spindle.max_rpm.is_none() {
        lines.push("the spindle's fastest speed is not given, so that it is not checked: give max_rpm under [spindle]".to_owned());
    }
    lines
}

/// Limits that are broken, in words.
fn broken(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    account: &TimeAccount,
    o: &OperationOutcome,
) -> Vec<String> {
    let mut lines = surface_broken(scene, prepared, o);
    if o.cusp.cut_max_um.is_none() {
        lines.push("nothing of the feature is cut".to_owned());
    }
    lines.extend(too_fast(scene, prepared));
    lines.extend(account.exceeded.iter().map(ToString::to_string));
    lines
}

/// Cusp, gouge and area not reached beyond what the feature allows, in words.
pub(crate) fn surface_broken(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    o: &OperationOutcome,
) -> Vec<String> {
    let mut lines = Vec::new();
    let good_to = o.cusp.good_to_um.unwrap_or(0.0);
    if let (Some(cut), Some(limit)) = (o.cusp.cut_max_um, o.cusp.limit_um)
        && cut > limit + good_to
    {
        let place = o
            .cusp
            .cut_max_place_mm
            .map_or_else(String::new, |[x, y, z]| format!(" at ({x:.2}, {y:.2}, {z:.2})"));
        lines.push(format!("cusp {cut:.2} µm{place}, allowed {limit:.2} µm"));
    }
    if let Some(uncut) = o.uncut_mm2.filter(|a| *a > 0.0) {
        lines.push(format!("{uncut:.2} mm² of the feature are not reached"));
    }
    let feature = scene.study.feature_of(prepared.operation);
    if let (Some(gouge), Some(tolerance_mm)) = (o.gouge, feature.tolerance_mm)
        && gouge.depth_um > units::convert::mm_to_um(tolerance_mm)
    {
        let allowed = units::convert::mm_to_um(tolerance_mm);
        let ([x, y, z], depth, by) = (gouge.place_mm, gouge.depth_um, gouge.by);
        lines.push(format!(
            "a {by} cuts {depth:.2} µm below nominal at ({x:.2}, {y:.2}, {z:.2}), tolerance {allowed:.1} µm"
        ));
    }
    lines
}

/// Speeds that machine or cutter do not allow, in words.
pub(crate) fn too_fast(scene: &Scene<'_>, prepared: &Prepared<'_>) -> Vec<String> {
    let mut lines = Vec::new();
    let spindle_rev_s = scene.study.machine.spindle.max_rpm.map(units::convert::rpm_to_rev_s);
    for (what, most) in [("machine", spindle_rev_s), ("cutter", prepared.cutter.max_rev_s)] {
        if let Some(most) = most.filter(|m| prepared.rev_s > m * (1.0 + f64::EPSILON)) {
            let (asked, most) = (60.0 * prepared.rev_s, 60.0 * most);
            lines.push(format!("{asked:.0} rev/min asked for, the {what} allows {most:.0}"));
        }
    }
    lines
}
