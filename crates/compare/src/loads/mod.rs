//! What an operation asks of chip, edge, cutter and spindle, and how much room is left.

mod chatter;
mod deflection;
mod engaged;
mod force;
mod headroom;
mod life;
mod rubbing;
mod spindle;
mod stiffness;
mod swarf;
mod unknown;
mod wall;

pub(crate) use engaged::{Engaged, HELIX_RAD, Station};
pub(crate) use force::{Worst, law, worst_of};
pub(crate) use swarf::Bin;

use crate::job::Prepared;
use crate::scene::Scene;
use pattern::FacePasses;
use study::outcome::{Chatter, FormError, Headroom, Life, Load, LoadKind, Swarf};
use toolpath::Toolpath;
use units::Interval;

/// All of it.
#[derive(Default)]
pub(crate) struct Loads {
    pub(crate) loads: Vec<Load>,
    pub(crate) form_error: Option<FormError>,
    pub(crate) swarf: Swarf,
    pub(crate) chatter: Chatter,
    pub(crate) headroom: Headroom,
    pub(crate) life: Life,
    pub(crate) warnings: Vec<String>,
    pub(crate) broken: Vec<String>,
    pub(crate) unknown: Vec<String>,
}

/// The loads of an operation whose cutting takes `cutting_s`.
pub(crate) fn of(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    passes: &FacePasses,
    cutting_s: f64,
) -> Loads {
    let Some(engaged) = Engaged::of(scene, prepared, passes) else {
        return nothing();
    };
    let bin = swarf::of_faces(scene, prepared);
    let step_mm = passes.stepover_mm.map(|s| s.max);
    let mut out = of_engaged(scene, prepared, &engaged, &passes.toolpath, step_mm, &bin, cutting_s);
    let allowed = rubbing::runout(scene, prepared, passes, &engaged, &mut out.warnings);
    let chip = out.loads.iter_mut().find(|l| l.kind == LoadKind::ChipThickness);
    if let (Some(chip), Some(allowed)) = (chip, allowed) {
        chip.limit_from = format!("{}; {allowed}", chip.limit_from);
    }
    out
}

/// The loads of an operation that was found in no stock: missing, and said so.
pub(crate) fn nothing() -> Loads {
    let loads = force::missing("the cutter meets no stock where it was looked at");
    Loads { unknown: unknown::nothing(&loads), loads, ..Loads::default() }
}

/// Largest force across the axis, N; `None` where no law holds.
pub(crate) fn across_n(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    engaged: &Engaged,
) -> Option<f64> {
    let law = force::law(scene, prepared, engaged).ok()?;
    let runout = prepared.cutter.runout_mm.unwrap_or(0.0);
    let at = |s: &Station| {
        let data = [s.feed_factor * engaged.feed_per_tooth_mm, runout];
        worst_of(prepared, &s.slices, &law, data).peaks.across_n
    };
    engaged.stations.iter().map(at).reduce(f64::max)
}

/// What the cutter leaves on a wall by giving way; `None` where force or stiffness is not known.
pub(crate) fn form_error(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    engaged: &Engaged,
    stepover_mm: f64,
) -> Option<FormError> {
    let law = force::law(scene, prepared, engaged).ok()?;
    let stiffness = stiffness::Stiffness::of(prepared).ok()?;
    let spread = force::Spread::of(scene, prepared, &law);
    let place = deflection::Place { scene, prepared, engaged };
    wall::of(&place, &law, Some(&stiffness), &spread, stepover_mm)
}

/// The loads of an operation from where its cutter is in the cut.
pub(crate) fn of_engaged(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    engaged: &Engaged,
    toolpath: &Toolpath,
    stepover_mm: Option<f64>,
    bin: &Bin,
    cutting_s: f64,
) -> Loads {
    let mut out = Loads::default();
    let stiffness = stiffness::Stiffness::of(prepared);
    if let Ok(s) = &stiffness {
        out.warnings.extend(s.warnings.iter().cloned());
    }
    let law = force::law(scene, prepared, engaged);
    let forces = force::loads(scene, prepared, engaged, &law, &stiffness, &mut out);
    if let (Ok(law), Some(step_mm)) = (&law, stepover_mm) {
        let place = deflection::Place { scene, prepared, engaged };
        let spread = force::Spread::of(scene, prepared, law);
        out.form_error = wall::of(&place, law, stiffness.as_ref().ok(), &spread, step_mm);
    }
    rubbing::warn(scene, engaged, &mut out.warnings);
    let chatter = law.as_ref().map_err(String::clone).and_then(|law| {
        chatter::of(scene, prepared, engaged, law, stiffness.as_ref().map_err(String::as_str))
    });
    out.chatter = chatter.unwrap_or_else(|why| Chatter { rests_on: why, ..Chatter::default() });
    out.headroom = headroom::of(scene, prepared, toolpath, &forces);
    out.loads = forces.into_iter().map(|f| f.load).collect();
    out.swarf = swarf::of(scene, prepared, engaged, bin, &mut out.warnings);
    out.life = life::of(scene, prepared, engaged, cutting_s, &mut out.warnings);
    warn_of_chatter(prepared, &mut out);
    out.broken = broken(&out);
    out.unknown = unknown::of(scene, prepared, law.as_ref().err().map(String::as_str), &out);
    out
}

fn warn_of_chatter(prepared: &Prepared<'_>, out: &mut Loads) {
    if let Some(margin) = out.chatter.margin.filter(|m| *m < 1.0) {
        out.warnings.push(format!(
            "chatter cannot be ruled out: what is stable at the study's confidence is {:.0} % of the \
             depth cut ({})",
            100.0 * margin,
            out.chatter.rests_on
        ));
    }
    if let Some(from) = out.chatter.modelled_from_rpm.filter(|n| *n > 60.0 * prepared.rev_s) {
        out.warnings.push(format!(
            "below {from:.0} rev/min more waves of chatter fit between two teeth than the model holds \
             for: rubbing damps them, and the stable depth shown is too small"
        ));
    }
}

/// Limits that are broken, in words.
pub(crate) fn broken(out: &Loads) -> Vec<String> {
    let mut lines = Vec::new();
    for load in &out.loads {
        let (name, unit) = load.kind.label();
        if let (Some(peak), Some(limit)) = (load.peak, load.limit)
            && peak > limit
        {
            lines.push(format!("{name} {peak:.3} {unit}, limit {limit:.3} {unit}"));
        }
        if let (Some(rms), Some(limit)) = (load.rms, load.rms_limit)
            && rms > limit
        {
            lines.push(format!(
                "{name} {rms:.3} {unit} r.m.s. while cutting, {limit:.3} {unit} without end"
            ));
        }
    }
    if let Some(error) = &out.form_error
        && let Some(limit) = error.limit_um
        && error.largest_um() > limit
    {
        let Interval { low, high } = error.left_um;
        lines.push(format!(
            "the cutter gives way and leaves {low:.1} to {high:.1} µm on the wall, tolerance {limit:.1} µm"
        ));
    }
    lines
}
