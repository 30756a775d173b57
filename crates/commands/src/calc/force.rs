//! `calc force`: mean and peak loads of a helical end mill in a steady peripheral cut.

use super::{Calculation, Entry, Value, number, optional, words};
use crate::failure::Failure;
use crate::material::named;
use material::Conditions;
use mechanics::chip::{self, Runout};
use mechanics::engagement::peripheral::{Arc, Way, cylinder};
use mechanics::force::{Coefficients, Cut, CuttingLaw, Load, Peaks, Revolution, power_kw};
use std::f64::consts::FRAC_PI_2;
use units::RangeCheck;
use units::convert::{cutting_speed_m_min, rpm_to_rev_s, um_to_mm};

/// Most teeth of a cutter.
const MOST_TEETH: f64 = 200.0;
/// Steepest helix, degrees.
const STEEPEST_HELIX_DEG: f64 = 75.0;

/// What the cutting force rests on.
#[derive(Debug, Clone, PartialEq)]
pub enum Ground {
    /// A packaged material.
    Material(String),
    /// Coefficients as given: Ktc, Krc, Kac in N/mm², Kte, Kre, Kae in N/mm. One that was left out
    /// is refused: a force without it is another force.
    Coefficients([Option<f64>; 6]),
}

/// A cutter and its cut.
#[derive(Debug, Clone, PartialEq)]
pub struct Request {
    /// Diameter, mm.
    pub diameter_mm: f64,
    /// Number of teeth.
    pub teeth: u32,
    /// Helix angle, degrees.
    pub helix_deg: f64,
    /// Width of cut across the axis, mm.
    pub ae_mm: f64,
    /// Depth of cut along the axis, mm.
    pub ap_mm: f64,
    /// Feed per tooth, mm.
    pub feed_per_tooth_mm: f64,
    /// Spindle speed, rev/min.
    pub rpm: f64,
    /// Up milling instead of down milling.
    pub up: bool,
    /// Offset of the cutter's axis, µm.
    pub runout_um: Option<f64>,
    /// Angle from the first tooth to the offset, degrees.
    pub runout_deg: Option<f64>,
    /// What the force rests on.
    pub ground: Ground,
}

/// Runs the calculation.
///
/// # Errors
/// A value out of range; a material that is not known or has no force law.
pub fn run(request: &Request) -> Result<Calculation, Failure> {
    let teeth = f64::from(request.teeth).within("--teeth", 1.0, MOST_TEETH)? as usize;
    let helix = request.helix_deg.within("--helix-deg", 0.0, STEEPEST_HELIX_DEG)?.to_radians();
    let ap = request.ap_mm.positive("--ap")?;
    let rpm = request.rpm.positive("--rpm")?;
    let way = if request.up { Way::Up } else { Way::Down };
    let arc = Arc::beside(request.diameter_mm, request.ae_mm, way)?;
    let chip_mm = chip::thickness(arc, request.feed_per_tooth_mm, FRAC_PI_2)?.max_mm;
    let runout = Runout {
        offset_mm: um_to_mm(request.runout_um.unwrap_or(0.0).not_negative("--runout-um")?),
        angle_rad: request.runout_deg.unwrap_or(0.0).to_radians(),
    };
    let (law, scatter, mut warnings) = law(request, chip_mm)?;
    let slices = [cylinder(request.diameter_mm, ap, helix, arc)];
    let cut = Cut {
        slices: &slices,
        teeth,
        feed_per_tooth_mm: request.feed_per_tooth_mm,
        law,
        runout,
        axial_feed_mm: 0.0,
        breaker: None,
    };
    let (mean, peaks) = (cut.mean(), Revolution::new(&cut).peaks());
    if request.feed_per_tooth_mm > chip::CIRCULAR_UP_TO * request.diameter_mm {
        warnings.push(
            "the feed is large against the diameter: the circular tooth path is off by \
                       more than 1 % here"
                .to_owned(),
        );
    }
    let rev_s = rpm_to_rev_s(rpm);
    let mut results = vec![
        components("mean", "mean", &mean, peaks.mean_across_n, rev_s),
        components("peak", "peak", &peaks.load, peaks.across_n, rev_s),
    ];
    results.extend(counts(&peaks));
    results.push(optional("scatter", "90 % half-width of the force law, relative", scatter, ""));
    results.push(words("warnings", "note", warnings));
    Ok(Calculation { inputs: inputs(request, &law), results })
}

fn counts(peaks: &Peaks) -> [Entry; 4] {
    [
        number("teeth_in_cut_min", "fewest teeth in the cut", peaks.teeth_min as f64, ""),
        number("teeth_in_cut_max", "most teeth in the cut", peaks.teeth_max as f64, ""),
        number("tooth_force_n", "largest tangential force on a tooth", peaks.tooth_n, "N"),
        number("chip_max_um", "thickest chip of any tooth", 1000.0 * peaks.chip_mm, "µm"),
    ]
}

fn law(request: &Request, chip_mm: f64) -> Result<(CuttingLaw, Option<f64>, Vec<String>), Failure> {
    let name = match &request.ground {
        Ground::Material(name) => name,
        Ground::Coefficients(k) => return Ok((coefficients(k)?.into(), None, Vec::new())),
    };
    let material = named("--material", name)?;
    let conditions = Conditions {
        chip_mm: Some(chip_mm),
        speed_m_min: Some(cutting_speed_m_min(request.diameter_mm, request.rpm)),
        feed_per_tooth_mm: Some(request.feed_per_tooth_mm),
        depth_mm: Some(request.ap_mm),
        width_mm: Some(request.ae_mm),
        width_over_diameter: Some(request.ae_mm / request.diameter_mm),
    };
    let found = material.force_law(&conditions).map_err(|missing| {
        let message = format!("the force in {name} is not computed: {missing}");
        Failure::call(message, "a material with a force law", "give --ktc, --krc … instead")
    })?;
    let mut warnings = found.warnings;
    warnings.insert(0, format!("coefficients: {}", found.source));
    Ok((found.law, Some(found.scatter), warnings))
}

/// Options of the coefficients, in the order in which a request holds them.
const COEFFICIENTS: [&str; 6] = ["--ktc", "--krc", "--kac", "--kte", "--kre", "--kae"];

fn coefficients(given: &[Option<f64>; 6]) -> Result<Coefficients, Failure> {
    for (name, value) in COEFFICIENTS.iter().zip(given) {
        match value {
            Some(value) if *name == "--ktc" => value.positive(name)?,
            Some(value) => value.not_negative(name)?,
            None => 0.0,
        };
    }
    let left_out = COEFFICIENTS.iter().zip(given).filter(|(_, value)| value.is_none());
    let left_out: Vec<&str> = left_out.map(|(name, _)| *name).collect();
    if !left_out.is_empty() {
        return Err(Failure::call(
            format!("{} left out", left_out.join(", ")),
            "all six coefficients, Ktc, Krc, Kac in N/mm² and Kte, Kre, Kae in N/mm",
            "give them, as 0 where the force has no such part, or give --material",
        ));
    }
    let k = given.map(Option::unwrap_or_default);
    Ok(Coefficients {
        ktc_n_mm2: k[0],
        krc_n_mm2: k[1],
        kac_n_mm2: k[2],
        kte_n_mm: k[3],
        kre_n_mm: k[4],
        kae_n_mm: k[5],
    })
}

fn components(
    key: &'static str,
    label: &'static str,
    load: &Load,
    across_n: f64,
    rev_s: f64,
) -> Entry {
    let entries = vec![
        number("fx_n", "along the feed", load.x_n, "N"),
        number("fy_n", "across the feed", load.y_n, "N"),
        number("fz_n", "along the axis", load.z_n, "N"),
        number("resultant_n", "across the axis, in all", across_n, "N"),
        number("torque_nm", "torque", 1e-3 * load.torque_n_mm, "N m"),
        number("power_kw", "power", power_kw(load.torque_n_mm, rev_s), "kW"),
    ];
    Entry { key, label, value: Value::Group(entries), unit: "" }
}

fn inputs(request: &Request, law: &CuttingLaw) -> Vec<Entry> {
    let material = match &request.ground {
        Ground::Material(name) => Value::Word(name.clone()),
        Ground::Coefficients(_) => Value::Number(None),
    };
    let way = Value::Word(if request.up { "up" } else { "down" }.to_owned());
    let mut entries = vec![
        number("diameter_mm", "diameter", request.diameter_mm, "mm"),
        number("teeth", "teeth", f64::from(request.teeth), ""),
        number("helix_deg", "helix", request.helix_deg, "°"),
        number("ae_mm", "width of cut", request.ae_mm, "mm"),
        number("ap_mm", "depth of cut", request.ap_mm, "mm"),
        number("feed_per_tooth_mm", "feed per tooth", request.feed_per_tooth_mm, "mm"),
        number("rpm", "spindle", request.rpm, "1/min"),
        Entry { key: "milling", label: "milling", value: way, unit: "" },
        optional("runout_um", "runout", request.runout_um, "µm"),
        optional("runout_deg", "angle of the runout", request.runout_deg, "°"),
        Entry { key: "material", label: "material", value: material, unit: "" },
    ];
    entries.extend(law_inputs(law));
    entries
}

/// The law as it was used: six coefficients, or Kienzle's two constants and the ratios.
fn law_inputs(law: &CuttingLaw) -> [Entry; 10] {
    let (line, power) = match law {
        CuttingLaw::Line(line) => (Some(line), None),
        CuttingLaw::Power(power) => (None, Some(power)),
    };
    [
        optional("ktc_n_mm2", "Ktc", line.map(|k| k.ktc_n_mm2), "N/mm²"),
        optional("krc_n_mm2", "Krc", line.map(|k| k.krc_n_mm2), "N/mm²"),
        optional("kac_n_mm2", "Kac", line.map(|k| k.kac_n_mm2), "N/mm²"),
        optional("kte_n_mm", "Kte", line.map(|k| k.kte_n_mm), "N/mm"),
        optional("kre_n_mm", "Kre", line.map(|k| k.kre_n_mm), "N/mm"),
        optional("kae_n_mm", "Kae", line.map(|k| k.kae_n_mm), "N/mm"),
        optional("kc11_n_mm2", "kc1.1", power.map(|p| p.kc11_n_mm2), "N/mm²"),
        optional("mc", "mc", power.map(|p| p.mc), ""),
        optional("radial_ratio", "radial over tangential", power.map(|p| p.radial_ratio), ""),
        optional("axial_ratio", "axial over tangential", power.map(|p| p.axial_ratio), ""),
    ]
}
