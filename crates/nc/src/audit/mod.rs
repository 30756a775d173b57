//! Where the time of a program goes: times, limits with their worth, the worst stretches.

mod cautions;
mod data;
mod picture;
mod pieces;
mod sentence;
mod series;
mod stretches;
mod worth;

pub use data::{
    Audit, AuditTime, Exceeded, FeedStep, LimitLine, LoadsAlong, MeanPeak, PathPicture, PathPiece,
    StockTaken, ToolAlong, ToolTime, WorstStretch,
};

use crate::program::Program;
use machine::track::{Feed, Track};
use machine::{
    AccountError, Kinematics, Machine, Mounting, TrackAccount, TrackOptions, TrackTimer,
    TravelExceeded,
};
use std::fmt;

/// What an audit shall hold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AuditOptions {
    /// Share of cases in which the interval of the time shall hold the truth.
    pub confidence: f64,
    /// Factor by which a limit is relaxed to see what it is worth.
    pub relax: f64,
    /// How many of the limits that hold most time are examined.
    pub worth_of: usize,
    /// How many of the worst stretches are listed.
    pub stretches: usize,
    /// About how many steps the feed over time has.
    pub samples: usize,
    /// About how many points the picture of the path has.
    pub points: usize,
}

impl Default for AuditOptions {
    fn default() -> Self {
        Self {
            confidence: 0.9,
            relax: 1.25,
            worth_of: 6,
            stretches: 20,
            samples: 600,
            points: 20_000,
        }
    }
}

/// A program that cannot be driven on the machine.
#[derive(Debug, Clone, PartialEq)]
pub struct AuditError {
    /// Line of the program.
    pub line: u32,
    /// Why.
    pub source: AccountError,
}

impl fmt::Display for AuditError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}: {}", self.line, self.source)
    }
}

impl std::error::Error for AuditError {}

/// Times the program on the machine and says where its time goes.
///
/// # Errors
/// A block that the machine cannot be given.
pub fn audit(
    program: &Program,
    machine: &Machine,
    options: &AuditOptions,
) -> Result<Audit, AuditError> {
    let track = &program.track;
    let at = |source: AccountError| AuditError { line: line_of(track, &source), source };
    let whole = TrackOptions { worth_of: 0, ..TrackOptions::default() };
    let account = TrackTimer::new(track, machine, &whole).map_err(at)?.account().map_err(at)?;
    let pieces = pieces::Pieces::new(track, machine);
    let spread = pieces.spread(machine, &account.times, options.confidence).map_err(at)?;
    let limits = worth::limits(track, machine, &account, &pieces, options).map_err(at)?;
    let times = account.times;
    let kinematics = Kinematics::new(machine, &Mounting::default());
    Ok(Audit {
        blocks: program.blocks,
        moves: track.moves.len(),
        time: AuditTime {
            total_s: times.total_s,
            low_s: spread.low,
            high_s: spread.high,
            cutting_s: times.cutting_s,
            rapid_s: times.rapid_s,
            tool_change_s: times.tool_change_s,
            dwell_s: times.dwell_s,
            other_s: times.other_s,
            programmed_s: times.programmed_s,
        },
        confidence: options.confidence,
        feed_attainment: times.feed_attainment(),
        tools: tools(track, &account),
        limits,
        relaxed_by: options.relax,
        worst: stretches::worst(track, machine, &account, options.stretches),
        air_s: air_s(program, &account),
        feed: series::feed(track, &account, options.samples),
        path: picture::path(track, &kinematics, &account, options.points),
        loads: None,
        exceeded: account.exceeded.iter().map(|e| exceeded(track, e)).collect(),
        unread: program.unread.clone(),
        cautions: cautions::of(program, machine, &account, pieces.is_whole()),
    })
}

impl Audit {
    /// The same with loads along the program, which may tell air from cuts.
    #[must_use]
    pub fn with_loads(mut self, loads: LoadsAlong) -> Self {
        if loads.air_s.is_some() {
            self.cautions.retain(|caution| caution != cautions::AIR);
        }
        Self { loads: Some(loads), ..self }
    }
}

fn line_of(track: &Track, error: &AccountError) -> u32 {
    let (AccountError::Unreachable { run, .. }
    | AccountError::Pose { run, .. }
    | AccountError::Feed { run, .. }
    | AccountError::Plan { run, .. }) = error;
    track.moves.get(*run).map_or(1, |step| step.block)
}

fn exceeded(track: &Track, found: &TravelExceeded) -> Exceeded {
    let rotary = found.axis.is_rotary();
    let scale = if rotary { 1f64.to_degrees() } else { 1.0 };
    Exceeded {
        line: track.moves.get(found.run).map_or(1, |step| step.block),
        axis: found.axis.to_string(),
        position: found.position * scale,
        end: found.end * scale,
        unit: if rotary { "deg" } else { "mm" },
    }
}

fn tools(track: &Track, account: &TrackAccount) -> Vec<ToolTime> {
    let mut tools: Vec<ToolTime> = Vec::new();
    let place_of = |number: u16, tools: &mut Vec<ToolTime>| {
        let number = u32::from(number);
        tools.iter().position(|t| t.number == number).unwrap_or_else(|| {
            let none = ToolTime {
                number,
                time_s: 0.0,
                cutting_s: 0.0,
                programmed_s: 0.0,
                feed_attainment: None,
                path_mm: 0.0,
            };
            tools.push(none);
            tools.len() - 1
        })
    };
    let mut waits = track.waits.iter().zip(&account.waits_s).peekable();
    for (index, (step, taken)) in track.moves.iter().zip(&account.moves).enumerate() {
        while let Some((wait, seconds)) = waits.next_if(|(w, _)| w.after <= index) {
            let at = place_of(wait.tool, &mut tools);
            tools[at].time_s += seconds;
        }
        let at = place_of(step.tool, &mut tools);
        let tool = &mut tools[at];
        tool.time_s += taken.time_s;
        if step.feed != Feed::Rapid {
            tool.cutting_s += taken.time_s;
            tool.programmed_s += taken.programmed_s;
            tool.path_mm += taken.path_mm;
        }
    }
    for (wait, seconds) in waits {
        let at = place_of(wait.tool, &mut tools);
        tools[at].time_s += seconds;
    }
    for tool in &mut tools {
        tool.feed_attainment = (tool.cutting_s > 0.0).then(|| tool.programmed_s / tool.cutting_s);
    }
    // without a tool the spindle only travels to its first change
    tools.retain(|t| t.number > 0 || t.cutting_s > 0.0);
    tools
}

/// Time at feed with a standing spindle or no tool, s.
fn air_s(program: &Program, account: &TrackAccount) -> Option<f64> {
    let track = &program.track;
    let mut waits = track.waits.iter().peekable();
    let (mut rpm, mut air_s, mut known) = (0.0, 0.0, false);
    for (index, (step, taken)) in track.moves.iter().zip(&account.moves).enumerate() {
        while let Some(wait) = waits.next_if(|w| w.after <= index) {
            match wait.event {
                machine::Event::Spindle { to_rpm, .. } => rpm = to_rpm,
                machine::Event::ToolChange => rpm = 0.0,
                _ => {}
            }
        }
        if step.feed != Feed::Rapid && (rpm == 0.0 || step.tool == 0) {
            known = true;
            air_s += taken.time_s;
        }
    }
    known.then_some(air_s)
}
