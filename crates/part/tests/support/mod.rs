//! Parts with recesses of known dimensions.

#![allow(
    clippy::expect_used,
    unreachable_pub,
    missing_docs,
    reason = "tests share what a test may do"
)]

use part::fact::{self, Neighbours, Pocket};
use part::{Part, ReadOptions};

/// A part of `tests/recesses` with its pockets.
pub fn pockets(name: &str) -> (Part, Vec<Pocket>) {
    let path = format!("{}/tests/recesses/{name}", env!("CARGO_MANIFEST_DIR"));
    let bytes = std::fs::read(&path).expect(&path);
    let part = part::read(&bytes, name, &ReadOptions::default()).expect("a part");
    let facts = fact::of_faces(&part);
    let found = fact::pockets(&part, &facts, &Neighbours::new(&part));
    (part, found)
}
