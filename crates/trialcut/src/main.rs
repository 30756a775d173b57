//! `trialcut`: which cutter finishes a face faster, computed for this face, cutter and machine.
//!
//! This door translates arguments into requests and documents into output; nothing is decided here.

mod args;
mod bar;
mod complaint;
mod output;
mod panic;
mod run;

use clap::Parser;
use std::process::ExitCode;

fn main() -> ExitCode {
    panic::be_polite();
    let cli = args::Cli::parse();
    ExitCode::from(run::run(&cli))
}
