//! Rules in which controls differ, apart from their words.

/// How comments stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Comments {
    /// In parentheses; a semicolon, too, begins one.
    Parentheses,
    /// From a semicolon to the end of the line.
    Semicolon,
}

/// What a length without a decimal point means.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PointRule {
    /// Whole mm (or inches); the reader warns that other controls take it otherwise.
    WholeWarned,
    /// Whole mm (or inches).
    Whole,
    /// Steps of this many mm; a tenth of it in inches where those hold.
    Steps(f64),
}

/// When the tool in the spindle changes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ToolCall {
    /// Where the change word stands, to the tool of the last T word.
    ByChangeWord,
    /// Where the T word stands.
    ByTool,
}

/// Where fixed cycles are run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CycleRun {
    /// In every block with axis words from the cycle's own block on.
    EveryPlace,
    /// Only in blocks with the word of [`GCode::CycleCall`].
    Called,
}

/// What R and the drilling axis' word of a cycle are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CycleDepth {
    /// Places under absolute words, distances under incremental ones.
    Places,
    /// R is the place of the start level, the axis' word the depth below it.
    BelowStart,
}

/// What I, J and K count from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Centre {
    /// The start of the arc, always.
    FromStart,
    /// Program zero under absolute words, the start under incremental ones.
    AsWords,
}

/// What X, Y and Z of a five-axis program are where nothing else is said.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Words {
    /// The tip in the part's frame.
    Tip,
    /// Positions of the axes.
    Axes,
}

/// How a letter of a dwell counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DwellUnit {
    /// Seconds.
    Seconds,
    /// Milliseconds as a whole number, seconds with a point.
    MillisOrSeconds,
    /// Milliseconds.
    Millis,
}

/// How the writer says where the centre of an arc is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ArcWords {
    /// By I, J and K, which count from where [`Centre`] says.
    Centre,
    /// By R, for arcs of less than half a turn; longer ones are divided.
    Radius,
    /// Not at all: arcs are written as straight moves.
    Straight,
}

/// M words of the coolants.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CoolantWords {
    /// From outside.
    pub flood: u16,
    /// Mist.
    pub mist: u16,
    /// Air.
    pub air: u16,
    /// Through the spindle.
    pub through: u16,
    /// All of them off.
    pub off: u16,
}
