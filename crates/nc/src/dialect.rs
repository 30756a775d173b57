//! A dialect as plain data: which words a control uses for what.

/// What a G word does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GCode {
    /// Moves that follow are rapids.
    Rapid,
    /// Moves that follow are straight, at feed.
    Line,
    /// Arcs, clockwise seen against the axis of the plane.
    ArcClockwise,
    /// Arcs, counter-clockwise.
    ArcCounter,
    /// Dwell.
    Dwell,
    /// Arcs in XY, ZX or YZ: the index of the axis that stands on the plane.
    Plane(u8),
    /// Lengths are inches.
    Inch,
    /// Lengths are mm.
    Metric,
    /// To the reference point over the point of the block.
    Reference,
    /// To the second reference point, which is taken as the first and said so.
    SecondReference,
    /// Radius compensation off.
    RadiusOff,
    /// Radius compensation on: not followed, said so.
    RadiusOn,
    /// Length compensation on: words are the tip's already.
    LengthOn,
    /// Length compensation off.
    LengthOff,
    /// Tip control on.
    TipOn,
    /// Tip control off.
    TipOff,
    /// This block is in machine coordinates.
    MachineCoordinates,
    /// Program zero of this number, 1 for the first.
    WorkOffset(u8),
    /// Program zero shifted by the words of this block.
    LocalShift,
    /// The place where the machine stands gets the words of this block.
    SetPosition,
    /// The axes stand still at the end of this block.
    StopOnce,
    /// The axes stand still at the end of every block.
    StopAlways,
    /// Corners are driven through.
    Through,
    /// The plane's coordinates are turned.
    TurnOn,
    /// They are no longer turned.
    TurnOff,
    /// A fixed cycle.
    Cycle(Cycle),
    /// No fixed cycle any more.
    CycleOff,
    /// The fixed cycle is run at the place of this block.
    CycleCall,
    /// Cycles retract to the level from which they began.
    ReturnFar,
    /// Cycles retract to the level of R.
    ReturnNear,
    /// Words are places.
    Absolute,
    /// Words are distances.
    Incremental,
    /// F is the time of a block, 1/min.
    InverseTime,
    /// F is mm/min.
    PerMinute,
    /// F is mm a revolution.
    PerRevolution,
    /// Changes nothing that matters here.
    Nothing,
    /// Changes how the control drives, not the path; said so.
    Drives,
}

/// Fixed cycles.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cycle {
    /// Down at feed, up at rapid.
    Drill,
    /// The same with a dwell at the bottom.
    DrillDwell,
    /// In pecks, out of the hole after each.
    Peck,
    /// In pecks, a little back after each.
    ChipBreak,
    /// Tapping: in, spindle reversed, out.
    Tap,
    /// In and out at feed.
    Bore,
    /// In at feed, spindle stopped, out at rapid.
    BoreStop,
    /// In at feed, spindle oriented, off the wall by Q, out at rapid.
    BoreOrient,
    /// From below: through the hole beside the wall, up at feed.
    BoreBack,
    /// In at feed, dwell, spindle stopped, out by hand (taken as a rapid).
    BoreHand,
    /// In at feed, dwell, out at feed.
    BoreDwell,
}

/// What an M word does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MCode {
    /// Stop; restarted at once.
    Stop,
    /// End of the program.
    End,
    /// Spindle clockwise.
    SpindleClockwise,
    /// Spindle counter-clockwise.
    SpindleCounter,
    /// Spindle off.
    SpindleOff,
    /// Change to the tool of the last T word.
    ToolChange,
    /// Call of a subprogram.
    Call,
    /// End of a subprogram.
    Return,
    /// Tip control on.
    TipOn,
    /// Tip control off.
    TipOff,
    /// Coolant, clamps and the like: takes the time that the machine file gives it.
    Auxiliary,
}

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
    /// G words, in tenths (`G43.4` is 434), and what they do.
    pub g: Vec<(u16, GCode)>,
    /// M words and what they do; others are listed as not understood.
    pub m: Vec<(u16, MCode)>,
}

const SHARED_G: &[(u16, GCode)] = &[
    (0, GCode::Rapid),
    (10, GCode::Line),
    (20, GCode::ArcClockwise),
    (30, GCode::ArcCounter),
    (40, GCode::Dwell),
    (90, GCode::StopOnce),
    (170, GCode::Plane(2)),
    (180, GCode::Plane(1)),
    (190, GCode::Plane(0)),
    (280, GCode::Reference),
    (300, GCode::SecondReference),
    (400, GCode::RadiusOff),
    (410, GCode::RadiusOn),
    (420, GCode::RadiusOn),
    (530, GCode::MachineCoordinates),
    (540, GCode::WorkOffset(1)),
    (550, GCode::WorkOffset(2)),
    (560, GCode::WorkOffset(3)),
    (570, GCode::WorkOffset(4)),
    (580, GCode::WorkOffset(5)),
    (590, GCode::WorkOffset(6)),
    (640, GCode::Through),
    (800, GCode::CycleOff),
    (810, GCode::Cycle(Cycle::Drill)),
    (820, GCode::Cycle(Cycle::DrillDwell)),
    (830, GCode::Cycle(Cycle::Peck)),
    (840, GCode::Cycle(Cycle::Tap)),
    (850, GCode::Cycle(Cycle::Bore)),
    (860, GCode::Cycle(Cycle::BoreStop)),
    (870, GCode::Cycle(Cycle::BoreBack)),
    (880, GCode::Cycle(Cycle::BoreHand)),
    (890, GCode::Cycle(Cycle::BoreDwell)),
    (900, GCode::Absolute),
    (910, GCode::Incremental),
    (930, GCode::InverseTime),
    (940, GCode::PerMinute),
    (950, GCode::PerRevolution),
];

const SHARED_M: &[(u16, MCode)] = &[
    (0, MCode::Stop),
    (1, MCode::Stop),
    (2, MCode::End),
    (3, MCode::SpindleClockwise),
    (4, MCode::SpindleCounter),
    (5, MCode::SpindleOff),
    (6, MCode::ToolChange),
    (7, MCode::Auxiliary),
    (8, MCode::Auxiliary),
    (9, MCode::Auxiliary),
    (10, MCode::Auxiliary),
    (11, MCode::Auxiliary),
    (19, MCode::Auxiliary),
    (30, MCode::End),
    (98, MCode::Call),
    (99, MCode::Return),
];

impl Dialect {
    /// Comments in parentheses, M6 after T, cycles at every place, tip control as the rule.
    pub fn a() -> Self {
        let own = [
            (50, GCode::Drives),
            (51, GCode::Drives),
            (80, GCode::Drives),
            (150, GCode::Nothing),
            (200, GCode::Inch),
            (210, GCode::Metric),
            (430, GCode::LengthOn),
            (434, GCode::TipOn),
            (440, GCode::LengthOn),
            (490, GCode::LengthOff),
            (500, GCode::Nothing),
            (501, GCode::Nothing),
            (520, GCode::LocalShift),
            (610, GCode::StopAlways),
            (680, GCode::TurnOn),
            (690, GCode::TurnOff),
            (730, GCode::Cycle(Cycle::ChipBreak)),
            (740, GCode::Cycle(Cycle::Tap)),
            (760, GCode::Cycle(Cycle::BoreOrient)),
            (920, GCode::SetPosition),
            (980, GCode::ReturnFar),
            (990, GCode::ReturnNear),
        ];
        Self {
            name: "a".into(),
            comments: Comments::Parentheses,
            equals: false,
            program_mark: 'O',
            point: PointRule::WholeWarned,
            tool_call: ToolCall::ByChangeWord,
            cycle_run: CycleRun::EveryPlace,
            cycle_depth: CycleDepth::Places,
            peck_clearance_mm: 1.0,
            chip_break_mm: 1.0,
            centre: Centre::FromStart,
            arc_tolerance_mm: 0.02,
            words: Words::Tip,
            dwell: vec![
                ('X', DwellUnit::Seconds),
                ('U', DwellUnit::Seconds),
                ('P', DwellUnit::MillisOrSeconds),
            ],
            cycle_dwell: DwellUnit::MillisOrSeconds,
            repeat: 'L',
            nesting: 16,
            g: SHARED_G.iter().copied().chain(own).collect(),
            m: SHARED_M.to_vec(),
        }
    }

    /// Comments after a semicolon, `=` allowed, a tool changes where it is named, cycles are called,
    /// centres as the words are, tip control by M words.
    pub fn b() -> Self {
        let own = [
            (600, GCode::StopAlways),
            (610, GCode::StopAlways),
            (700, GCode::Inch),
            (710, GCode::Metric),
            (790, GCode::CycleCall),
            (920, GCode::LocalShift),
        ];
        let tip = [(80, MCode::TipOn), (81, MCode::TipOff)];
        Self {
            name: "b".into(),
            comments: Comments::Semicolon,
            equals: true,
            program_mark: ':',
            point: PointRule::Whole,
            tool_call: ToolCall::ByTool,
            cycle_run: CycleRun::Called,
            cycle_depth: CycleDepth::BelowStart,
            centre: Centre::AsWords,
            words: Words::Axes,
            dwell: vec![('F', DwellUnit::Seconds)],
            cycle_dwell: DwellUnit::Seconds,
            g: SHARED_G.iter().copied().chain(own).collect(),
            m: SHARED_M.iter().copied().chain(tip).collect(),
            ..Self::a()
        }
    }

    /// The packaged dialect of that name.
    pub fn named(name: &str) -> Option<Self> {
        match name {
            "a" => Some(Self::a()),
            "b" => Some(Self::b()),
            _ => None,
        }
    }
}

impl Default for Dialect {
    fn default() -> Self {
        Self::a()
    }
}
