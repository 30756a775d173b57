//! The audit as a document.

use super::loads::Along;
use crate::document::Document;
use nc::Audit;
use serde::Serialize;
use std::path::PathBuf;

/// What a program's time goes to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Audited {
    /// The program's file.
    pub program: String,
    /// The machine.
    pub machine: String,
    /// Blocks that are run, those of a subprogram each time anew.
    pub blocks: u64,
    /// Moves that go somewhere.
    pub moves: usize,
    /// The times.
    pub time_s: TimeParts,
    /// Of the interval `low` to `high`.
    pub confidence: f64,
    /// Programmed over attained time at feed.
    pub feed_attainment: Option<f64>,
    /// Tools in order of use.
    pub tools: Vec<ToolLine>,
    /// What holds the time.
    pub limits: Vec<Limit>,
    /// Factor by which each limit is relaxed for its worth.
    pub relaxed_by: f64,
    /// Stretches that lose most against their programmed feed.
    pub worst: Vec<Stretch>,
    /// Time at feed known to be in air, s.
    pub air_s: Option<f64>,
    /// What the program asks of the study's cutters; null: no study was given.
    pub loads: Option<Along>,
    /// Axes beyond their travel.
    pub travel_exceeded: Vec<TravelLine>,
    /// What was not followed or deserves a look.
    pub unread: Vec<UnreadLine>,
    /// What the numbers rest on.
    pub cautions: Vec<String>,
    /// The document that was written.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub report: Option<PathBuf>,
}

/// Times, s; all but `total`, `low`, `high` and `programmed` add up to `total`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct TimeParts {
    /// From cycle start to the end of the program.
    pub total: f64,
    /// Low end of its interval.
    pub low: f64,
    /// High end.
    pub high: f64,
    /// Moves at feed.
    pub cutting: f64,
    /// Rapids.
    pub rapid: f64,
    /// Tool changes.
    pub tool_change: f64,
    /// Dwells.
    pub dwell: f64,
    /// Spindle, coolant, auxiliary words.
    pub other: f64,
    /// Path over feed.
    pub programmed: f64,
}

/// One tool.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ToolLine {
    /// Its number.
    pub number: u32,
    /// Everything while it is in the spindle, s.
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
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Limit {
    /// Its name.
    pub limit: String,
    /// Share of the total time.
    pub time_share: f64,
    /// What relaxing it saves, s.
    pub worth_s: Option<f64>,
    /// Why.
    pub because: String,
}

/// One stretch.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Stretch {
    /// First line.
    pub from_line: u32,
    /// Last line.
    pub to_line: u32,
    /// Tool in the spindle.
    pub tool: u32,
    /// Moves in it.
    pub moves: usize,
    /// How often the program runs it; figures are sums over all runs.
    pub runs: usize,
    /// Its time, s.
    pub time_s: f64,
    /// Path over feed, s.
    pub programmed_s: f64,
    /// What it loses, s.
    pub lost_s: f64,
    /// Path, mm.
    pub path_mm: f64,
    /// The limit under which most of the loss arises.
    pub limit: String,
    /// Share of the stretch's time under it.
    pub limit_share: f64,
    /// Why.
    pub because: String,
}

/// An axis beyond its travel; machine coordinates, mm or deg.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TravelLine {
    /// Line of the program.
    pub line: u32,
    /// The axis.
    pub axis: String,
    /// Where it would have to go.
    pub position: f64,
    /// End of its travel.
    pub end: f64,
    /// How far beyond.
    pub beyond: f64,
    /// `mm` or `deg`.
    pub unit: String,
}

/// A word that was not followed, or one followed with a reservation.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct UnreadLine {
    /// Line of the program.
    pub line: u32,
    /// The word.
    pub text: String,
    /// Why.
    pub why: String,
    /// Whether it was not followed.
    pub skipped: bool,
    /// How often it stands from this line on.
    pub count: u64,
}

impl Audited {
    pub(super) fn new(
        program: String,
        machine: &str,
        audit: Audit,
        report: Option<PathBuf>,
    ) -> Self {
        let t = audit.time;
        let tools = audit.tools.iter().map(|tool| ToolLine {
            number: tool.number,
            time_s: tool.time_s,
            cutting_s: tool.cutting_s,
            programmed_s: tool.programmed_s,
            feed_attainment: tool.feed_attainment,
            path_mm: tool.path_mm,
        });
        let limits = audit.limits.into_iter().map(|l| Limit {
            limit: l.limit,
            time_share: l.time_share,
            worth_s: l.worth_s,
            because: l.because,
        });
        let travel = audit.exceeded.iter().map(|e| TravelLine {
            line: e.line,
            axis: e.axis.clone(),
            position: e.position,
            end: e.end,
            beyond: e.beyond(),
            unit: e.unit.to_owned(),
        });
        let unread = audit.unread.into_iter().map(|u| UnreadLine {
            line: u.line,
            text: u.text,
            why: u.why,
            skipped: u.skipped,
            count: u.count,
        });
        Self {
            program,
            machine: machine.to_owned(),
            blocks: audit.blocks,
            moves: audit.moves,
            time_s: TimeParts {
                total: t.total_s,
                low: t.low_s,
                high: t.high_s,
                cutting: t.cutting_s,
                rapid: t.rapid_s,
                tool_change: t.tool_change_s,
                dwell: t.dwell_s,
                other: t.other_s,
                programmed: t.programmed_s,
            },
            confidence: audit.confidence,
            feed_attainment: audit.feed_attainment,
            tools: tools.collect(),
            limits: limits.collect(),
            relaxed_by: audit.relaxed_by,
            worst: audit.worst.iter().map(stretch).collect(),
            air_s: audit.loads.as_ref().and_then(|l| l.air_s).or(audit.air_s),
            loads: audit.loads.as_ref().map(Along::from),
            travel_exceeded: travel.collect(),
            unread: unread.collect(),
            cautions: audit.cautions,
            report,
        }
    }
}

fn stretch(worst: &nc::audit::WorstStretch) -> Stretch {
    Stretch {
        from_line: worst.lines[0],
        to_line: worst.lines[1],
        tool: worst.tool,
        moves: worst.moves,
        runs: worst.runs,
        time_s: worst.time_s,
        programmed_s: worst.programmed_s,
        lost_s: worst.lost_s(),
        path_mm: worst.path_mm,
        limit: worst.limit.clone(),
        limit_share: worst.limit_share,
        because: worst.because.clone(),
    }
}

impl Document for Audited {
    fn text(&self) -> String {
        super::text::text(self)
    }

    fn limits_broken(&self) -> bool {
        !self.travel_exceeded.is_empty()
    }
}
