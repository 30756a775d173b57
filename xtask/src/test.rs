//! `cargo xtask test`: everything that must hold before a change lands.

use crate::process::{self, cargo, command};
use crate::{published, reference, setup, tidy};
use std::io::{BufRead, BufReader};
use std::process::Stdio;

/// Runs every check; `--quick` leaves out the lints and the reference scripts.
pub(crate) fn run(args: &[String]) -> Result<(), String> {
    let quick = args.iter().any(|a| a == "--quick");
    setup::run()?;
    tidy::run()?;
    process::run(&cargo(), &["fmt", "--all", "--check"])?;
    if !quick {
        let lint = ["clippy", "--workspace", "--all-targets", "--quiet", "--", "-D", "warnings"];
        process::run(&cargo(), &lint)?;
        reference::run()?;
    }
    let counts = run_tests()?;
    println!("{} passed, {} failed, {} skipped", counts.passed, counts.failed, counts.skipped);
    if counts.failed > 0 || counts.passed == 0 {
        return Err("tests failed".to_owned());
    }
    published::check()
}

#[derive(Default)]
struct Counts {
    passed: u64,
    failed: u64,
    skipped: u64,
}

fn run_tests() -> Result<Counts, String> {
    eprintln!("+ cargo test --workspace");
    let rows = published::prepare()?;
    let mut child = command(&cargo(), &["test", "--workspace", "--no-fail-fast"])
        .envs(rows)
        .stdout(Stdio::piped())
        .spawn()
        .map_err(|e| format!("cargo could not be started: {e}"))?;
    let mut counts = Counts::default();
    if let Some(out) = child.stdout.take() {
        for line in BufReader::new(out).lines().map_while(Result::ok) {
            println!("{line}");
            counts.add(&line);
        }
    }
    let status = child.wait().map_err(|e| e.to_string())?;
    if !status.success() && counts.failed == 0 {
        return Err(format!("cargo test: {status}"));
    }
    Ok(counts)
}

impl Counts {
    /// Adds a closing line such as `test result: ok. 3 passed; 0 failed; 1 ignored; …`.
    fn add(&mut self, line: &str) {
        let Some((_, rest)) = line.split_once("test result: ") else { return };
        let number = |word: &str| -> u64 {
            let before = rest.split(word).next().unwrap_or_default().trim_end();
            before.rsplit([' ', ';', '.']).next().and_then(|n| n.parse().ok()).unwrap_or(0)
        };
        self.passed += number("passed");
        self.failed += number("failed");
        self.skipped += number("ignored");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closing_lines_are_counted() {
        let mut counts = Counts::default();
        counts.add("test result: ok. 12 passed; 0 failed; 3 ignored; 0 measured; 0 filtered out");
        counts.add("test result: FAILED. 1 passed; 2 failed; 0 ignored; 0 measured");
        counts.add("running 4 tests");
        assert_eq!((counts.passed, counts.failed, counts.skipped), (13, 2, 3));
    }
}
