//! Why a command did not give a document.

pub use study::Diagnostic;

use crate::files::Folder;
use std::fmt;
use study::Rejected;

/// Why a command failed. Nothing was written.
#[derive(Debug, Clone, PartialEq)]
pub enum Failure {
    /// An input file is wrong at stated places; never empty.
    Input(Vec<Diagnostic>),
    /// The call, or a file as a whole, is wrong.
    Call {
        /// What is wrong, with the option or the file.
        message: String,
        /// What was expected.
        expected: String,
        /// What to do.
        remedy: String,
    },
    /// The call was right, the outcome is not.
    Other {
        /// What went wrong.
        message: String,
        /// What to do.
        remedy: String,
    },
}

impl Failure {
    /// A wrong call.
    pub fn call(
        message: impl Into<String>,
        expected: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Self {
        Self::Call { message: message.into(), expected: expected.into(), remedy: remedy.into() }
    }

    /// Anything else that went wrong.
    pub fn other(message: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self::Other { message: message.into(), remedy: remedy.into() }
    }

    /// The same, with places in files of a folder, beside the file that the call names, told by the path
    /// that the user would have to type.
    pub(crate) fn in_folder(self, named: &str, folder: &Folder) -> Self {
        let Self::Input(mut diagnostics) = self else { return self };
        for diagnostic in diagnostics.iter_mut().filter(|d| d.file != named) {
            diagnostic.file = folder.typed(&diagnostic.file);
        }
        Self::Input(diagnostics)
    }

    /// The exit status: 2 for a wrong input or call, 1 for anything else.
    pub fn exit_status(&self) -> u8 {
        match self {
            Self::Input(_) | Self::Call { .. } => 2,
            Self::Other { .. } => 1,
        }
    }
}

impl From<Rejected> for Failure {
    fn from(rejected: Rejected) -> Self {
        Self::Input(rejected.diagnostics)
    }
}

impl From<study::Diagnostic> for Failure {
    fn from(fault: study::Diagnostic) -> Self {
        Self::Input(vec![fault])
    }
}

impl From<units::OutOfRange> for Failure {
    fn from(fault: units::OutOfRange) -> Self {
        Self::call(
            format!("{} is {}", fault.quantity, fault.value),
            fault.expected,
            "correct the value; --help names the unit of every option",
        )
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Input(diagnostics) => {
                let lines: Vec<String> = diagnostics.iter().map(Diagnostic::to_string).collect();
                f.write_str(&lines.join("\n"))
            }
            Self::Call { message, expected, remedy } => {
                write!(f, "{message}; expected {expected}; {remedy}")
            }
            Self::Other { message, remedy } => write!(f, "{message}; {remedy}"),
        }
    }
}

impl std::error::Error for Failure {}
