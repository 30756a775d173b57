//! NC programs of ISO 6983: from bytes to the motion that a control is asked for.
//!
//! A [`Dialect`] says as data which words a control uses for what. [`read`] takes the bytes of a
//! program line by line, follows calls, expands fixed cycles and gives a [`machine::Track`] whose
//! blocks are line numbers. What is not understood is listed in [`Program::unread`]; what could
//! change the path refuses the program with a [`Fault`] for each place.

mod arc;
pub mod audit;
mod auxiliary;
mod block;
mod calls;
mod codes;
mod cycle;
mod expression;
mod fault;
mod frame;
mod lexer;
mod modal;
mod motion;
mod number;
mod program;
mod run;
mod statement;
mod store;
mod structure;
mod words;

pub use ::dialect;
pub use ::dialect::Dialect;
pub use audit::{Audit, AuditError, AuditOptions, audit};
pub use fault::{Fault, Unread};
pub use program::{Program, ReadOptions, read, with_line_feeds};
