//! What an operation asks of chip, edge, cutter and spindle, against what they stand.

use units::Interval;

/// Which load.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum LoadKind {
    /// Force across the axis, N.
    Force,
    /// Torque about the axis, N m.
    Torque,
    /// Power at the cutter, kW.
    Power,
    /// Deflection of the cutter where it makes the surface, µm.
    Deflection,
    /// Thickness of the chip, µm.
    ChipThickness,
}

impl LoadKind {
    /// All of them in the order in which they are shown.
    pub const ALL: [Self; 5] =
        [Self::Force, Self::Torque, Self::Power, Self::Deflection, Self::ChipThickness];

    /// The key of documents, with its unit.
    pub fn key(self) -> &'static str {
        match self {
            Self::Force => "force_n",
            Self::Torque => "torque_nm",
            Self::Power => "power_kw",
            Self::Deflection => "deflection_um",
            Self::ChipThickness => "chip_thickness_um",
        }
    }

    /// Name and unit for people.
    pub fn label(self) -> (&'static str, &'static str) {
        match self {
            Self::Force => ("force across the axis", "N"),
            Self::Torque => ("torque", "N m"),
            Self::Power => ("power at the cutter", "kW"),
            Self::Deflection => ("deflection", "µm"),
            Self::ChipThickness => ("chip thickness", "µm"),
        }
    }
}

/// A load against its limit, in the unit of its kind.
#[derive(Debug, Clone, PartialEq)]
pub struct Load {
    /// Which load.
    pub kind: LoadKind,
    /// Mean over a revolution, or over the engagement for a thickness.
    pub mean: Option<f64>,
    /// Largest within a revolution.
    pub peak: Option<f64>,
    /// Range of the peak at the study's confidence.
    pub peak_range: Option<Interval>,
    /// What must not be exceeded.
    pub limit: Option<f64>,
    /// Whose limit it is and where it comes from; where there is none, why not.
    pub limit_from: String,
    /// Root mean square while cutting, over the operation: what heats a spindle.
    pub rms: Option<f64>,
    /// What may be asked for without end; only for loads that heat.
    pub rms_limit: Option<f64>,
    /// Of a deflection: the error that it leaves on the surface, positive where stock is left.
    pub surface: Option<Interval>,
    /// Why the load was not computed, if it was not.
    pub missing: Option<String>,
}

impl Load {
    /// A load that could not be computed.
    pub fn missing(kind: LoadKind, because: impl Into<String>) -> Self {
        Self {
            kind,
            mean: None,
            peak: None,
            peak_range: None,
            limit: None,
            limit_from: String::new(),
            rms: None,
            rms_limit: None,
            surface: None,
            missing: Some(because.into()),
        }
    }
}

/// What a cutter leaves on a wall because it gives way, along the normal: positive where stock is left.
#[derive(Debug, Clone, PartialEq)]
pub struct FormError {
    /// Best estimate over all places and heights, µm.
    pub left_um: Interval,
    /// Its range at the study's confidence, µm.
    pub range_um: Interval,
    /// Form tolerance of the feature, µm.
    pub limit_um: Option<f64>,
    /// At the worst place: height over the tip in mm, what is left there in µm.
    pub by_height: Vec<[f64; 2]>,
    /// What it rests on.
    pub rests_on: String,
}

impl FormError {
    /// The most that is left or cut too much, by the best estimate, µm.
    pub fn largest_um(&self) -> f64 {
        self.left_um.low.abs().max(self.left_um.high.abs())
    }
}

/// The chips of an operation.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Swarf {
    /// Longest chip along the edge, mm.
    pub chip_width_mm: Option<f64>,
    /// Length along the cut, mm.
    pub chip_length_mm: Option<f64>,
    /// Metal removed, cm³.
    pub volume_cm3: Option<f64>,
    /// The same as loose chips, cm³.
    pub bulk_volume_cm3: Option<f64>,
    /// What it means for getting the chips out, with the assumptions.
    pub verdict: Vec<String>,
}

/// Chatter of an operation.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Chatter {
    /// Depth that stays stable at the speed of the operation, at the study's confidence, mm.
    pub ap_limit_mm: Option<f64>,
    /// Depth that the operation cuts, mm.
    pub ap_mm: Option<f64>,
    /// Limit over depth.
    pub margin: Option<f64>,
    /// The nearest speed with more room, rev/min, and the depth that is stable there, mm.
    pub better: Option<(f64, f64)>,
    /// Best estimate of the stable depth over speed: rev/min, mm.
    pub lobes: Vec<[f64; 2]>,
    /// Between what the stable depth lies over speed at the study's confidence, by the mean matrix:
    /// rev/min, mm, mm.
    pub lobes_band: Vec<[f64; 3]>,
    /// Speed below which the model does not hold, rev/min: rubbing damps what it calls unstable.
    pub modelled_from_rpm: Option<f64>,
    /// What the modes rest on; why there is no figure, if there is none.
    pub rests_on: String,
}

/// How much faster an operation could go.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Headroom {
    /// Factor on the feed until the next limit binds; below 1 where one is exceeded.
    pub feed_factor: Option<f64>,
    /// That limit.
    pub next_limit: Option<String>,
    /// The limit that is closest now, and the share of it that is used.
    pub binds: Option<(String, f64)>,
}

/// How long an edge lasts in an operation.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Life {
    /// Cutting time, min.
    pub minutes: Option<f64>,
    /// Its range at the study's confidence, min.
    pub range_min: Option<Interval>,
    /// What ends the edge.
    pub criterion: String,
    /// Whether the figure is only an upper bound.
    pub upper_bound: bool,
    /// Uses of a cutter for one part.
    pub cutters_per_part: Option<f64>,
    /// Why there is no figure, if there is none.
    pub missing: Option<String>,
}
