//! `calc deflection`: how far a stepped cutter gives way at its tip.

use super::{Calculation, number, optional, words};
use crate::failure::Failure;
use mechanics::deflection::{Beam, CARBIDE_N_MM2, CORE_RATIO, CORE_RATIO_RANGE, SLENDER_FROM};
use units::RangeCheck;

/// A cutter and a force at its tip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Request {
    /// Cutting diameter, mm.
    pub diameter_mm: f64,
    /// Length of the flutes, mm.
    pub flute_length_mm: f64,
    /// Diameter of the shank, mm.
    pub shank_mm: f64,
    /// Stick-out from the holder, mm.
    pub stickout_mm: f64,
    /// Force across the axis at the tip, N.
    pub force_n: f64,
    /// Modulus of elasticity, N/mm²; left out: cemented carbide.
    pub modulus_n_mm2: Option<f64>,
    /// Diameter that bends like the flutes over the cutting diameter; left out: 0.8.
    pub core_ratio: Option<f64>,
}

/// Runs the calculation.
///
/// # Errors
/// A value out of range.
pub fn run(request: &Request) -> Result<Calculation, Failure> {
    let diameter = request.diameter_mm.positive("--diameter")?;
    let stickout = request.stickout_mm.positive("--stickout")?;
    let flute = request.flute_length_mm.positive("--flute-length")?;
    let flute = flute.within("--flute-length", 0.0, stickout)?;
    let shank = request.shank_mm.positive("--shank")?;
    let force = request.force_n.not_negative("--force")?;
    let modulus = request.modulus_n_mm2.unwrap_or(CARBIDE_N_MM2).positive("--modulus")?;
    let ratio = request.core_ratio.unwrap_or(CORE_RATIO).positive("--core-ratio")?;
    let ratio = ratio.within("--core-ratio", 0.0, 1.0)?;
    let tip_um = |ratio: f64| {
        let beam = Beam::stepped(diameter, ratio, flute, shank, stickout, modulus);
        1000.0 * force * beam.compliance_mm_n(0.0, 0.0)
    };
    let beam = Beam::stepped(diameter, ratio, flute, shank, stickout, modulus);
    let mut notes = vec!["holder and spindle are taken as rigid: they add to it".to_owned()];
    if stickout < SLENDER_FROM * diameter {
        notes.push(format!(
            "the stick-out is less than {SLENDER_FROM} diameters: shear adds some per cent"
        ));
    }
    let given = request.core_ratio.is_some();
    let end = |ratio: f64| (!given).then(|| tip_um(ratio));
    let (thin, thick) = CORE_RATIO_RANGE;
    Ok(Calculation {
        inputs: vec![
            number("diameter_mm", "diameter", diameter, "mm"),
            number("flute_length_mm", "flutes", flute, "mm"),
            number("shank_mm", "shank", shank, "mm"),
            number("stickout_mm", "stick-out", stickout, "mm"),
            number("force_n", "force", force, "N"),
            number("modulus_n_mm2", "modulus", modulus, "N/mm²"),
            number("core_ratio", "core ratio", ratio, ""),
        ],
        results: vec![
            number("tip_um", "deflection at the tip", tip_um(ratio), "µm"),
            number(
                "stiffness_n_per_um",
                "stiffness",
                1e-3 / beam.compliance_mm_n(0.0, 0.0),
                "N/µm",
            ),
            number("stress_n_mm2", "bending stress", force * beam.stress_per_n(0.0).0, "N/mm²"),
            optional("tip_low_um", "least, by the core", end(thick), "µm"),
            optional("tip_high_um", "most, by the core", end(thin), "µm"),
            words("warnings", "note", notes),
        ],
    })
}
