//! Arguments of `calc deflection`.

use crate::args::number;
use clap::Args;
use commands::calc::deflection::Request;

/// Shown below the help.
pub(crate) const EXAMPLE: &str = "Example:\n  trialcut calc deflection --diameter 12 \
    --flute-length 26 --shank 12 --stickout 45 --force 200";

/// Of `calc deflection`.
#[derive(Debug, Args)]
#[command(allow_negative_numbers = true)]
pub(crate) struct Deflection {
    /// Cutting diameter, mm
    #[arg(long, value_name = "D", value_parser = number)]
    diameter: f64,
    /// Length of the flutes, mm
    #[arg(long, value_name = "LF", value_parser = number)]
    flute_length: f64,
    /// Diameter of the shank, mm
    #[arg(long, value_name = "DS", value_parser = number)]
    shank: f64,
    /// Stick-out from the holder, mm
    #[arg(long, value_name = "L", value_parser = number)]
    stickout: f64,
    /// Force across the axis at the tip, N
    #[arg(long, value_name = "F", value_parser = number)]
    force: f64,
    /// Modulus of elasticity, N/mm²; left out: cemented carbide
    #[arg(long, value_name = "E", value_parser = number)]
    modulus: Option<f64>,
    /// Diameter that bends like the flutes over the cutting diameter; left out: 0.8
    #[arg(long, value_name = "C", value_parser = number)]
    core_ratio: Option<f64>,
}

impl Deflection {
    /// The request that these arguments make.
    pub(crate) fn request(&self) -> Request {
        Request {
            diameter_mm: self.diameter,
            flute_length_mm: self.flute_length,
            shank_mm: self.shank,
            stickout_mm: self.stickout,
            force_n: self.force,
            modulus_n_mm2: self.modulus,
            core_ratio: self.core_ratio,
        }
    }
}
