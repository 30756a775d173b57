//! What a command gives back: a document for programs and for people.

use crate::failure::Failure;
use serde::Serialize;

/// The result of a command.
pub trait Document: Serialize {
    /// The document as text for a terminal, ending in a line end.
    fn text(&self) -> String;

    /// Lines to show beside the document: what was assumed, what to look at.
    fn warnings(&self) -> Vec<String> {
        Vec::new()
    }

    /// Whether a limit that the study sets is broken.
    fn limits_broken(&self) -> bool {
        false
    }

    /// The document as JSON, ending in a line end.
    ///
    /// # Errors
    /// A value that JSON cannot hold; a fault of the program.
    fn json(&self) -> Result<String, Failure> {
        let text = serde_json::to_string_pretty(self).map_err(|error| {
            let message = format!("the result cannot be written as JSON: {error}");
            Failure::other(message, "report this fault")
        })?;
        Ok(text + "\n")
    }
}
