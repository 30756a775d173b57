//! The dialects that come with the program.

use crate::{
    ArcWords, Centre, Comments, CoolantWords, Cycle, CycleDepth, CycleRun, Dialect, DwellUnit,
    GCode, MCode, PointRule, ToolCall, Variables, Words,
};

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
    (30, MCode::End),
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
    (98, MCode::Call),
    (99, MCode::Return),
];

/// Known in dialect `a`, and not followed (from memory, common practice).
const REFUSED: &[(u16, &str)] = &[
    (71, "turns a plane round a cylinder"),
    (100, "sets data of the control"),
    (110, "sets data of the control"),
    (121, "turns words into polar ones of a rotary axis"),
    (160, "makes words polar"),
    (310, "ends its move where a probe says so"),
    (330, "cuts a thread in step with the spindle"),
    (435, "gives the tool axis as a vector"),
    (510, "scales the path"),
    (511, "mirrors the path"),
    (600, "comes to its place from one side"),
    (660, "calls a macro after every move"),
    (661, "calls a macro in every block"),
    (682, "turns the coordinates in space by angles of the control's own"),
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
            (650, GCode::MacroCall),
            (670, GCode::Nothing),
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
            refused: REFUSED.iter().map(|(code, does)| (*code, (*does).to_owned())).collect(),
            variables: Some(Variables::default()),
            meanings: Vec::new(),
            length_letter: Some('H'),
            arcs: ArcWords::Centre,
            coolant: CoolantWords { flood: 8, mist: 7, air: 7, through: 8, off: 9 },
            program_number: None,
            tape: true,
            block_step: 0,
            length_decimals: 4,
            angle_decimals: 5,
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
            length_letter: None,
            refused: Vec::new(),
            variables: None,
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
