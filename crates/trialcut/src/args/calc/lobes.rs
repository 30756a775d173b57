//! Arguments of `calc lobes`.

use crate::args::number;
use clap::Args;
use commands::calc::lobes::{Give, METHODS, Request};
use std::path::PathBuf;

/// Shown below the help.
pub(crate) const EXAMPLE: &str = "\
Example:
  trialcut calc lobes --teeth 2 --diameter 12 --ae 6 --kt 600 --kr 0.333 --mode-x 922,0.011,1.34 \\
    --rpm 5000:20000:61

The helix counts as zero. An axis that is left out is rigid.";

/// Of `calc lobes`.
#[derive(Debug, Args)]
#[command(allow_negative_numbers = true)]
pub(crate) struct Lobes {
    /// Number of teeth
    #[arg(long, value_name = "Z")]
    teeth: u32,
    /// Diameter, mm
    #[arg(long, value_name = "D", value_parser = number)]
    diameter: f64,
    /// Width of cut across the axis, mm
    #[arg(long, value_name = "AE", value_parser = number)]
    ae: f64,
    /// Up milling; left out: down milling
    #[arg(long)]
    up: bool,
    /// Tangential coefficient, N/mm²
    #[arg(long, value_name = "KT", value_parser = number)]
    kt: f64,
    /// Radial over tangential force
    #[arg(long, value_name = "KR", value_parser = number)]
    kr: f64,
    /// Mode along the feed: Hz, damping ratio, N/µm
    #[arg(long, value_name = "F,ZETA,K", value_parser = mode)]
    mode_x: Option<[f64; 3]>,
    /// Mode across the feed: Hz, damping ratio, N/µm
    #[arg(long, value_name = "F,ZETA,K", value_parser = mode)]
    mode_y: Option<[f64; 3]>,
    /// Measured response along the feed: CSV of Hz, real, imaginary in m/N
    #[arg(long, value_name = "FILE", conflicts_with = "mode_x", alias = "frf-x")]
    response_x: Option<PathBuf>,
    /// Measured response across the feed: CSV of Hz, real, imaginary in m/N
    #[arg(long, value_name = "FILE", conflicts_with = "mode_y", alias = "frf-y")]
    response_y: Option<PathBuf>,
    /// Slowest speed, fastest speed, and how many: LO:HI:N, rev/min
    #[arg(long, value_name = "LO:HI:N", value_parser = range)]
    rpm: Range,
    /// zeroth-order or semi-discretisation
    #[arg(long, value_name = "M", default_value = METHODS[0])]
    method: String,
}

/// Speeds, rev/min.
#[derive(Debug, Clone, Copy)]
struct Range {
    ends: [f64; 2],
    count: u32,
}

fn mode(text: &str) -> Result<[f64; 3], String> {
    let parts: Vec<&str> = text.split(',').collect();
    let [f, zeta, k] = parts[..] else {
        return Err("expected three numbers: Hz, damping ratio, N/µm, as in 922,0.011,1.34".into());
    };
    Ok([number(f.trim())?, number(zeta.trim())?, number(k.trim())?])
}

fn range(text: &str) -> Result<Range, String> {
    let parts: Vec<&str> = text.split(':').collect();
    let [low, high, count] = parts[..] else {
        return Err("expected LO:HI:N, as in 5000:20000:61".into());
    };
    let count = count.trim().parse().map_err(|_| "expected a whole number of speeds".to_owned())?;
    Ok(Range { ends: [number(low.trim())?, number(high.trim())?], count })
}

impl Lobes {
    /// The request that these arguments make.
    pub(crate) fn request(&self) -> Request {
        let give = |mode: Option<[f64; 3]>, file: &Option<PathBuf>| match (mode, file) {
            (Some(mode), _) => Give::Mode(mode),
            (None, Some(path)) => Give::File(path.clone()),
            (None, None) => Give::Rigid,
        };
        Request {
            teeth: self.teeth,
            diameter_mm: self.diameter,
            ae_mm: self.ae,
            up: self.up,
            kt_n_mm2: self.kt,
            kr: self.kr,
            x: give(self.mode_x, &self.response_x),
            y: give(self.mode_y, &self.response_y),
            speeds_rpm: self.rpm.ends,
            count: self.rpm.count,
            method: self.method.clone(),
        }
    }
}
