//! A fault of the program itself: a plain message and status 1 instead of a trace.

use std::io::Write;

/// Status of a program that failed by its own fault.
const STATUS: i32 = 1;

/// Replaces the trace of a panic by a message that a user can act on.
pub(crate) fn be_polite() {
    std::panic::set_hook(Box::new(|info| {
        let place =
            info.location().map_or_else(String::new, |l| format!(" ({}:{})", l.file(), l.line()));
        let message = format!(
            "trialcut: a fault in the program stopped it{place}; no output was written.\n\
             Please report it with the command and the input files.\n"
        );
        // when even standard error is closed, nobody listens
        let _ = std::io::stderr().write_all(message.as_bytes());
        std::process::exit(STATUS);
    }));
}
