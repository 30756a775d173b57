//! `frf_x` and `frf_y` of a cutter: frequency responses that were measured at its tip.

use super::files::Files;
use crate::model::cutter::{MeasuredTip, TipResponse};
use crate::text::{Diagnostic, Source, Table};
use stability::frf::{self, FrfError};
use std::sync::Arc;

/// Reads what the cutter names; `None` where a file is not there or no response.
pub(super) fn read(table: &Table<'_>, files: &dyn Files) -> Option<TipResponse> {
    let x = one(table, "frf_x", files);
    let y = one(table, "frf_y", files);
    Some(TipResponse { x: x?, y: y? })
}

/// `Some(None)` where the key is left out.
fn one(table: &Table<'_>, key: &'static str, files: &dyn Files) -> Option<Option<MeasuredTip>> {
    if !table.has(key) {
        return Some(None);
    }
    let named = table.text(key)?;
    let file = named.value;
    let bytes = match files.bytes(&file) {
        Ok(Some(bytes)) => bytes,
        found => {
            let message = match found {
                Err(error) => format!("\"{file}\" cannot be read: {}", error.reason),
                _ => format!("there is no file \"{file}\""),
            };
            let expected = "a table of Hz, real and imaginary part in m/N beside the study file";
            table.report(named.span, message, expected, "put the file there, or drop the key");
            return None;
        }
    };
    match frf::read(&bytes, &file) {
        Ok(response) => Some(Some(MeasuredTip { file, response })),
        Err(error) => {
            table.report_elsewhere(placed(&bytes, error));
            None
        }
    }
}

/// The fault at its place in the table of the response.
fn placed(bytes: &[u8], error: FrfError) -> Diagnostic {
    let text: Arc<str> = Arc::from(String::from_utf8_lossy(bytes).as_ref());
    let start: usize =
        text.split_inclusive('\n').take(error.line.saturating_sub(1)).map(str::len).sum();
    let line = text[start..].lines().next().unwrap_or_default();
    let column = error.column.saturating_sub(1);
    let within = line.char_indices().nth(column).map_or(line.len(), |(i, _)| i);
    let source = Source { name: error.file, text };
    let at = start + within;
    Diagnostic::new(&source, at..at, error.found, error.expected, error.remedy)
}
