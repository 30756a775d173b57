//! What is wrong with an expression or a statement, at its place.

use crate::block::Block;
use crate::dialect::Variables;
use crate::fault::{Complaint, Fault, complaint};
use crate::lexer::column;
use crate::store::Unknown;

/// Something wrong at a place of the program's text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Wrong {
    /// Where it stands, in bytes from the beginning of the program.
    pub(crate) at: usize,
    pub(crate) message: String,
    pub(crate) expected: String,
    pub(crate) remedy: String,
}

impl Wrong {
    #[cold]
    pub(crate) fn new(
        at: usize,
        message: impl Into<String>,
        expected: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Self {
        let (message, expected, remedy) = (message.into(), expected.into(), remedy.into());
        Self { at, message, expected, remedy }
    }

    #[cold]
    pub(crate) fn unclosed(open: usize) -> Self {
        Self::new(
            open,
            "the bracket that opens here is not closed in its block",
            "`]` for each `[`",
            "close the bracket; a file that was cut off ends like this",
        )
    }

    /// A variable that cannot be read or set.
    #[cold]
    pub(crate) fn unknown(at: usize, number: u32, why: Unknown, rules: &Variables) -> Self {
        let own = format!("variables of the program: {}", rules.listed());
        let (message, expected, remedy) = match why {
            Unknown::Kept => (
                format!(
                    "#{number} is kept by the control, and the program reads it without setting it"
                ),
                "a variable that the program sets",
                format!("say what it holds with --variable {number}=VALUE, or set it at the top"),
            ),
            Unknown::System => (
                format!("#{number} belongs to the control: what it holds or does is in no program"),
                own.as_str(),
                format!(
                    "where it is read, say what it holds with --variable {number}=VALUE; else leave \
                     the block out"
                ),
            ),
            Unknown::Alarm => (
                format!("#{number} is set: the program stops itself here with an alarm"),
                "a run that does not come to its alarm",
                "see which check of the program fails, and correct what it checks".to_owned(),
            ),
            Unknown::Missing => (
                format!("there is no variable #{number}"),
                own.as_str(),
                "use one of them; a dialect file may name other numbers".to_owned(),
            ),
            Unknown::Vacant => (
                format!("#{number} holds nothing and cannot be set"),
                "a variable from #1 on",
                "set another one".to_owned(),
            ),
        };
        Self::new(at, message, expected, remedy)
    }

    /// The same as a fault of the block.
    pub(crate) fn fault(self, bytes: &[u8], block: &Block) -> Fault {
        Fault {
            line: block.line,
            column: column(bytes, self.at),
            message: self.message,
            expected: self.expected,
            remedy: self.remedy,
        }
    }

    /// The same about the word with `letter`.
    pub(crate) fn about(self, letter: u8) -> Complaint {
        complaint(letter, self.message, self.expected, self.remedy)
    }
}
