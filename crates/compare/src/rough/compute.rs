//! One operation that clears in layers, computed: path, time, loads, chips, what is left.

use super::feed::Schedule;
use super::finish::Task;
use super::lay::{Laid, lay};
use super::simulate::simulate;
use super::{Standing, chips, loads as cut, step_down, thin};
use crate::answers;
use crate::computed::ComputedOperation;
use crate::job::{self, Prepared};
use crate::loads::{self, Loads};
use crate::operation::{self, account_options, refuse};
use crate::picture;
use crate::scene::Scene;
use crate::split::{self, Causes};
use crate::surface::{self, Surface};
use cutter::Form;
use machine::{AccountOptions, TimeAccount, Timer};
use std::f64::consts::TAU;
use study::outcome::{
    Cusp, CuttingData, FeedGain, LoadKind, OperationOutcome, Picture, Roughed, Swarf,
};
use study::{Diagnostic, FeedRule, Operation, Speed};
use toolpath::RunKind;
use units::Interval;

/// Points of the plot of the arc of contact at most.
const POINTS: usize = 1500;

/// What an operation comes down to before it is laid.
///
/// # Errors
/// A cutter that cannot exist, or that cuts no flat floor.
fn prepare<'a>(scene: &Scene<'a>, operation: &'a Operation) -> Result<Prepared<'a>, Diagnostic> {
    let cutter = scene.study.cutter_of(operation);
    let assembly = operation::assembly(scene, cutter)?;
    if !matches!(cutter.spec.form, Form::Flat | Form::CornerRadius) {
        return Err(scene.study.fault(
            operation.cutter_place,
            format!(
                "cutter \"{}\" of form {} cuts no flat floor",
                cutter.id,
                cutter.spec.form.name()
            ),
            "a flat or corner-radius cutter for an operation that clears in layers",
            "name such a cutter",
        ));
    }
    let rev_s = match operation.speed {
        Speed::Spindle { rev_s } => rev_s,
        Speed::Cutting { mm_s } => mm_s / (0.5 * TAU * cutter.spec.diameter_mm),
    };
    let feed_mm_s = job::feed_mm_s(operation, cutter.teeth, rev_s);
    Ok(Prepared { operation, cutter, assembly, faces: Vec::new(), rev_s, feed_mm_s })
}

/// Computes one operation on what those before it left, and notes what it clears.
///
/// # Errors
/// An operation that cannot be done, with its place in the study.
pub(crate) fn compute<'a>(
    scene: &Scene<'a>,
    operation: &'a Operation,
    standing: &mut Standing,
) -> Result<ComputedOperation<'a>, Diagnostic> {
    let (prepared, laid, gain) = laid(scene, operation, standing)?;
    let options = account_options(scene, &prepared);
    let machine = &scene.study.machine;
    let frame = job::frame(scene.study);
    let simulated = simulate(scene, &prepared, &laid, &laid.blank, &mut standing.stocks);
    let timed = answers::timed(&laid.toolpath, machine, &options);
    let (account, timing) = timed.map_err(|e| refuse(scene, operation, &e.to_string()))?;
    let loads = loads_of(scene, &prepared, &laid, account.times.cutting_s);
    let path_mm = length(&laid, RunKind::is_cut);
    let causes = Causes {
        path_mm,
        contact_feed_mm_s: path_mm / account.times.programmed_s,
        ideal_link_s: split::ideal_link_s(&laid.toolpath, machine),
        real_s: account.times.total_s,
    };
    let surface = match laid.task {
        Task::Clear => surface::Surface::default(),
        _ => finished(scene, &prepared, &laid, standing),
    };
    let gain = gain.map(|g| FeedGain { scheduled_s: account.times.total_s, ..g });
    let mut outcome = outcome(scene, &prepared, &laid, &account, (loads, surface), gain);
    match simulated {
        Ok(found) => {
            outcome.broken.extend(found.met());
            outcome.closest_approach = found.closest(frame);
            outcome.roughed.iter_mut().for_each(|r| r.left = found.left);
        }
        Err(error) => outcome.warnings.push(format!("the cut was not simulated: {error}")),
    }
    Ok(ComputedOperation { prepared, outcome, timing, causes })
}

/// What finishing has left on the faces that the operations of the process finish on the feature, once
/// the last of them is through; and how deep this one cuts.
fn finished(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    laid: &Laid,
    standing: &mut Standing,
) -> Surface {
    let operation = prepared.operation;
    let finishing = finishing(scene, operation);
    let mut faces: Vec<usize> = Vec::new();
    for task in [Task::Walls, Task::Floor] {
        if finishing.iter().any(|o| Task::of(o.kind) == task) {
            faces.extend(laid.shape.finished(scene, task));
        }
    }
    faces.sort_unstable();
    let before = standing.finished(operation.feature);
    let width_mm = laid.measures.width_mm;
    let mut found = surface::of_layers(scene, prepared, &faces, &laid.toolpath, width_mm, before);
    if finishing.last().is_some_and(|last| !std::ptr::eq(*last, operation)) {
        found.cusp = Cusp::default();
        found.uncut_mm2 = None;
        found.warnings =
            vec!["what stays on the surface is told of the last operation on it".to_owned()];
    }
    found
}

/// Operations of the same process that finish the same feature in layers, in order.
fn finishing<'a>(scene: &Scene<'a>, operation: &Operation) -> Vec<&'a Operation> {
    let study = scene.study;
    let holds = |p: &&study::Process| p.operations.iter().any(|o| std::ptr::eq(o, operation));
    let all = study.processes.iter().find(holds).map_or(&[][..], |p| &p.operations);
    let finishes = |o: &&Operation| {
        o.feature == operation.feature && !o.kind.clears() && study.is_in_layers(o)
    };
    all.iter().filter(finishes).collect()
}

/// An operation laid on what those before it left, its feed as asked for, and what that feed brings.
///
/// # Errors
/// An operation that cannot be done, with its place in the study.
pub(crate) fn laid<'a>(
    scene: &Scene<'a>,
    operation: &'a Operation,
    standing: &mut Standing,
) -> Result<(Prepared<'a>, Laid, Option<FeedGain>), Diagnostic> {
    let mut prepared = prepare(scene, operation)?;
    let mut laid = lay(scene, &prepared, standing)?;
    standing.clear(laid.slabs());
    prepared.faces = laid.shape.faces.clone();
    let mut gain = None;
    if operation.roughing.feed_rule == FeedRule::Scheduled {
        let options = account_options(scene, &prepared);
        let engaged = cut::engaged(&prepared, &laid);
        match engaged.map(|e| loads::law(scene, &prepared, &e)) {
            Some(Ok(law)) => gain = scheduled(scene, &prepared, &mut laid, &law, &options)?,
            Some(Err(why)) => laid.warnings.push(format!("the feed stays constant: {why}")),
            None => {}
        }
    }
    Ok((prepared, laid, gain))
}

/// The loads of an operation whose cutting takes `cutting_s`.
pub(crate) fn loads_of(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    laid: &Laid,
    cutting_s: f64,
) -> Loads {
    cut::engaged(prepared, laid).map_or_else(loads::nothing, |engaged| {
        let bin = chips::bin(prepared, laid);
        let wall = (laid.task == Task::Walls).then_some(laid.measures.depth_mm);
        let path = &laid.toolpath;
        let mut out = loads::of_engaged(scene, prepared, &engaged, path, wall, &bin, cutting_s);
        if laid.task == Task::Walls {
            out.warnings.extend(thin::told(scene, prepared, laid, &out.loads));
            sprung(scene, prepared, laid, &mut out);
        }
        out
    })
}

/// Puts what spring passes leave in place of what the first pass does.
fn sprung(scene: &Scene<'_>, prepared: &Prepared<'_>, laid: &Laid, out: &mut Loads) {
    if prepared.operation.roughing.spring_passes == 0 {
        return;
    }
    let Some(first) = out.form_error.take() else { return };
    let error = step_down::after_springs(scene, prepared, laid.measures.depth_mm, first);
    if let Some(load) = out.loads.iter_mut().find(|l| l.kind == LoadKind::Deflection) {
        let most = error.largest_um();
        // what they bring is not certain: the far end stays
        load.peak_range = load.peak_range.map(|r| Interval::new(r.low.min(most), r.high));
        load.limit_from = format!("{}; after spring passes", load.limit_from);
        load.peak = load.peak.map(|p| p.min(most));
        load.mean = load.mean.map(|m| m.min(most));
        load.surface = Some(error.left_um);
    }
    out.form_error = Some(error);
    out.broken = loads::broken(out);
}

/// Puts the feed that follows the load on the path; what it brings, its own time still open.
fn scheduled(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    laid: &mut Laid,
    law: &material::ForceLaw,
    options: &AccountOptions,
) -> Result<Option<FeedGain>, Diagnostic> {
    let whole = AccountOptions { worth_of: 0, ..*options };
    let timed = Timer::new(&laid.toolpath, &scene.study.machine, &whole)
        .and_then(|timer| timer.times(&machine::Scenario::default()))
        .map_err(|e| refuse(scene, prepared.operation, &e.to_string()))?;
    let Some(schedule) = Schedule::new(prepared, laid, law) else { return Ok(None) };
    let (least, most) = schedule.apply(laid, prepared.feed_mm_s);
    Ok(Some(FeedGain { constant_s: timed.total_s, scheduled_s: timed.total_s, least, most }))
}

fn length(laid: &Laid, of: impl Fn(RunKind) -> bool) -> f64 {
    laid.toolpath.runs.iter().filter(|r| of(r.kind)).map(toolpath::Run::tip_length_mm).sum()
}

fn outcome(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    laid: &Laid,
    account: &TimeAccount,
    (loads, surface): (Loads, Surface),
    gain: Option<FeedGain>,
) -> OperationOutcome {
    let operation = prepared.operation;
    let times = account.times;
    let path_mm = length(laid, RunKind::is_cut);
    let mut swarf: Swarf = loads.swarf;
    swarf.verdict.extend(chips::verdict(scene.study, prepared, laid, times.cutting_s));
    let roughed = roughed(laid, times.cutting_s, gain);
    let mut warnings = laid.warnings.clone();
    warnings.extend(prepared.assembly.notes.iter().cloned());
    warnings.extend(rest(prepared, laid, &roughed));
    warnings.extend(surface.warnings);
    warnings.extend(loads.warnings);
    let mut broken = operation::too_fast(scene, prepared);
    broken.extend(account.exceeded.iter().map(ToString::to_string));
    broken.extend(loads.broken);
    let mut unknown_limits = operation::unknown_limits(scene, prepared);
    unknown_limits.extend(loads.unknown);
    let mut out = OperationOutcome {
        name: operation.name.clone(),
        feature: scene.study.feature_of(operation).name.clone(),
        kind: operation.kind.name().to_owned(),
        cutter: prepared.cutter.id.clone(),
        pattern: match laid.task {
            Task::Walls => "along walls".to_owned(),
            _ => operation.roughing.clearing.name().to_owned(),
        },
        time: operation::time(&times),
        measured_time_s: operation.measured_time_s,
        feed_attainment: times.feed_attainment(),
        data: data(prepared, laid),
        path_mm,
        tip_path_mm: path_mm,
        link_mm: length(laid, |k| !k.is_cut()),
        passes: laid.toolpath.runs.iter().filter(|r| r.kind.is_cut()).count(),
        path_bound_mm: None,
        uncut_mm2: surface.uncut_mm2,
        stepover_mm: None,
        cusp: Cusp {
            limit_um: operation::limit_um(scene.study.feature_of(operation).finish)
                .filter(|_| laid.task != Task::Clear),
            ..surface.cusp
        },
        gouge: surface.gouge,
        roughness: Vec::new(),
        closest_approach: None,
        loads: loads.loads,
        form_error: loads.form_error,
        swarf,
        chatter: loads.chatter,
        roughed: Some(roughed),
        headroom: loads.headroom,
        life: loads.life,
        limits: operation::limits(account),
        warnings,
        broken,
        unknown_limits,
        picture: pictures(scene, prepared, laid, account),
    };
    let of_surface = operation::surface_broken(scene, prepared, &out);
    out.broken.extend(of_surface);
    out
}

/// Speeds and feeds.
pub(crate) fn data(prepared: &Prepared<'_>, laid: &Laid) -> CuttingData {
    let per_minute = units::convert::mm_s_to_mm_min;
    let cuts = laid.toolpath.runs.iter().filter(|r| r.kind.is_cut());
    let feeds = cuts.flat_map(|r| r.tip_feed_mm_s.iter().copied()).map(per_minute);
    let asked = per_minute(prepared.feed_mm_s);
    let rpm = 60.0 * prepared.rev_s;
    let teeth_s = f64::from(prepared.cutter.teeth) * prepared.rev_s;
    let diameter = prepared.cutter.spec.diameter_mm;
    CuttingData {
        rpm,
        feed_per_tooth_mm: prepared.feed_mm_s / teeth_s,
        contact_feed_mm_min: asked,
        tip_feed_mm_min: Interval::hull(feeds).unwrap_or(Interval::point(asked)),
        contact_speed_m_min: Some(units::convert::cutting_speed_m_min(diameter, rpm)),
        kappa_deg: Interval::point(90.0),
    }
}

fn roughed(laid: &Laid, cutting_s: f64, feed_gain: Option<FeedGain>) -> Roughed {
    let shares = || laid.layers.iter().map(|l| &l.clearing.shares);
    let sum = |f: fn(&clearing::Shares) -> f64| -> f64 { shares().map(f).sum() };
    let depth = laid.layers.iter().map(|l| l.layer.depth_mm()).fold(0.0, f64::max);
    let of = |f: &dyn Fn(&super::lay::Cleared) -> f64| -> f64 {
        laid.layers.iter().map(|l| 1e-3 * f(l)).sum()
    };
    let lowest = laid.layers.last();
    let cutting = sum(|s| s.cutting_mm);
    Roughed {
        levels: laid.layers.len(),
        depth_mm: depth,
        least_depth_mm: laid.layers.iter().map(|l| l.layer.depth_mm()).fold(depth, f64::min),
        width_mm: laid.measures.width_mm,
        arc_target_deg: laid.arc_rad.to_degrees(),
        arc_peak_deg: shares().map(|s| s.peak_rad).fold(0.0, f64::max).to_degrees(),
        arc_held_share: (laid.task == Task::Clear && cutting > 0.0)
            .then(|| sum(|s| s.steered_within_mm) / cutting),
        slot_mm: sum(|s| s.slot_mm),
        lifts: shares().map(|s| s.lifts).sum(),
        links: shares().map(|s| s.links).sum(),
        stock_cm3: of(&|l| l.stock_mm3),
        rest_cm3: of(&|l| l.rest_mm3),
        rest_mm2: lowest.map_or(0.0, |l| l.clearing.rest.area_mm2()),
        rate_cm3_min: if cutting_s > 0.0 { 0.06 * laid.volume_mm3() / cutting_s } else { 0.0 },
        arc_along: arc_along(laid),
        rest_plan_mm: lowest.map_or_else(Vec::new, |l| l.clearing.rest.loops()),
        left: None,
        feed_gain,
    }
}

/// Arc of contact along the layer on which it is largest.
fn arc_along(laid: &Laid) -> Vec<[f64; 2]> {
    let of_layer = |arcs: &Vec<f64>| arcs.iter().copied().fold(0.0, f64::max);
    let worst = laid.arcs.iter().map(of_layer).enumerate().max_by(|a, b| a.1.total_cmp(&b.1));
    let Some((index, _)) = worst else { return Vec::new() };
    let height = |i: usize| laid.toolpath.runs[i].poses.last().map(|p| p.tip.dot(p.axis));
    let level = height(index);
    let mut out = Vec::new();
    let mut at = 0.0;
    for (i, (run, arcs)) in laid.toolpath.runs.iter().zip(&laid.arcs).enumerate() {
        let same = height(i).zip(level).is_some_and(|(a, b)| (a - b).abs() < 1e-6);
        if arcs.is_empty() || !same {
            continue;
        }
        for (w, arc) in run.poses.windows(2).zip(&arcs[1..]) {
            at += w[0].tip.distance(w[1].tip);
            out.push([at, arc.to_degrees()]);
        }
    }
    // the largest of each piece stays
    let stride = out.len().div_ceil(POINTS).max(1);
    let largest = |c: &[[f64; 2]]| c.iter().copied().reduce(|a, b| if b[1] > a[1] { b } else { a });
    out.chunks(stride).filter_map(largest).collect()
}

/// What is left, and which cutter would clear it.
fn rest(prepared: &Prepared<'_>, laid: &Laid, roughed: &Roughed) -> Option<String> {
    if roughed.rest_cm3 <= 1e-4 * roughed.stock_cm3 {
        return None;
    }
    let diameter = prepared.cutter.spec.diameter_mm;
    let would = match laid.shape.corner_mm {
        Some(0.0) => "; two walls meet without a radius, which no milling cutter makes".to_owned(),
        Some(corner) if 2.0 * corner < diameter + 2.0 * laid.measures.left_mm => format!(
            "; the smallest corner has a radius of {corner:.2} mm: a cutter of at most {:.2} mm clears it \
             (0.9 of the radius)",
            1.8 * corner
        ),
        _ => String::new(),
    };
    Some(format!(
        "{:.3} cm³ stay where the cutter does not get to, {:.2} mm² of the lowest layer{would}",
        roughed.rest_cm3, roughed.rest_mm2
    ))
}

fn pictures(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    laid: &Laid,
    account: &TimeAccount,
) -> Picture {
    let frame = job::frame(scene.study);
    let (passes_mm, every) = picture::passes(&laid.toolpath, frame);
    let [border_mm, edges_mm] = picture::edges(scene.part, &prepared.faces, frame);
    let samples = account.series.iter().filter(|s| s.programmed_mm_s.is_some());
    let feed = samples.map(|s| [s.time_s, units::convert::mm_s_to_mm_min(s.attained_mm_s)]);
    Picture { passes_mm, every, border_mm, edges_mm, cusp: None, gouge: None, feed: feed.collect() }
}
