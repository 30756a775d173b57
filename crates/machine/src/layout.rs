//! Which axes a machine has and what each carries: `XYZ`, `XYZ-AC`, `XYZ+BC`, `XYZ-C+B`.
//!
//! Letters after `-` turn the table, letters after `+` turn the head. Within a group the last letter
//! is the one next to the part on a table (`-AC`: A carries C) and next to the frame on a head
//! (`+AC`: C carries A).

use crate::MachineError;
use geom::Vec3;
use std::fmt;

/// One axis of a machine, named as in ISO 841.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum AxisName {
    /// Linear along x.
    X,
    /// Linear along y.
    Y,
    /// Linear along z, the spindle's direction at rest.
    Z,
    /// Rotary about x.
    A,
    /// Rotary about y.
    B,
    /// Rotary about z.
    C,
}

impl AxisName {
    /// Whether the axis turns.
    pub fn is_rotary(self) -> bool {
        matches!(self, Self::A | Self::B | Self::C)
    }

    /// Direction of a linear axis or axis of rotation of a rotary one.
    pub fn direction(self) -> Vec3 {
        match self {
            Self::X | Self::A => Vec3::X,
            Self::Y | Self::B => Vec3::Y,
            Self::Z | Self::C => Vec3::Z,
        }
    }

    /// From its letter, either case.
    pub fn from_letter(letter: char) -> Option<Self> {
        match letter.to_ascii_uppercase() {
            'X' => Some(Self::X),
            'Y' => Some(Self::Y),
            'Z' => Some(Self::Z),
            'A' => Some(Self::A),
            'B' => Some(Self::B),
            'C' => Some(Self::C),
            _ => None,
        }
    }

    /// Its letter.
    pub fn letter(self) -> &'static str {
        match self {
            Self::X => "X",
            Self::Y => "Y",
            Self::Z => "Z",
            Self::A => "A",
            Self::B => "B",
            Self::C => "C",
        }
    }
}

impl fmt::Display for AxisName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.letter())
    }
}

/// Rotary axes of a machine, each list in the order in which the rotation acts, counted from the
/// part for tables and from the frame for heads.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Layout {
    /// Rotary axes under the part, the one next to the part first.
    pub table: Vec<AxisName>,
    /// Rotary axes that carry the spindle, the one next to the frame first.
    pub head: Vec<AxisName>,
}

const EXPECTED: &str = "XYZ, XYZ-AC, XYZ-BC, XYZ+AC, XYZ+BC or a mix such as XYZ-C+B";
const REMEDY: &str = "write the rotary axes under the part after -, those in the head after +";

fn bad(found: &str, why: &str) -> MachineError {
    MachineError::wrong("layout", format!("\"{found}\" ({why})"), EXPECTED, REMEDY)
}

impl Layout {
    /// From the text of a machine file.
    pub fn parse(text: &str) -> Result<Self, MachineError> {
        let letters = text.trim().to_ascii_uppercase();
        let rest = letters
            .strip_prefix("XYZ")
            .ok_or_else(|| bad(text, "it does not begin with the three linear axes"))?;
        let mut layout = Self::default();
        let mut group = None;
        for letter in rest.chars() {
            match letter {
                '-' | '+' => group = Some(letter),
                _ => layout.add(text, group, letter)?,
            }
        }
        layout.table.reverse();
        layout.head.reverse();
        layout.check(text)?;
        Ok(layout)
    }

    fn add(&mut self, text: &str, group: Option<char>, letter: char) -> Result<(), MachineError> {
        let axis = AxisName::from_letter(letter)
            .filter(|a| a.is_rotary())
            .ok_or_else(|| bad(text, &format!("`{letter}` is not one of A, B, C")))?;
        if self.rotary().any(|a| a == axis) {
            return Err(bad(text, &format!("`{letter}` stands twice")));
        }
        match group {
            Some('-') => self.table.push(axis),
            Some(_) => self.head.push(axis),
            None => return Err(bad(text, "a rotary axis follows no - or +")),
        }
        Ok(())
    }

    fn check(&self, text: &str) -> Result<(), MachineError> {
        if self.table.len() + self.head.len() > 2 {
            return Err(bad(text, "more than two rotary axes"));
        }
        let inner_c = |group: &[AxisName]| group.len() == 2 && group[1] == AxisName::C;
        if inner_c(&self.table) || inner_c(&self.head) {
            return Err(bad(text, "C must come last in its group, else it only turns the spindle"));
        }
        if text.trim().ends_with(['-', '+']) {
            return Err(bad(text, "a sign without an axis"));
        }
        Ok(())
    }

    /// All rotary axes in the order in which they act on the tool axis, from the part outwards.
    pub fn rotary(&self) -> impl Iterator<Item = AxisName> {
        self.table.iter().chain(&self.head).copied()
    }

    /// All axes: X, Y, Z, then the rotary ones in the order of [`Layout::rotary`].
    pub fn axes(&self) -> impl Iterator<Item = AxisName> {
        [AxisName::X, AxisName::Y, AxisName::Z].into_iter().chain(self.rotary())
    }
}

impl fmt::Display for Layout {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("XYZ")?;
        for (sign, group) in [("-", &self.table), ("+", &self.head)] {
            if !group.is_empty() {
                f.write_str(sign)?;
            }
            group.iter().rev().try_for_each(|a| f.write_str(a.letter()))?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_tables_heads_and_mixes() {
        for text in ["XYZ", "XYZ-AC", "XYZ-BC", "XYZ+AC", "XYZ+BC", "XYZ-B+C", "XYZ-C+B", "XYZ-A"] {
            assert_eq!(Layout::parse(text).unwrap().to_string(), text);
        }
        let table = Layout::parse("xyz-ac").unwrap();
        assert_eq!(table.table, [AxisName::C, AxisName::A], "C lies next to the part");
    }

    #[test]
    fn refuses_what_no_machine_is() {
        for text in ["", "XY", "XYZAC", "XYZ-", "XYZ-AX", "XYZ-AA", "XYZ-ABC", "XYZ-CA", "XYZ-A+A"]
        {
            let message = Layout::parse(text).unwrap_err().to_string();
            assert!(message.contains("layout") && message.contains("XYZ-AC"), "{message}");
        }
    }
}
