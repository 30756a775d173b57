//! `cargo xtask demo`: the main job on the demo study, from a fresh checkout.

use crate::{process, setup};

/// Sets up, builds the release binary and runs `trialcut demo`.
pub(crate) fn run(args: &[String]) -> Result<(), String> {
    setup::run()?;
    let mut all = vec!["run", "--release", "--quiet", "--package", "trialcut", "--", "demo"];
    all.extend(args.iter().map(String::as_str));
    process::run(&process::cargo(), &all)
}
