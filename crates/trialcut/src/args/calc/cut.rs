//! Arguments of `calc chip`, `calc feed` and `calc force`.

use crate::args::number;
use clap::{ArgGroup, Args};
use commands::calc::{chip, feed, force};

/// Shown below the help of `calc chip`.
pub(crate) const CHIP: &str =
    "Example:\n  trialcut calc chip --diameter 12 --ae 1.3 --feed-per-tooth 0.08";
/// Shown below the help of `calc feed`.
pub(crate) const FEED: &str =
    "Example:\n  trialcut calc feed --diameter 12 --teeth 4 --rpm 12000 --ae 1.3 --chip-max-um 50";
/// Shown below the help of `calc force`.
pub(crate) const FORCE: &str = "\
Example:
  trialcut calc force --diameter 12 --teeth 3 --helix-deg 38 --ae 2.4 --ap 9 --feed-per-tooth 0.07 \\
    --rpm 12000 --material en-aw-7075-t651

Forces act on the cutter: x along the feed, z along the axis towards the spindle, y = z × x.";

/// Of `calc chip`.
#[derive(Debug, Args)]
#[command(allow_negative_numbers = true)]
pub(crate) struct Chip {
    /// Diameter, mm
    #[arg(long, value_name = "D", value_parser = number)]
    diameter: f64,
    /// Width of cut across the axis, mm
    #[arg(long, value_name = "AE", value_parser = number)]
    ae: f64,
    /// Feed per tooth, mm
    #[arg(long, value_name = "FZ", value_parser = number)]
    feed_per_tooth: f64,
    /// Angle between the edge's normal and the axis, degrees; left out: 90
    #[arg(long, value_name = "K", value_parser = number)]
    kappa_deg: Option<f64>,
}

impl Chip {
    /// The request that these arguments make.
    pub(crate) fn request(&self) -> chip::Request {
        chip::Request {
            diameter_mm: self.diameter,
            ae_mm: self.ae,
            feed_per_tooth_mm: self.feed_per_tooth,
            kappa_deg: self.kappa_deg,
        }
    }
}

/// Of `calc feed`.
#[derive(Debug, Args)]
#[command(allow_negative_numbers = true)]
pub(crate) struct Feed {
    /// Diameter, mm
    #[arg(long, value_name = "D", value_parser = number)]
    diameter: f64,
    /// Number of teeth
    #[arg(long, value_name = "Z")]
    teeth: u32,
    /// Spindle speed, rev/min
    #[arg(long, value_name = "N", value_parser = number)]
    rpm: f64,
    /// Width of cut across the axis, mm
    #[arg(long, value_name = "AE", value_parser = number)]
    ae: f64,
    /// Largest chip thickness that is wanted, µm
    #[arg(long, value_name = "H", value_parser = number)]
    chip_max_um: f64,
    /// Angle between the edge's normal and the axis, degrees; left out: 90
    #[arg(long, value_name = "K", value_parser = number)]
    kappa_deg: Option<f64>,
}

impl Feed {
    /// The request that these arguments make.
    pub(crate) fn request(&self) -> feed::Request {
        feed::Request {
            diameter_mm: self.diameter,
            teeth: self.teeth,
            rpm: self.rpm,
            ae_mm: self.ae,
            chip_max_um: self.chip_max_um,
            kappa_deg: self.kappa_deg,
        }
    }
}

/// Of `calc force`.
#[derive(Debug, Args)]
#[command(allow_negative_numbers = true)]
#[command(group = ArgGroup::new("law").required(true).args(["material", "ktc"]))]
pub(crate) struct Force {
    /// Diameter, mm
    #[arg(long, value_name = "D", value_parser = number)]
    diameter: f64,
    /// Number of teeth
    #[arg(long, value_name = "Z")]
    teeth: u32,
    /// Helix angle, degrees
    #[arg(long, value_name = "B", value_parser = number)]
    helix_deg: f64,
    /// Width of cut across the axis, mm
    #[arg(long, value_name = "AE", value_parser = number)]
    ae: f64,
    /// Depth of cut along the axis, mm
    #[arg(long, value_name = "AP", value_parser = number)]
    ap: f64,
    /// Feed per tooth, mm
    #[arg(long, value_name = "FZ", value_parser = number)]
    feed_per_tooth: f64,
    /// Spindle speed, rev/min
    #[arg(long, value_name = "N", value_parser = number)]
    rpm: f64,
    /// Up milling; left out: down milling
    #[arg(long)]
    up: bool,
    /// Offset of the cutter's axis, µm
    #[arg(long, value_name = "U", value_parser = number)]
    runout_um: Option<f64>,
    /// Angle from the first tooth to the offset, degrees
    #[arg(long, value_name = "A", value_parser = number)]
    runout_deg: Option<f64>,
    /// Material: its id, or a file that ends in .toml
    #[arg(long, value_name = "ID")]
    material: Option<String>,
    /// Tangential coefficient, N/mm²
    #[arg(long, value_name = "K", value_parser = number)]
    ktc: Option<f64>,
    /// Radial coefficient, N/mm²
    #[arg(long, value_name = "K", value_parser = number, requires = "ktc")]
    krc: Option<f64>,
    /// Axial coefficient, N/mm²
    #[arg(long, value_name = "K", value_parser = number, requires = "ktc")]
    kac: Option<f64>,
    /// Tangential edge coefficient, N/mm
    #[arg(long, value_name = "K", value_parser = number, requires = "ktc")]
    kte: Option<f64>,
    /// Radial edge coefficient, N/mm
    #[arg(long, value_name = "K", value_parser = number, requires = "ktc")]
    kre: Option<f64>,
    /// Axial edge coefficient, N/mm
    #[arg(long, value_name = "K", value_parser = number, requires = "ktc")]
    kae: Option<f64>,
}

impl Force {
    /// The request that these arguments make.
    pub(crate) fn request(&self) -> force::Request {
        let ground = match (&self.material, self.ktc) {
            (Some(material), _) => force::Ground::Material(material.clone()),
            (None, ktc) => {
                force::Ground::Coefficients([ktc, self.krc, self.kac, self.kte, self.kre, self.kae])
            }
        };
        force::Request {
            diameter_mm: self.diameter,
            teeth: self.teeth,
            helix_deg: self.helix_deg,
            ae_mm: self.ae,
            ap_mm: self.ap,
            feed_per_tooth_mm: self.feed_per_tooth,
            rpm: self.rpm,
            up: self.up,
            runout_um: self.runout_um,
            runout_deg: self.runout_deg,
            ground,
        }
    }
}
