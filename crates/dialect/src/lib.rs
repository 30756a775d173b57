//! A dialect of NC programs (ISO 6983) as plain data: which words a control uses for what, the same
//! for reading and for writing. Nothing is read or written here.

mod code;
mod packaged;
mod rule;
pub mod variables;
pub mod words;

pub use code::{Cycle, GCode, MCode};
pub use rule::{
    ArcWords, Centre, Comments, CoolantWords, CycleDepth, CycleRun, DwellUnit, PointRule, ToolCall,
    Words,
};
pub use variables::{AngleRange, Variables};

/// Which words a control uses for what.
#[derive(Debug, Clone, PartialEq)]
pub struct Dialect {
    /// Its name: `a`, `b`, or the file's.
    pub name: String,
    /// How comments stand.
    pub comments: Comments,
    /// Whether `=` may stand between a letter and its number.
    pub equals: bool,
    /// Character before the number of a program or subprogram.
    pub program_mark: char,
    /// What a length without a point means.
    pub point: PointRule,
    /// When the tool changes.
    pub tool_call: ToolCall,
    /// Where cycles are run.
    pub cycle_run: CycleRun,
    /// What R and the depth of a cycle are.
    pub cycle_depth: CycleDepth,
    /// How far above the last depth a peck turns from rapid to feed, mm.
    pub peck_clearance_mm: f64,
    /// How far a chip-breaking peck goes back, mm.
    pub chip_break_mm: f64,
    /// What I, J, K count from.
    pub centre: Centre,
    /// How far the end of an arc may miss its circle, mm.
    pub arc_tolerance_mm: f64,
    /// What X, Y, Z are where nothing else is said.
    pub words: Words,
    /// Letters of a dwell and their units, the first that stands counts.
    pub dwell: Vec<(char, DwellUnit)>,
    /// Unit of P in a cycle.
    pub cycle_dwell: DwellUnit,
    /// Letter that says how often a subprogram is run.
    pub repeat: char,
    /// Largest number of calls inside each other.
    pub nesting: usize,
    /// G words, in tenths (`G43.4` is 434), and what they do; of several for the same, the first is
    /// written.
    pub g: Vec<(u16, GCode)>,
    /// M words and what they do; others are listed as not understood.
    pub m: Vec<(u16, MCode)>,
    /// G words, in tenths, that are known but not followed, and what they do, for people.
    pub refused: Vec<(u16, String)>,
    /// Variables, expressions, loops and jumps; `None`: the control has none that are followed.
    pub variables: Option<Variables>,
    /// What local M words mean, for people.
    pub meanings: Vec<(u16, String)>,
    /// Letter of the number of a tool's length, after the word of [`GCode::LengthOn`] or
    /// [`GCode::TipOn`]; `None`: the tool call brings its length.
    pub length_letter: Option<char>,
    /// How arcs are written.
    pub arcs: ArcWords,
    /// M words of the coolants.
    pub coolant: CoolantWords,
    /// Number that a program is written with; `None`: none.
    pub program_number: Option<u32>,
    /// Whether a program is written between two lines of `%`.
    pub tape: bool,
    /// Step of the block numbers of a written program; 0: only operations are numbered.
    pub block_step: u32,
    /// Decimals of lengths in a written program.
    pub length_decimals: u8,
    /// Decimals of angles in a written program.
    pub angle_decimals: u8,
}

impl Default for Dialect {
    fn default() -> Self {
        Self::a()
    }
}
