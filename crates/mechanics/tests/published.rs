//! Binds the published checks of chip, force, deflection, finish and life to their functions.

use mechanics::chip::{self, Runout};
use mechanics::deflection::{Beam, Clamping};
use mechanics::engagement::peripheral::{Arc, Way, cylinder};
use mechanics::finish::FeedMarks;
use mechanics::force::{Coefficients, Cut, CuttingLaw, Revolution, power_kw};
use mechanics::life::{effective_speed_m_min, whole_parts_per_edge};
use mechanics::swarf;
use published::{Bindings, Fault, Inputs};
use std::f64::consts::FRAC_PI_2;

fn fault(error: impl std::fmt::Display) -> Fault {
    Fault::new("mechanics", error)
}

fn arc(inputs: &Inputs, way: Way) -> Result<Arc, Fault> {
    Arc::beside(inputs.real("diameter_mm")?, inputs.real("width_mm")?, way).map_err(fault)
}

fn way(inputs: &Inputs) -> Result<Way, Fault> {
    match inputs.word("way")? {
        "up" => Ok(Way::Up),
        "down" => Ok(Way::Down),
        other => Err(fault(format!("no way {other}"))),
    }
}

fn thickness(inputs: &Inputs) -> Result<chip::Thickness, Fault> {
    let feed_mm = inputs.real("feed_per_tooth_mm")?;
    chip::thickness(arc(inputs, Way::Up)?, feed_mm, FRAC_PI_2).map_err(fault)
}

fn feed_mm(inputs: &Inputs) -> Result<f64, Fault> {
    chip::feed_for(arc(inputs, Way::Up)?, inputs.real("chip_mm")?, FRAC_PI_2).map_err(fault)
}

fn lead_angle_factor(inputs: &Inputs) -> Result<f64, Fault> {
    let slot = Arc::beside(10.0, 10.0, Way::Up).map_err(fault)?;
    let kappa_rad = inputs.real("kappa_deg")?.to_radians();
    Ok(chip::thickness(slot, 1.0, kappa_rad).map_err(fault)?.max_mm)
}

fn face_angle_deg(inputs: &Inputs) -> Result<f64, Fault> {
    let (diameter, width) = (inputs.real("diameter_mm")?, inputs.real("width_mm")?);
    let arc = Arc::across(diameter, width, inputs.real("offset_mm")?).map_err(fault)?;
    match inputs.word("end")? {
        "entry" => Ok(arc.entry_rad.to_degrees()),
        "exit" => Ok(arc.exit_rad.to_degrees()),
        other => Err(fault(format!("no end {other}"))),
    }
}

fn chip_length_mm(inputs: &Inputs) -> Result<f64, Fault> {
    let slice = cylinder(inputs.real("diameter_mm")?, 1.0, 0.0, arc(inputs, Way::Up)?);
    swarf::size(&[slice], 0.0, None).map(|s| s.length_mm).ok_or_else(|| fault("no chip"))
}

fn chip_width_mm(inputs: &Inputs) -> Result<f64, Fault> {
    let helix_rad = inputs.real("helix_deg")?.to_radians();
    let slot = Arc::beside(10.0, 10.0, Way::Up).map_err(fault)?;
    let slice = cylinder(10.0, inputs.real("depth_mm")?, helix_rad, slot);
    let pitch_mm = inputs.real_or("breaker_pitch_mm", f64::INFINITY)?;
    let size = swarf::size(&[slice], helix_rad, pitch_mm.is_finite().then_some(pitch_mm));
    size.map(|s| s.width_mm).ok_or_else(|| fault("no chip"))
}

fn runout_chip_um(inputs: &Inputs) -> Result<f64, Fault> {
    let runout = Runout {
        offset_mm: 1e-3 * inputs.real("runout_um")?,
        angle_rad: inputs.real("runout_angle_deg")?.to_radians(),
    };
    let (teeth, tooth) = (inputs.count("teeth")? as usize, inputs.count("tooth")? as usize);
    let sine = arc(inputs, Way::Up)?.exit_rad.sin();
    let chips = runout.chips_mm(teeth, inputs.real("feed_per_tooth_mm")?, sine, FRAC_PI_2);
    chips.get(tooth).map(|c| 1e3 * c).ok_or_else(|| fault("no such tooth"))
}

fn law(inputs: &Inputs) -> Result<Coefficients, Fault> {
    Ok(Coefficients {
        ktc_n_mm2: inputs.real("ktc_n_per_mm2")?,
        krc_n_mm2: inputs.real("krc_n_per_mm2")?,
        kac_n_mm2: inputs.real("kac_n_per_mm2")?,
        kte_n_mm: inputs.real("kte_n_per_mm")?,
        kre_n_mm: inputs.real("kre_n_per_mm")?,
        kae_n_mm: inputs.real("kae_n_per_mm")?,
    })
}

/// One of the loads of a cut, its mean or the largest magnitude over a revolution.
fn load(inputs: &Inputs, peak: bool) -> Result<f64, Fault> {
    let slices = [cylinder(
        inputs.real("diameter_mm")?,
        inputs.real("depth_mm")?,
        inputs.real("helix_deg")?.to_radians(),
        arc(inputs, way(inputs)?)?,
    )];
    let cut = Cut {
        slices: &slices,
        teeth: inputs.count("teeth")? as usize,
        feed_per_tooth_mm: inputs.real("feed_per_tooth_mm")?,
        law: CuttingLaw::Line(law(inputs)?),
        runout: Runout::default(),
        axial_feed_mm: 0.0,
        breaker: None,
    };
    let peaks = Revolution::new(&cut).peaks();
    let load = if peak { peaks.load } else { cut.mean() };
    match inputs.word("component")? {
        "x" => Ok(load.x_n),
        "y" => Ok(load.y_n),
        "z" => Ok(load.z_n),
        "torque" => Ok(1e-3 * load.torque_n_mm),
        "across" if peak => Ok(peaks.across_n),
        other => Err(fault(format!("no component {other}"))),
    }
}

/// Mean torque of a slot whose specific force is constant, N mm.
fn constant_torque_n_mm(inputs: &Inputs) -> Result<f64, Fault> {
    let slices = [cylinder(
        inputs.real("diameter_mm")?,
        inputs.real("depth_mm")?,
        0.0,
        arc(inputs, Way::Up)?,
    )];
    let law = Coefficients {
        ktc_n_mm2: inputs.real("specific_force_n_per_mm2")?,
        krc_n_mm2: 0.0,
        kac_n_mm2: 0.0,
        kte_n_mm: 0.0,
        kre_n_mm: 0.0,
        kae_n_mm: 0.0,
    };
    let (teeth, feed) = (inputs.count("teeth")? as usize, inputs.real("feed_per_tooth_mm")?);
    let runout = Runout::default();
    let cut = Cut {
        slices: &slices,
        teeth,
        feed_per_tooth_mm: feed,
        law: law.into(),
        runout,
        axial_feed_mm: 0.0,
        breaker: None,
    };
    Ok(cut.mean().torque_n_mm)
}

fn mean_power_kw(inputs: &Inputs) -> Result<f64, Fault> {
    let slices = [cylinder(
        inputs.real("diameter_mm")?,
        inputs.real("depth_mm")?,
        inputs.real("helix_deg")?.to_radians(),
        arc(inputs, way(inputs)?)?,
    )];
    let law = law(inputs)?;
    let (teeth, feed) = (inputs.count("teeth")? as usize, inputs.real("feed_per_tooth_mm")?);
    let runout = Runout::default();
    let cut = Cut {
        slices: &slices,
        teeth,
        feed_per_tooth_mm: feed,
        law: law.into(),
        runout,
        axial_feed_mm: 0.0,
        breaker: None,
    };
    Ok(power_kw(cut.mean().torque_n_mm, inputs.real("speed_rpm")? / 60.0))
}

fn plain(inputs: &Inputs, modulus_n_mm2: f64) -> Result<Beam, Fault> {
    let (length, diameter) = (inputs.real("stickout_mm")?, inputs.real("diameter_mm")?);
    Ok(Beam::stepped(diameter, 1.0, length, diameter, length, modulus_n_mm2))
}

fn plain_um(inputs: &Inputs) -> Result<f64, Fault> {
    let beam = plain(inputs, inputs.real("modulus_n_per_mm2")?)?;
    Ok(1e3 * inputs.real("force_n")? * beam.compliance_mm_n(0.0, 0.0))
}

fn stepped_um(inputs: &Inputs) -> Result<f64, Fault> {
    let mut beam = Beam::stepped(
        inputs.real("core_mm")?,
        1.0,
        inputs.real("flute_mm")?,
        inputs.real("shank_mm")?,
        inputs.real("stickout_mm")?,
        inputs.real("modulus_n_per_mm2")?,
    );
    let shift_n_mm = inputs.real_or("shift_n_per_mm", f64::INFINITY)?;
    let tilt_n_mm_rad = inputs.real_or("tilt_nmm_per_rad", f64::INFINITY)?;
    if shift_n_mm.is_finite() {
        beam.clamping = Some(Clamping { shift_n_mm, tilt_n_mm_rad });
    }
    let (load_at, at) = (inputs.real_or("load_at_mm", 0.0)?, inputs.real_or("at_mm", 0.0)?);
    Ok(1e3 * inputs.real("force_n")? * beam.compliance_mm_n(load_at, at))
}

fn stress_n_mm2(inputs: &Inputs) -> Result<f64, Fault> {
    let beam = plain(inputs, 600_000.0)?;
    Ok(inputs.real("force_n")? * beam.stress_per_n(0.0).0)
}

fn feed_mark_um(inputs: &Inputs) -> Result<f64, Fault> {
    let marks = FeedMarks {
        feed_per_tooth_mm: inputs.real("feed_per_tooth_mm")?,
        teeth: inputs.count("teeth")? as usize,
        radius_mm: 0.5 * inputs.real("diameter_mm")?,
        surface_per_mm: 0.0,
        runout_mm: Some(0.0),
    };
    Ok(1e3 * marks.heights_mm().low)
}

fn chips_and_forces(bindings: &mut Bindings) {
    let mean = ["mean-force", "mean-force-up-and-down", "mean-torque"];
    let measured =
        ["measured-slot-across", "measured-slot-across-thin", "measured-slot-along-axis"];
    let peak = ["program-slot-peaks", "program-slot-torque", "peak-force", "peak-torque"];
    bindings
        .bind(&["largest-chip"], |i| Ok(thickness(i)?.max_mm))
        .bind(&["mean-chip", "mean-chip-shop-rule"], |i| Ok(thickness(i)?.mean_mm))
        .bind(&["feed-for-a-chip", "radial-thinning"], feed_mm)
        .bind(&["chip-of-a-lead-angle"], lead_angle_factor)
        .bind(&["face-arc"], face_angle_deg)
        .bind(&["chip-length"], chip_length_mm)
        .bind(&["chip-width-whole", "chip-width-split"], chip_width_mm)
        .bind(&["runout-chip"], runout_chip_um)
        .bind(&mean, |i| load(i, false))
        .bind(&measured, |i| load(i, false))
        .bind(&peak, |i| load(i, true))
        .bind(&["book-slot-power"], |i| {
            Ok(power_kw(constant_torque_n_mm(i)?, i.real("speed_rpm")? / 60.0))
        })
        .bind(&["book-slot-force"], |i| {
            Ok(constant_torque_n_mm(i)? / (0.5 * i.real("diameter_mm")?))
        })
        .bind(&["mean-power"], mean_power_kw);
}

#[test]
fn published_checks_hold() {
    let mut bindings = Bindings::new(env!("CARGO_MANIFEST_DIR"));
    chips_and_forces(&mut bindings);
    let stepped = ["stepped-beam", "stepped-beam-load-above-the-tip", "held-beam"];
    bindings
        .bind(&["plain-beam"], plain_um)
        .bind(&stepped, stepped_um)
        .bind(&["bending-stress"], stress_n_mm2)
        .bind(&["side-feed-mark", "feed-mark-of-an-arc"], feed_mark_um)
        .bind(&["effective-speed"], |i| {
            let rev_s = i.real("speed_rpm")? / 60.0;
            effective_speed_m_min(i.real("contact_radius_mm")?, rev_s).map_err(|m| fault(m.reason))
        })
        .bind(&["whole-parts"], |i| {
            let (cutting, life) = (i.real("cutting_min")?, i.real("life_min")?);
            whole_parts_per_edge(cutting, life).map_err(|m| fault(m.reason))
        })
        .run();
}
