//! What a comparison found, as plain data: no computing, no file format.
//!
//! A quantity that was not computed is `None`, never 0. Every number is a prediction unless its
//! name says `measured`.

mod load;
mod rough;

pub use load::{Chatter, FormError, Headroom, Life, Load, LoadKind, Swarf};
pub use rough::{FeedGain, Roughed, StockLeft};

use units::Interval;

/// The outcome of comparing the processes of one study.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// Name of the study.
    pub study: String,
    /// Name of the part's file as it was given.
    pub part: String,
    /// Identification of the material.
    pub material: String,
    /// Name of the machine.
    pub machine: String,
    /// Currency of all costs.
    pub currency: String,
    /// Confidence of the claims' intervals, 0 to 1.
    pub confidence: f64,
    /// Every process in the order of the study.
    pub processes: Vec<ProcessOutcome>,
    /// Claims of each later process against the first.
    pub claims: Vec<Claim>,
    /// Values that the study or the machine file leaves open, with what was taken instead.
    pub assumptions: Vec<Assumed>,
    /// Warnings that concern the whole study.
    pub warnings: Vec<String>,
}

/// A value that nobody gave.
#[derive(Debug, Clone, PartialEq)]
pub struct Assumed {
    /// Key as the file would name it: `axis.X.jerk_m_s3`.
    pub key: String,
    /// Value taken, in the unit of the key.
    pub value: f64,
    /// Range within which the true value is believed to lie.
    pub range: Interval,
    /// Why that value and that range.
    pub because: String,
}

/// One process.
#[derive(Debug, Clone, PartialEq)]
pub struct ProcessOutcome {
    /// Its name.
    pub name: String,
    /// Cycle time: operations and tool changes, s.
    pub time_s: f64,
    /// Time spent changing tools, s.
    pub tool_change_s: f64,
    /// Cost of one part by lines; the total is their sum.
    pub cost: Vec<CostLine>,
    /// Number of different cutters.
    pub cutters: usize,
    /// Its operations in order.
    pub operations: Vec<OperationOutcome>,
}

impl ProcessOutcome {
    /// Cost of one part: the sum of its lines; `None` if any line was not computed.
    pub fn cost_per_part(&self) -> Option<f64> {
        self.cost.iter().map(|l| l.per_part).sum()
    }
}

/// One line of the cost of a part.
#[derive(Debug, Clone, PartialEq)]
pub struct CostLine {
    /// What is paid for.
    pub what: String,
    /// Cost per part in the study's currency.
    pub per_part: Option<f64>,
    /// What the line rests on.
    pub rests_on: String,
}

/// Time of one operation, s.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct OperationTime {
    /// Cutting and linking.
    pub total_s: f64,
    /// Along contact lines.
    pub cutting_s: f64,
    /// Leads, links, approach, retract, rapids.
    pub linking_s: f64,
    /// Length of the contact lines over the feed asked for.
    pub programmed_s: f64,
}

/// Smallest, mean and largest value of a length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Smallest.
    pub min: f64,
    /// Mean.
    pub mean: f64,
    /// Largest.
    pub max: f64,
}

/// The deepest cut below a nominal surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gouge {
    /// Depth along the normal, not negative.
    pub depth_um: f64,
    /// Where, part frame, mm.
    pub place_mm: [f64; 3],
    /// What made it: a pass, a lead, a link, a rapid …
    pub by: &'static str,
}

/// Cusp of a finished face, µm.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Cusp {
    /// Largest by local geometry.
    pub predicted_max_um: Option<f64>,
    /// Largest on the simulated cut.
    pub cut_max_um: Option<f64>,
    /// Where that stands, part frame, mm.
    pub cut_max_place_mm: Option<[f64; 3]>,
    /// Area mean on the simulated cut.
    pub cut_mean_um: Option<f64>,
    /// Largest on the simulated cut between passes, farther than a step-over from the feature's border.
    pub interior_max_um: Option<f64>,
    /// Largest on the simulated cut within a step-over of the border, where a pass has no neighbour.
    pub border_max_um: Option<f64>,
    /// What the feature allows.
    pub limit_um: Option<f64>,
    /// Half-width of the simulated cut's own error.
    pub good_to_um: Option<f64>,
}

/// One roughness parameter of the simulated surface.
#[derive(Debug, Clone, PartialEq)]
pub struct Roughness {
    /// `Ra`, `Rz`, `Sa`, `Sz` …
    pub parameter: String,
    /// `across` or `along` the lay; `area` for areal parameters.
    pub direction: String,
    /// Range, µm.
    pub um: Interval,
    /// Cut-off (nesting index) of the filter, mm; `None`: unfiltered.
    pub cutoff_mm: Option<f64>,
    /// What the reader must know to use the figure.
    pub note: Option<String>,
}

/// Share of the time that one limit holds the speed down.
#[derive(Debug, Clone, PartialEq)]
pub struct LimitShare {
    /// Name of the limit: `axis B acceleration`.
    pub limit: String,
    /// Share of the operation's time, 0 to 1; all shares add up to 1.
    pub time_share: f64,
    /// Time that relaxing it by `relaxed_by` saves, s; `None` where it was not tried.
    pub worth_s: Option<f64>,
    /// Factor by which it was relaxed to find its worth.
    pub relaxed_by: f64,
}

/// The closest that something which does not cut comes to part, clamps or stock.
#[derive(Debug, Clone, PartialEq)]
pub struct Approach {
    /// `holder`, `shank`, `neck` …
    pub body: String,
    /// Distance, mm.
    pub distance_mm: f64,
    /// Where on what it comes near to, mm.
    pub place_mm: [f64; 3],
    /// How far off the distance may be, mm; `None` where it is proven.
    pub good_to_mm: Option<f64>,
}

/// Feeds and speeds of an operation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CuttingData {
    /// Spindle speed, rev/min.
    pub rpm: f64,
    /// Feed per tooth at the contact point, mm.
    pub feed_per_tooth_mm: f64,
    /// Feed of the contact point, mm/min.
    pub contact_feed_mm_min: f64,
    /// Programmed feed at the tip, mm/min: smallest and largest.
    pub tip_feed_mm_min: Interval,
    /// Cutting speed at the contact point, m/min.
    pub contact_speed_m_min: Option<f64>,
    /// Angle between axis and surface normal, degrees: smallest and largest used.
    pub kappa_deg: Interval,
}

/// A regular map over the plan of a feature.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanMap {
    /// Lower left corner of the map, mm.
    pub origin_mm: [f64; 2],
    /// Size of one cell, mm.
    pub cell_mm: f64,
    /// Cells along x.
    pub columns: usize,
    /// Cells along y.
    pub rows: usize,
    /// Largest deviation in each cell, µm, row by row from below; `None`: no sample.
    pub um: Vec<Option<f32>>,
}

/// What the pictures of an operation need.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Picture {
    /// Contact lines in plan, mm, thinned for drawing.
    pub passes_mm: Vec<Vec<[f64; 3]>>,
    /// How many passes stand for each one drawn.
    pub every: usize,
    /// Border of the feature in plan, as loose segments, mm.
    pub border_mm: Vec<[[f64; 2]; 2]>,
    /// Outline and edges of the whole part in plan, as loose segments, mm.
    pub edges_mm: Vec<[[f64; 2]; 2]>,
    /// Largest deviation per cell.
    pub cusp: Option<PlanMap>,
    /// Deepest cut below nominal per cell.
    pub gouge: Option<PlanMap>,
    /// Attained feed at the contact, mm/min, against time, s.
    pub feed: Vec<[f64; 2]>,
}

/// One operation.
#[derive(Debug, Clone, PartialEq)]
pub struct OperationOutcome {
    /// Its name.
    pub name: String,
    /// Feature it works on.
    pub feature: String,
    /// Its kind as the study names it.
    pub kind: String,
    /// Identification of its cutter.
    pub cutter: String,
    /// Pattern of its passes.
    pub pattern: String,
    /// Time.
    pub time: OperationTime,
    /// What the client's clock says, s.
    pub measured_time_s: Option<f64>,
    /// Programmed over predicted cutting time.
    pub feed_attainment: Option<f64>,
    /// Feeds and speeds.
    pub data: CuttingData,
    /// Length of the contact lines, mm.
    pub path_mm: f64,
    /// Length of the tip's path over them, mm.
    pub tip_path_mm: f64,
    /// Length of leads and links, mm.
    pub link_mm: f64,
    /// Number of passes.
    pub passes: usize,
    /// No path of this axis field can be shorter at this cusp, mm.
    pub path_bound_mm: Option<f64>,
    /// Area that no pass reached, mm².
    pub uncut_mm2: Option<f64>,
    /// Spacing of the contact lines, mm.
    pub stepover_mm: Option<Spread>,
    /// Cusp.
    pub cusp: Cusp,
    /// Deepest cut below the nominal surface.
    pub gouge: Option<Gouge>,
    /// Roughness of the simulated surface.
    pub roughness: Vec<Roughness>,
    /// Closest approach of neck, shank and holder to part and clamps; in layers, to what stands of the
    /// stock as well.
    pub closest_approach: Option<Approach>,
    /// Loads against their limits, in the order of [`LoadKind::ALL`]; empty: none was looked at.
    pub loads: Vec<Load>,
    /// Error that giving way leaves on a wall; `None`: no wall is made, or it was not computed.
    pub form_error: Option<FormError>,
    /// Chips.
    pub swarf: Swarf,
    /// Chatter.
    pub chatter: Chatter,
    /// What clearing in layers adds; `None` for all other kinds.
    pub roughed: Option<Roughed>,
    /// How much faster it could go.
    pub headroom: Headroom,
    /// How long an edge lasts.
    pub life: Life,
    /// Which limits held the speed down.
    pub limits: Vec<LimitShare>,
    /// Warnings.
    pub warnings: Vec<String>,
    /// Limits that are broken, in words; empty: none.
    pub broken: Vec<String>,
    /// Limits that nobody gave, so that nothing can be said of them.
    pub unknown_limits: Vec<String>,
    /// Data for pictures.
    pub picture: Picture,
}

/// A number promised to somebody.
#[derive(Debug, Clone, PartialEq)]
pub struct Claim {
    /// Process that is claimed to be better.
    pub process: String,
    /// Operation it is about; `None`: the whole process.
    pub operation: Option<String>,
    /// What is claimed: `time_saved_s`, `cost_saved_per_part`, `time_saved_share`.
    pub quantity: String,
    /// Whether both processes meet the same limits of the feature.
    pub like_for_like: bool,
    /// In what the quality differs, if it does.
    pub differs: Option<String>,
    /// Best value.
    pub value: f64,
    /// Interval at `confidence`.
    pub interval: Interval,
    /// Confidence, 0 to 1.
    pub confidence: f64,
    /// What the claim rests on.
    pub rests_on: Vec<String>,
    /// What each cause brings; only for savings of time.
    pub split: Option<Split>,
    /// How a trial would settle it.
    pub settled_by: String,
}

/// A saving of time split into its causes, s, by changing one at a time in this order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Split {
    /// Fewer and other passes at today's feed: length of path.
    pub stepover_s: f64,
    /// The proposal's feed instead of today's.
    pub feed_s: f64,
    /// Leads, links, approach and retract.
    pub links_s: f64,
    /// What the machine makes of the feed asked for.
    pub machine_s: f64,
}
