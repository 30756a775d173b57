//! Scenes, random pockets and a judge of paths that shares nothing with the planner.
#![allow(
    dead_code,
    unreachable_pub,
    missing_docs,
    reason = "each test and example takes what it needs"
)]

pub mod judge;
pub mod random;
pub mod scenes;
