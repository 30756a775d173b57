//! What a reader is given and what it gives back.

use crate::dialect::Dialect;
use crate::fault::{Fault, Unread};
use crate::run::Reader;
use geom::Vec3;
use machine::{Machine, Track};

/// What the program itself does not say.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadOptions {
    /// Blocks with a block delete are left out: the switch is on.
    pub block_delete: bool,
    /// Program zeros of G54 and its followers in the coordinates of the first one that the program
    /// uses, mm; an offset that is not known may only be used alone.
    pub offsets_mm: Vec<(u8, Vec3)>,
    /// Numbers of the tools that there are; `None`: not known.
    pub tools: Option<Vec<u32>>,
    /// Radius offsets by the number of D, mm.
    pub radius_offsets_mm: Vec<(u32, f64)>,
    /// What variables hold that the program reads and does not set, by number.
    pub variables: Vec<(u32, f64)>,
    /// Most blocks that are run, calls and loops repeated, a long line counted as several; a program
    /// beyond is refused as endless.
    pub most_blocks: u64,
}

impl Default for ReadOptions {
    fn default() -> Self {
        Self {
            block_delete: false,
            offsets_mm: Vec::new(),
            tools: None,
            radius_offsets_mm: Vec::new(),
            variables: Vec::new(),
            most_blocks: 20_000_000,
        }
    }
}

/// A program that was read.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Program {
    /// Its motion; `block` of moves and waits is the line, from 1.
    pub track: Track,
    /// Blocks that are run, each time anew where they are called again.
    pub blocks: u64,
    /// What was not followed, and what was followed with a reservation, by line.
    pub unread: Vec<Unread>,
    /// The first comments of the program, by line.
    pub comments: Vec<(u32, String)>,
    /// Numbers of the tools that are called, in order of their first call.
    pub tools: Vec<u32>,
}

/// The same program with line feeds where its lines end with carriage returns alone; every byte keeps
/// its place.
pub fn with_line_feeds(mut bytes: Vec<u8>) -> Vec<u8> {
    if !bytes.contains(&b'\n') {
        bytes.iter_mut().filter(|b| **b == b'\r').for_each(|b| *b = b'\n');
    }
    bytes
}

/// Reads a program for `machine`. Lines end with a line feed, with or without a carriage return; see
/// [`with_line_feeds`] for others.
///
/// # Errors
/// What could change the path, place by place; never empty.
pub fn read(
    bytes: &[u8],
    dialect: &Dialect,
    machine: &Machine,
    options: &ReadOptions,
) -> Result<Program, Vec<Fault>> {
    Reader::new(bytes, dialect, machine, options).read()
}
