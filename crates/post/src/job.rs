//! What a process comes down to on a machine.

use machine::Track;
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
    /// Auxiliary word that switches coolant on: 7 or 8; `None`: dry.
    pub coolant: Option<u32>,
    /// Time by the machine's model, s.
    pub predicted_s: f64,
    /// Its moves; the first goes from the start to where the operation begins.
    pub track: Track,
}

/// A process on a machine.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// Name of the study and the process.
    pub title: String,
    /// Name of the machine.
    pub machine: String,
    /// Letters of the rotary axes in the order of the layout, and their sense (1 or −1).
    pub rotary: Vec<(&'static str, f64)>,
    /// Height over program zero at which tools come and go, mm.
    pub safe_z_mm: f64,
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
}

impl fmt::Display for Refused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "operation \"{}\": {}", self.operation, self.why)
    }
}

impl std::error::Error for Refused {}
