//! One module per command: from a request to a document, which is one JSON document for programs
//! and a plain text for people.
//!
//! Only here are files opened, the clock read and JSON written. The doors above (the command line)
//! translate arguments into requests and documents into output, nothing else.

pub mod audit;
pub mod calc;
mod clock;
pub mod compare;
pub mod cutter_set;
pub mod demo;
pub mod document;
pub mod failure;
pub mod files;
mod input;
pub mod inspect;
mod machine;
pub mod machine_fit;
pub mod machine_test;
pub mod material;
pub mod new;
mod page;
pub mod program;
pub mod report;
mod text;

pub use document::Document;
pub use failure::Failure;

/// Told how far a long piece of work has come, from 0 to 1.
pub type Progress<'a> = &'a (dyn Fn(f64) + Sync);
