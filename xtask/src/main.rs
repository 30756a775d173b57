//! Automation of the repository: `cargo xtask test | demo | tidy | published | reference | setup`.

mod demo;
mod process;
mod published;
mod reference;
mod setup;
mod test;
mod tidy;

use std::process::ExitCode;

const USAGE: &str = "\
cargo xtask COMMAND
  test       set up, format, lint, tidy, every test; what CI runs
  demo       set up, build, run the demo study and say what to open
  tidy       arrows between crates, absences, stray words, size of functions and files
  published  write docs/published.md from the published checks
  reference  run the reference scripts again and compare with the committed results
  setup      install the system packages that STEP reading needs, or say which";

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let rest = args.get(1..).unwrap_or_default();
    let outcome = match args.first().map(String::as_str) {
        Some("test") => test::run(rest),
        Some("demo") => demo::run(rest),
        Some("tidy") => tidy::run(),
        Some("published") => published::run(rest),
        Some("reference") => reference::run(),
        Some("setup") => setup::run(),
        _ => Err(USAGE.to_owned()),
    };
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(message) => {
            eprintln!("{message}");
            ExitCode::FAILURE
        }
    }
}
