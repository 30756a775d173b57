//! Why a part file cannot be used: the place, what was expected, what to do.

use crate::format::Format;
use std::fmt;

/// A place in a part file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Place {
    /// The file as a whole.
    Whole,
    /// A line of a text file, counted from 1.
    Line(usize),
    /// An offset in bytes from the start of a binary file.
    Byte(usize),
    /// A numbered entity of an exact file.
    Entity(u64),
    /// A named part inside a packed file.
    Inside(String),
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Whole => Ok(()),
            Self::Line(n) => write!(f, ", line {n}"),
            Self::Byte(n) => write!(f, ", byte {n}"),
            Self::Entity(n) => write!(f, ", entity #{n}"),
            Self::Inside(name) => write!(f, ", in {name}"),
        }
    }
}

/// A part file that cannot be used.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ReadError {
    /// The file has no bytes.
    #[error(
        "{file}: the file is empty; expected a part (STEP, STL, OBJ, PLY or 3MF): export it again"
    )]
    Empty {
        /// Name of the file.
        file: String,
    },
    /// Neither content nor name says what kind of file it is.
    #[error(
        "{file}: neither the content nor the name says what kind of part this is; expected STEP, \
         STL, OBJ, PLY or 3MF: export it again in one of these"
    )]
    UnknownFormat {
        /// Name of the file.
        file: String,
    },
    /// The name ends as one format's does, the content is another's.
    #[error(
        "{file}: the content is {content}, the name says {named}; expected the two to agree: give \
         the file its right ending, or export it again"
    )]
    WrongEnding {
        /// Name of the file.
        file: String,
        /// What the content is.
        content: Format,
        /// What the name says, as a format's ending.
        named: String,
    },
    /// The file ends, or says something, where the format expects something else.
    #[error("{file}{place}: {found}, expected {expected}; {remedy}")]
    Malformed {
        /// Name of the file.
        file: String,
        /// Where.
        place: Place,
        /// What stands there.
        found: String,
        /// What was expected there.
        expected: String,
        /// What to do about it.
        remedy: String,
    },
    /// A coordinate that is no length of a part.
    #[error(
        "{file}{place}: {}, expected at most {largest_mm} mm from the origin; check the unit (mm or inch) \
         and the exporter's scale", coordinate(*value_mm)
    )]
    Coordinate {
        /// Name of the file.
        file: String,
        /// Where.
        place: Place,
        /// The value after conversion to mm.
        value_mm: f64,
        /// Largest value that is taken.
        largest_mm: f64,
    },
    /// The file is sound but holds no surface.
    #[error(
        "{file}: the file holds no surface ({what}); expected at least one triangle or face: export the solid again"
    )]
    NoSurface {
        /// Name of the file.
        file: String,
        /// What it holds instead.
        what: String,
    },
    /// The file is larger than the program's numbers can hold.
    #[error("{file}: {what} is {number}, expected at most {most}; export a coarser mesh")]
    TooLarge {
        /// Name of the file.
        file: String,
        /// What there is too much of.
        what: String,
        /// How much.
        number: u64,
        /// The most that is taken.
        most: u64,
    },
    /// This build cannot read the format.
    #[error("{file}: {format} cannot be read by this build ({why}); {remedy}")]
    Unsupported {
        /// Name of the file.
        file: String,
        /// The format.
        format: Format,
        /// Why not.
        why: String,
        /// What to do about it.
        remedy: String,
    },
    /// The solid asked for is not in the file.
    #[error("{file}: no solid \"{wanted}\"; the file holds {}: name one of them", .choices.join(", "))]
    NoSuchSolid {
        /// Name of the file.
        file: String,
        /// What was asked for.
        wanted: String,
        /// The solids that are there, as they can be named.
        choices: Vec<String>,
    },
}

/// Makes [`ReadError::Malformed`] for one file.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Blame<'a> {
    pub(crate) file: &'a str,
    pub(crate) remedy: &'static str,
}

impl<'a> Blame<'a> {
    pub(crate) fn new(file: &'a str) -> Self {
        Self { file, remedy: "the file is damaged or cut short: export it again" }
    }

    pub(crate) fn at(
        self,
        place: Place,
        found: impl Into<String>,
        expected: impl Into<String>,
    ) -> ReadError {
        ReadError::Malformed {
            file: self.file.to_owned(),
            place,
            found: found.into(),
            expected: expected.into(),
            remedy: self.remedy.to_owned(),
        }
    }
}

/// A piece of a file quoted in a message: at most 40 characters, nothing unprintable.
pub(crate) fn quoted(text: &str) -> String {
    let mut short: String =
        text.chars().take(40).map(|c| if c.is_control() { '·' } else { c }).collect();
    if text.chars().count() > 40 {
        short.push('…');
    }
    format!("\"{short}\"")
}

/// What is wrong with a coordinate; one that is no number comes as infinite.
fn coordinate(value_mm: f64) -> String {
    match value_mm.is_finite() {
        true => format!("coordinate {value_mm} mm is not the size of a part"),
        false => "a coordinate is not a finite number".to_owned(),
    }
}
