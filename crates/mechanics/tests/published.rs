//! Binds the published checks of chip, force and deflection to their functions.

use mechanics::chip::{self, Runout};
use mechanics::deflection::{Beam, CORE_RATIO};
use mechanics::engagement::Slice;
use mechanics::engagement::peripheral::{Arc, Way, cylinder};
use mechanics::force::{Coefficients, Cut, Load, Revolution, power_kw};
use published::{Bindings, Fault, Inputs};
use std::f64::consts::FRAC_PI_2;

fn arc(inputs: &Inputs) -> Result<Arc, Fault> {
    Arc::beside(inputs.real("diameter_mm")?, inputs.real("ae_mm")?, Way::Down)
        .map_err(|e| Fault::new("arc", e))
}

fn chip(inputs: &Inputs) -> Result<chip::Thickness, Fault> {
    chip::thickness(arc(inputs)?, inputs.real("feed_per_tooth_mm")?, FRAC_PI_2)
        .map_err(|e| Fault::new("chip", e))
}

fn thinning(inputs: &Inputs) -> Result<f64, Fault> {
    let diameter = inputs.real("diameter_mm")?;
    let arc = Arc::beside(diameter, diameter * inputs.real("width_ratio")?, Way::Up);
    let arc = arc.map_err(|e| Fault::new("arc", e))?;
    chip::feed_for(arc, 1.0, FRAC_PI_2).map_err(|e| Fault::new("feed", e))
}

/// How far before the full width the cutter touches: the chord of the arc along the feed.
fn approach_mm(inputs: &Inputs) -> Result<f64, Fault> {
    Ok(0.5 * inputs.real("diameter_mm")? * arc(inputs)?.entry_rad.sin())
}

fn with_cut<T>(inputs: &Inputs, see: impl Fn(&Cut<'_>) -> T) -> Result<T, Fault> {
    let helix_rad = inputs.real("helix_deg")?.to_radians();
    let diameter = inputs.real("diameter_mm")?;
    // a whole slot is as wide as the cutter
    let slices: [Slice; 1] = [cylinder(diameter, inputs.real("ap_mm")?, helix_rad, arc(inputs)?)];
    Ok(see(&Cut {
        slices: &slices,
        teeth: usize::try_from(inputs.count("teeth_count")?).map_err(|e| Fault::new("teeth", e))?,
        feed_per_tooth_mm: inputs.real("feed_per_tooth_mm")?,
        law: Coefficients {
            ktc_n_mm2: inputs.real("ktc_n_mm2")?,
            krc_n_mm2: inputs.real_or("krc_n_mm2", 0.0)?,
            kac_n_mm2: inputs.real_or("kac_n_mm2", 0.0)?,
            kte_n_mm: inputs.real_or("kte_n_mm", 0.0)?,
            kre_n_mm: inputs.real_or("kre_n_mm", 0.0)?,
            kae_n_mm: inputs.real_or("kae_n_mm", 0.0)?,
        },
        runout: Runout::default(),
        breaker: None,
    }))
}

fn mean(inputs: &Inputs) -> Result<Load, Fault> {
    with_cut(inputs, |cut| cut.mean())
}

fn mean_power_kw(inputs: &Inputs) -> Result<f64, Fault> {
    Ok(power_kw(mean(inputs)?.torque_n_mm, inputs.real("speed_rpm")? / 60.0))
}

fn peak_across_n(inputs: &Inputs) -> Result<f64, Fault> {
    with_cut(inputs, |cut| Revolution::new(cut).peaks().load.y_n)
}

fn deflection_um(inputs: &Inputs) -> Result<f64, Fault> {
    let beam = Beam::stepped(
        inputs.real("flute_diameter_mm")?,
        1.0,
        inputs.real("flute_mm")?,
        inputs.real("shank_mm")?,
        inputs.real("length_mm")?,
        inputs.real("modulus_n_mm2")?,
    );
    Ok(1e3 * inputs.real("force_n")? * beam.compliance_mm_n(0.0, 0.0))
}

fn stress_n_mm2(inputs: &Inputs) -> Result<f64, Fault> {
    let (length, diameter) = (inputs.real("length_mm")?, inputs.real("diameter_mm")?);
    let bar = Beam::stepped(diameter, 1.0, length, diameter, length, 6e5);
    Ok(inputs.real("force_n")? * bar.stress_per_n(0.0).0)
}

#[test]
fn published_checks_hold() {
    let mut bindings = Bindings::new(env!("CARGO_MANIFEST_DIR"));
    bindings
        .bind(&["chip-max"], |i| Ok(chip(i)?.max_mm))
        .bind(&["chip-mean"], |i| Ok(chip(i)?.mean_mm))
        .bind(&["chip-thinning"], thinning)
        .bind(&["chip-length"], |i| Ok(0.5 * i.real("diameter_mm")? * arc(i)?.angle_rad()))
        .bind(&["approach-of-a-mill"], approach_mm)
        .bind(
            &["slot-power", "face-mill-power-inch", "face-mill-power", "slab-mill-power", "energy"],
            mean_power_kw,
        )
        .bind(&["slot-force"], |i| Ok(2.0 * mean(i)?.torque_n_mm / i.real("diameter_mm")?))
        .bind(&["slab-mill-torque"], |i| Ok(1e-3 * mean(i)?.torque_n_mm))
        .bind(&["mean-force-across"], |i| Ok(mean(i)?.y_n))
        .bind(&["peak-force-across"], peak_across_n)
        .bind(&["stepped-cantilever"], deflection_um)
        .bind(&["root-stress"], stress_n_mm2)
        .bind(&["equivalent-diameter"], |i| Ok(CORE_RATIO * i.real("diameter_mm")?))
        .run();
}
