//! An ordered list of operations.

use super::operation::Operation;
use crate::text::Place;

/// One way to mill the part.
#[derive(Debug, Clone, PartialEq)]
pub struct Process {
    /// Name, unique in the study; by convention `today` is how the part is milled now.
    pub name: String,
    /// Operations in the order in which they run; never empty.
    pub operations: Vec<Operation>,
    /// Where it stands in the file.
    pub place: Place,
}
