//! Binds the published checks of roughness to the texture of profiles.

use cutsim::texture::{Parameters, Profile, default_cutoff_mm, kept_share};
use published::{Bindings, Fault, Inputs};

/// Samples of one cusp, and whole cusps of a row.
const SAMPLES: usize = 400;
const CUSPS: usize = 40;

/// A row of cusps of a shape over (−½, ½] of the step.
fn row(step_mm: f64, cusps: usize, shape_um: impl Fn(f64) -> f64) -> Profile {
    let at = |i: usize| ((i % SAMPLES) as f64 + 0.5) / SAMPLES as f64 - 0.5;
    let heights_um = (0..cusps * SAMPLES).map(|i| shape_um(at(i))).collect();
    Profile { step_mm: step_mm / SAMPLES as f64, heights_um }
}

fn none() -> Fault {
    Fault::new("profile", "too short")
}

fn parabolic(inputs: &Inputs, cusps: usize) -> Result<Profile, Fault> {
    let cusp_um = inputs.real("cusp_um")?;
    Ok(row(inputs.real("step_mm")?, cusps, |x| cusp_um * 4.0 * x * x))
}

fn bare(inputs: &Inputs) -> Result<Parameters, Fault> {
    parabolic(inputs, CUSPS)?.unfiltered().ok_or_else(none)
}

fn circular_ra_um(inputs: &Inputs) -> Result<f64, Fault> {
    let (radius_mm, step_mm) = (inputs.real("arc_radius_mm")?, inputs.real("step_mm")?);
    let cusps = row(step_mm, CUSPS, |x| {
        let beside_mm = x * step_mm;
        1e3 * (radius_mm - (radius_mm * radius_mm - beside_mm * beside_mm).sqrt())
    });
    Ok(cusps.unfiltered().ok_or_else(none)?.ra_um)
}

/// As an instrument reads it: the evaluation length holds whole cusps, half a section is lost at
/// both ends.
fn filtered_ra_um(inputs: &Inputs) -> Result<f64, Fault> {
    let cutoff_mm = inputs.real("cutoff_mm")?;
    let step_mm = inputs.real("step_mm")?;
    let profile = parabolic(inputs, CUSPS + (cutoff_mm / step_mm).ceil() as usize)?;
    Ok(profile.filtered(cutoff_mm).ok_or_else(none)?.ra_um)
}

#[test]
fn published_checks_hold() {
    let mut bindings = Bindings::new(env!("CARGO_MANIFEST_DIR"));
    bindings
        .bind(&["parabolic-cusp-ra"], |i| Ok(bare(i)?.ra_um))
        .bind(&["parabolic-cusp-rq"], |i| Ok(bare(i)?.rq_um))
        .bind(&["circular-cusp-ra", "ideal-turning-ra"], circular_ra_um)
        .bind(&["filter-share"], |i| Ok(kept_share(i.real("wave_mm")?, i.real("cutoff_mm")?)))
        .bind(&["filtered-cusp-ra"], filtered_ra_um)
        .bind(&["default-cutoff", "default-cutoff-other-rows"], |i| {
            Ok(default_cutoff_mm(i.real("ra_um")?))
        })
        .run();
}
