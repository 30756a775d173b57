//! What a process comes down to on a machine.

use geom::Vec3;
use machine::{Machine, Track};
use std::fmt;

/// A tool of the list.
#[derive(Debug, Clone, PartialEq)]
pub struct Tool {
    /// Its number.
    pub number: u32,
    /// What it is, for people.
    pub words: String,
    /// From the spindle nose to the tip, mm.
    pub length_mm: f64,
    /// Largest radius of cutter, shank and holder, mm.
    pub radius_mm: f64,
}

/// What cools an operation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Coolant {
    /// From outside.
    Flood,
    /// Mist.
    Mist,
    /// Air.
    Air,
    /// Through the spindle.
    Through,
}

/// One operation.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// Its name.
    pub name: String,
    /// Index of its tool in the list.
    pub tool: usize,
    /// Spindle speed, rev/min.
    pub rpm: f64,
    /// What is switched on for it; `None`: dry.
    pub coolant: Option<Coolant>,
    /// Time by the machine's model, s.
    pub predicted_s: f64,
    /// Its moves, tips in program coordinates; the first goes from the start to where it begins.
    pub track: Track,
    /// Indices of moves before which the program shall be enterable, rising.
    pub restarts: Vec<usize>,
    /// How far an arc may leave the ends of the straight moves that it stands for, and by how much
    /// more than half-way its chords, mm; 0: no arcs are fitted.
    pub arc_mm: f64,
    /// How far the tip may leave its straight moves where axis positions are written, mm.
    pub chord_mm: f64,
}

/// Where part, stock and clamps stand and where anything is cut: a box in program coordinates, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Zone {
    /// Lower corner.
    pub low: Vec3,
    /// Upper corner.
    pub high: Vec3,
}

impl Zone {
    /// The smallest box around points; `None` where there are none.
    pub fn around(points: impl IntoIterator<Item = Vec3>) -> Option<Self> {
        points.into_iter().fold(None, |zone, p| {
            let one = Self { low: p, high: p };
            Some(zone.map_or(one, |z: Self| Self { low: z.low.min(p), high: z.high.max(p) }))
        })
    }

    /// The corners.
    pub fn corners(&self) -> [Vec3; 8] {
        std::array::from_fn(|i| {
            let pick = |k: usize| if i >> k & 1 == 0 { self.low[k] } else { self.high[k] };
            Vec3::new(pick(0), pick(1), pick(2))
        })
    }
}

/// A process on a machine.
#[derive(Debug, Clone, PartialEq)]
pub struct Job<'a> {
    /// Name of the study and the process.
    pub title: String,
    /// The machine.
    pub machine: &'a Machine,
    /// What tools have to keep clear of when they come and go.
    pub zone: Zone,
    /// By how much they do, beside their own radius, mm.
    pub clear_mm: f64,
    /// The tools.
    pub tools: Vec<Tool>,
    /// The operations, in order.
    pub pieces: Vec<Piece>,
}

/// Why a job cannot be written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused {
    /// Which operation.
    pub operation: String,
    /// What is in the way.
    pub why: String,
    /// What to do.
    pub remedy: String,
}

impl fmt::Display for Refused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "operation \"{}\": {}; {}", self.operation, self.why, self.remedy)
    }
}

impl std::error::Error for Refused {}
