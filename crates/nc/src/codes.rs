//! The codes of a dialect as tables that answer at once, and the groups of which a block may hold
//! one word each.

use crate::dialect::{Dialect, GCode, MCode};

/// Codes by number.
#[derive(Debug, Clone)]
pub(crate) struct Codes {
    g: Vec<Option<GCode>>,
    m: Vec<Option<MCode>>,
}

impl Codes {
    pub(crate) fn of(dialect: &Dialect) -> Self {
        Self { g: table(&dialect.g), m: table(&dialect.m) }
    }

    /// What a G word in tenths does.
    pub(crate) fn g(&self, tenths: u16) -> Option<GCode> {
        self.g.get(usize::from(tenths)).copied().flatten()
    }

    /// The G word in tenths that calls a macro.
    pub(crate) fn macro_call(&self) -> Option<u16> {
        let at = self.g.iter().position(|does| *does == Some(GCode::MacroCall))?;
        u16::try_from(at).ok()
    }

    /// What an M word does.
    pub(crate) fn m(&self, number: u16) -> Option<MCode> {
        self.m.get(usize::from(number)).copied().flatten()
    }
}

fn table<T: Copy>(list: &[(u16, T)]) -> Vec<Option<T>> {
    let size = list.iter().map(|(code, _)| usize::from(*code) + 1).max().unwrap_or(0);
    let mut table = vec![None; size];
    for (code, does) in list {
        table[usize::from(*code)] = Some(*does);
    }
    table
}

/// Group of a G word, as a bit; words of one group exclude each other in a block.
pub(crate) fn group(code: GCode) -> u32 {
    let index = match code {
        GCode::Rapid | GCode::Line | GCode::ArcClockwise | GCode::ArcCounter | GCode::Cycle(_) => 0,
        // what takes the words of the block for itself
        GCode::Dwell
        | GCode::Reference
        | GCode::SecondReference
        | GCode::LocalShift
        | GCode::SetPosition
        | GCode::TurnOn
        | GCode::Tilt
        | GCode::MacroCall => 1,
        GCode::Plane(_) => 2,
        GCode::Inch | GCode::Metric => 3,
        GCode::RadiusOff | GCode::RadiusOn => 4,
        GCode::LengthOn | GCode::LengthOff | GCode::TipOn | GCode::TipOff => 5,
        GCode::WorkOffset(_) => 6,
        GCode::StopAlways | GCode::Through => 7,
        GCode::ReturnFar | GCode::ReturnNear => 8,
        GCode::Absolute | GCode::Incremental => 9,
        GCode::InverseTime | GCode::PerMinute | GCode::PerRevolution => 10,
        // those may stand beside any other
        GCode::MachineCoordinates
        | GCode::StopOnce
        | GCode::CycleOff
        | GCode::CycleCall
        | GCode::TurnOff
        | GCode::Nothing
        | GCode::Drives => return 0,
    };
    1 << index
}
