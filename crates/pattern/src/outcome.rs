//! What passes over a face come to.

use geom::Vec3;
use toolpath::Toolpath;

use crate::clear::ClosestApproach;
use crate::error::Warning;
use crate::strip::Strips;

/// Smallest, mean and largest of a quantity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Smallest.
    pub min: f64,
    /// Mean over the samples.
    pub mean: f64,
    /// Largest.
    pub max: f64,
}

impl Spread {
    pub(crate) fn of(values: impl Iterator<Item = f64>) -> Option<Self> {
        let mut count = 0.0;
        let mut spread = Spread { min: f64::INFINITY, mean: 0.0, max: f64::NEG_INFINITY };
        for v in values {
            count += 1.0;
            spread.mean += v;
            spread.min = spread.min.min(v);
            spread.max = spread.max.max(v);
        }
        (count > 0.0).then(|| Spread { mean: spread.mean / count, ..spread })
    }
}

/// One pass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pass {
    /// The level of the pattern that it lies on, from 0.
    pub level: usize,
    /// Length of its contact line, mm.
    pub path_mm: f64,
    /// Length of the tip's path, mm.
    pub tip_path_mm: f64,
    /// Number of straight moves.
    pub moves: usize,
    /// Where its contact starts.
    pub from: Vec3,
    /// Where its contact ends.
    pub to: Vec3,
    /// Whether the link to it stayed down.
    pub linked: bool,
}

/// How the axis stands, as it was chosen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AxisUsed {
    /// Smallest and largest angle between normal and axis, rad.
    pub kappa_rad: (f64, f64),
    /// Whether it leans to the left of the pattern's direction; `None` where it does not lean.
    pub leans_left: Option<bool>,
}

/// Passes over a face.
#[derive(Debug, Clone, PartialEq)]
pub struct FacePasses {
    /// All runs in order.
    pub toolpath: Toolpath,
    /// The passes, in order.
    pub passes: Vec<Pass>,
    /// Length of all contact lines, mm.
    pub path_mm: f64,
    /// Length of the tip's path while it cuts, mm.
    pub tip_path_mm: f64,
    /// Length of the tip's path in leads and links at feed, mm.
    pub link_mm: f64,
    /// Length of the tip's path in retracts, approaches and rapids, mm.
    pub rapid_mm: f64,
    /// Spacing of neighbouring contact lines along the surface, mm; `None` with a single line.
    pub stepover_mm: Option<Spread>,
    /// Largest cusp by exact circle geometry on the true curvature, mm; `None` with a single line.
    pub predicted_cusp_max_mm: Option<f64>,
    /// The same, mean, mm.
    pub predicted_cusp_mean_mm: Option<f64>,
    /// Lower bound of the length of all contact lines for the axis field that is used and the cusp
    /// asked for (where none is: the largest predicted), mm.
    pub path_bound_mm: Option<f64>,
    /// How far straight moves may leave the contact line, mm.
    pub chord_mm: f64,
    /// How the axis stands.
    pub axis: AxisUsed,
    /// How near neck, shank and holder come to the part or a fixture on passes, leads, links and
    /// ways through the air; `None` where there is nothing to come near to.
    pub closest_approach: Option<ClosestApproach>,
    /// Measurements across the strips.
    pub strips: Strips,
    /// What a person should know.
    pub warnings: Vec<Warning>,
}
