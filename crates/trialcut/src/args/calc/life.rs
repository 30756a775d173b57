//! Arguments of `calc life`.

use crate::args::number;
use clap::Args;
use commands::calc::life::Request;

/// Shown below the help.
pub(crate) const EXAMPLE: &str = "\
Example:
  trialcut calc life --material c45 --vc 160 --feed-per-tooth 0.06 --ae 3 --ap 12 --diameter 12

The speed is that at the contact: a ball that touches at its tip does not cut there.
Without published constants for the material the minutes are empty and the reason is told.";

/// Of `calc life`.
#[derive(Debug, Args)]
#[command(allow_negative_numbers = true)]
pub(crate) struct Life {
    /// Material: its id, or a file that ends in .toml
    #[arg(long, value_name = "ID")]
    material: String,
    /// Cutting speed where the edge touches, m/min
    #[arg(long, value_name = "V", value_parser = number)]
    vc: f64,
    /// Feed per tooth, mm
    #[arg(long, value_name = "FZ", value_parser = number)]
    feed_per_tooth: f64,
    /// Width of cut across the axis, mm
    #[arg(long, value_name = "AE", value_parser = number)]
    ae: Option<f64>,
    /// Depth of cut along the axis, mm
    #[arg(long, value_name = "AP", value_parser = number)]
    ap: Option<f64>,
    /// Cutting diameter, mm
    #[arg(long, value_name = "D", value_parser = number)]
    diameter: Option<f64>,
}

impl Life {
    /// The request that these arguments make.
    pub(crate) fn request(&self) -> Request {
        Request {
            material: self.material.clone(),
            speed_m_min: self.vc,
            feed_per_tooth_mm: self.feed_per_tooth,
            width_mm: self.ae,
            depth_mm: self.ap,
            diameter_mm: self.diameter,
        }
    }
}
