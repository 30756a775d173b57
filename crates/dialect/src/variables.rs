//! Variables of programs: which numbers mean what, and how a control counts with them.

/// Variables, expressions, loops and jumps as a control has them.
#[derive(Debug, Clone, PartialEq)]
pub struct Variables {
    /// Largest number of the local variables, which every macro call has anew; they begin at 1.
    pub local_to: u32,
    /// First and last numbers of variables that all programs share and that hold nothing at first.
    pub common: Vec<[u32; 2]>,
    /// Numbers that all programs share and that the control keeps when it is switched off: what they
    /// hold is not in a program that only reads them.
    pub kept: Vec<[u32; 2]>,
    /// From this number on variables are the control's own: places, offsets, clocks, modal words.
    pub system_from: u32,
    /// Variable of the control that stops the program with an alarm when it is set.
    pub alarm: Option<u32>,
    /// Variables that the letters of a macro call fill.
    pub arguments: Vec<(char, u32)>,
    /// Range of the inverse tangent of two operands.
    pub angles: AngleRange,
    /// Numbers that differ by less than this share of the larger one, or of 1, count as equal.
    pub equal_within: f64,
}

/// Range of the inverse tangent of two operands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AngleRange {
    /// From 0 to 360 degrees.
    Full,
    /// From -180 to 180 degrees.
    Halves,
}

impl Default for Variables {
    /// The numbers that most controls with such variables share (from memory, common practice).
    fn default() -> Self {
        let arguments = [
            ('A', 1),
            ('B', 2),
            ('C', 3),
            ('D', 7),
            ('E', 8),
            ('F', 9),
            ('H', 11),
            ('I', 4),
            ('J', 5),
            ('K', 6),
            ('M', 13),
            ('Q', 17),
            ('R', 18),
            ('S', 19),
            ('T', 20),
            ('U', 21),
            ('V', 22),
            ('W', 23),
            ('X', 24),
            ('Y', 25),
            ('Z', 26),
        ];
        Self {
            local_to: 33,
            common: vec![[100, 199]],
            kept: vec![[500, 999]],
            system_from: 1000,
            alarm: Some(3000),
            arguments: arguments.to_vec(),
            angles: AngleRange::Full,
            equal_within: 1e-9,
        }
    }
}

/// What a number of a variable stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Always holds nothing.
    Vacant,
    /// Of one macro call.
    Local,
    /// Of all programs, empty at first.
    Common,
    /// Of all programs, kept by the control.
    Kept,
    /// The control's own.
    System,
    /// No control of this dialect has it.
    Missing,
}

impl Variables {
    /// What `number` stands for.
    pub fn kind(&self, number: u32) -> Kind {
        let within = |ranges: &[[u32; 2]]| ranges.iter().any(|[a, b]| (*a..=*b).contains(&number));
        if number == 0 {
            Kind::Vacant
        } else if number <= self.local_to {
            Kind::Local
        } else if within(&self.common) {
            Kind::Common
        } else if within(&self.kept) {
            Kind::Kept
        } else if number >= self.system_from {
            Kind::System
        } else {
            Kind::Missing
        }
    }

    /// The numbers of variables that a program may set, for people.
    pub fn listed(&self) -> String {
        let ranges = self.common.iter().chain(&self.kept).map(|[a, b]| format!("#{a} to #{b}"));
        let mut all = vec![format!("#1 to #{}", self.local_to)];
        all.extend(ranges);
        all.join(", ")
    }

    /// The variable that a letter of a macro call fills.
    pub fn argument(&self, letter: u8) -> Option<u32> {
        let letter = char::from(letter);
        self.arguments.iter().find(|(known, _)| *known == letter).map(|(_, number)| *number)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_one_kind_each() {
        let rules = Variables::default();
        for (number, kind) in [
            (0, Kind::Vacant),
            (1, Kind::Local),
            (33, Kind::Local),
            (34, Kind::Missing),
            (100, Kind::Common),
            (199, Kind::Common),
            (200, Kind::Missing),
            (500, Kind::Kept),
            (999, Kind::Kept),
            (1000, Kind::System),
            (5021, Kind::System),
        ] {
            assert_eq!(rules.kind(number), kind, "#{number}");
        }
    }

    #[test]
    fn every_argument_is_a_local_variable_of_its_own() {
        let rules = Variables::default();
        let mut numbers: Vec<u32> = rules.arguments.iter().map(|(_, n)| *n).collect();
        numbers.sort_unstable();
        assert!(numbers.windows(2).all(|w| w[0] < w[1]));
        assert!(numbers.iter().all(|n| rules.kind(*n) == Kind::Local));
        assert_eq!(rules.argument(b'X'), Some(24));
        assert_eq!(rules.argument(b'G'), None);
        assert_eq!(rules.listed(), "#1 to #33, #100 to #199, #500 to #999");
    }
}
