//! The words of a study as plain data, and the files they are written in.

pub mod outcome;
