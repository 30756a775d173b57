//! Plain tables and numbers for a terminal.

mod number;
mod table;

pub(crate) use number::{fixed, significant};
pub(crate) use table::{Align, Table};
