//! Standard output and standard error, quiet when the reader has gone.

use std::io::{self, ErrorKind, Write};

/// Writes a document to standard output; whether it arrived.
pub(crate) fn show(text: &str) -> bool {
    arrived(io::stdout().lock().write_all(text.as_bytes())) && arrived(io::stdout().lock().flush())
}

/// Writes a line to standard error.
pub(crate) fn note(line: &str) {
    // when standard error is closed, nobody listens
    let _ = writeln!(io::stderr().lock(), "{line}");
}

/// A reader that closed the pipe has seen enough: that is no failure.
fn arrived(written: io::Result<()>) -> bool {
    match written {
        Ok(()) => true,
        Err(error) if error.kind() == ErrorKind::BrokenPipe => true,
        Err(error) => {
            note(&format!("trialcut: standard output: {error}"));
            false
        }
    }
}
