//! One process: its operations in order.

use crate::markup::escape;
use study::outcome::ProcessOutcome;

/// Heading and every operation.
pub(crate) fn render(process: &ProcessOutcome) -> String {
    let operations: String = process.operations.iter().map(super::operation::render).collect();
    format!(
        "<section class=\"process\"><h2>Process {}</h2>{operations}</section>\n",
        escape(&process.name)
    )
}
