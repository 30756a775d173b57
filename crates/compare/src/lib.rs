//! From a study to its outcome: every operation of every process, limits, cost and claims.

mod draws;
mod response;
