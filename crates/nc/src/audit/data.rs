//! An audit as plain data; times in s, lengths in mm, feeds in mm/min.

use crate::fault::Unread;

/// Where the time of a program goes.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Audit {
    /// Blocks that are run.
    pub blocks: u64,
    /// Moves that go somewhere.
    pub moves: usize,
    /// The times.
    pub time: AuditTime,
    /// Share of cases in which the true time is held to lie between `low_s` and `high_s`.
    pub confidence: f64,
    /// Programmed over attained time of the moves at feed; `None` where there are none.
    pub feed_attainment: Option<f64>,
    /// Tools in order of their first use; number 0 is the spindle without a tool.
    pub tools: Vec<ToolTime>,
    /// What holds the time, by falling share; the shares add up to 1.
    pub limits: Vec<LimitLine>,
    /// Factor by which each limit was relaxed for its worth.
    pub relaxed_by: f64,
    /// Stretches at feed that lose most against their programmed feed, worst first.
    pub worst: Vec<WorstStretch>,
    /// Time at feed that is known to be in air, s: the spindle stands or holds no tool. `None`: no
    /// stock is known, and nothing else tells.
    pub air_s: Option<f64>,
    /// Programmed and attained feed over time.
    pub feed: Vec<FeedStep>,
    /// The path with the limit that holds it.
    pub path: PathPicture,
    /// What the program asks of a study's cutters; `None`: no study was given.
    pub loads: Option<LoadsAlong>,
    /// Axes that leave their travel, the worst place of each end.
    pub exceeded: Vec<Exceeded>,
    /// What was not followed, and what was followed with a reservation.
    pub unread: Vec<Unread>,
    /// What the numbers rest on and what to mind.
    pub cautions: Vec<String>,
}

/// What a program asks of cutters that are known, from stock that is known.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LoadsAlong {
    /// The stock that the program begins with; `None`: there is none.
    pub stock: Option<StockTaken>,
    /// The tools in order of their first call.
    pub tools: Vec<ToolAlong>,
    /// Moves at feed that meet no stock, s; `None`: not computed.
    pub air_s: Option<f64>,
    /// The same as a share of the time at feed of the tools that were matched.
    pub air_share: Option<f64>,
    /// Lines whose rapid goes through stock, and how much of it, mm³.
    pub rapid_in_stock: Vec<(u32, f64)>,
    /// What the figures rest on.
    pub notes: Vec<String>,
}

/// The stock that was taken for the first block of a program.
#[derive(Debug, Clone, PartialEq)]
pub struct StockTaken {
    /// What it is.
    pub shape: String,
    /// Why it was taken.
    pub because: String,
}

/// One tool along the program.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ToolAlong {
    /// Its number.
    pub number: u32,
    /// The study's cutter; `None`: not matched.
    pub cutter: Option<String>,
    /// How it was matched, or why it was not.
    pub matched_by: String,
    /// At feed in air, s.
    pub air_s: Option<f64>,
    /// At feed in the cut, s.
    pub in_cut_s: Option<f64>,
    /// Stock removed, cm³.
    pub volume_cm3: Option<f64>,
    /// Angle in the cut, the widest over the edge, deg.
    pub engagement_deg: Option<MeanPeak>,
    /// Thickness of the chip, µm.
    pub chip_thickness_um: Option<MeanPeak>,
    /// Force across the axis, N.
    pub force_n: Option<MeanPeak>,
    /// Why something was not computed.
    pub missing: Option<String>,
}

/// A mean over the time in the cut, and the largest.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct MeanPeak {
    /// Mean by time.
    pub mean: f64,
    /// Largest.
    pub peak: f64,
}

/// Times of a program, s. All but the total, its ends and the programmed time add up to the total.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct AuditTime {
    /// From cycle start to the end of the program.
    pub total_s: f64,
    /// Low end of the total.
    pub low_s: f64,
    /// High end of the total.
    pub high_s: f64,
    /// Moves at feed.
    pub cutting_s: f64,
    /// Rapids.
    pub rapid_s: f64,
    /// Tool changes.
    pub tool_change_s: f64,
    /// Dwells.
    pub dwell_s: f64,
    /// Spindle, coolant and auxiliary words.
    pub other_s: f64,
    /// Path over feed of the moves at feed.
    pub programmed_s: f64,
}

/// What one tool takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ToolTime {
    /// Its number.
    pub number: u32,
    /// Everything while it is in the spindle, the change to it included, s.
    pub time_s: f64,
    /// Moves at feed, s.
    pub cutting_s: f64,
    /// Path over feed, s.
    pub programmed_s: f64,
    /// Programmed over attained time at feed.
    pub feed_attainment: Option<f64>,
    /// Path at feed, mm.
    pub path_mm: f64,
}

/// One limit.
#[derive(Debug, Clone, PartialEq)]
pub struct LimitLine {
    /// Its name.
    pub limit: String,
    /// Share of the total time that it rules.
    pub time_share: f64,
    /// What relaxing it saves, s; `None` where nothing relaxes it or it was not examined.
    pub worth_s: Option<f64>,
    /// A sentence of why.
    pub because: String,
}

/// A stretch of the program.
#[derive(Debug, Clone, PartialEq)]
pub struct WorstStretch {
    /// First and last line.
    pub lines: [u32; 2],
    /// Moves in it.
    pub moves: usize,
    /// How often the program runs it: loops and subprograms; figures are sums over all of them.
    pub runs: usize,
    /// Number of the tool.
    pub tool: u32,
    /// When it first begins, s from the start.
    pub at_s: f64,
    /// Its time, s.
    pub time_s: f64,
    /// Path over feed, s.
    pub programmed_s: f64,
    /// Path, mm.
    pub path_mm: f64,
    /// The limit under which most of the loss arises.
    pub limit: String,
    /// Share of the stretch's time under it.
    pub limit_share: f64,
    /// A sentence of why.
    pub because: String,
}

impl WorstStretch {
    /// What it loses against its programmed feed, s.
    pub fn lost_s(&self) -> f64 {
        self.time_s - self.programmed_s
    }
}

/// Means over a piece of the time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FeedStep {
    /// From the start of the program to the end of the piece, s.
    pub until_s: f64,
    /// Programmed feed; `None` in rapids and waits.
    pub programmed_mm_min: Option<f64>,
    /// Attained feed; 0 in waits.
    pub attained_mm_min: f64,
}

/// The path seen from above, in pieces of one limit each.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PathPicture {
    /// Names of limits that hold moves at feed, most time first.
    pub limits: Vec<String>,
    /// Pieces in order.
    pub pieces: Vec<PathPiece>,
    /// One move in so many is drawn.
    pub every: usize,
}

/// A piece of the path.
#[derive(Debug, Clone, PartialEq)]
pub struct PathPiece {
    /// Index in [`PathPicture::limits`]; `None` for a rapid.
    pub limit: Option<usize>,
    /// Points x, y, mm.
    pub points: Vec<[f64; 2]>,
}

/// An axis beyond an end of its travel; mm or deg, machine coordinates.
#[derive(Debug, Clone, PartialEq)]
pub struct Exceeded {
    /// Line of the program.
    pub line: u32,
    /// The axis.
    pub axis: String,
    /// Where it would have to go.
    pub position: f64,
    /// The end of its travel.
    pub end: f64,
    /// `mm` or `deg`.
    pub unit: &'static str,
}

impl Exceeded {
    /// How far beyond the end.
    pub fn beyond(&self) -> f64 {
        (self.position - self.end).abs()
    }
}

impl std::fmt::Display for Exceeded {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self { line, axis, position, end, unit } = self;
        write!(
            f,
            "line {line}: axis {axis} has to go to {position:.3} {unit}, {:.3} {unit} beyond its \
             travel to {end:.3} {unit}",
            self.beyond()
        )
    }
}
