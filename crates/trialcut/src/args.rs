//! The argument list.

pub(crate) mod calc;

use clap::{Parser, Subcommand};

/// Which cutter finishes a face faster: time, cusp and gouge computed for this face, this cutter
/// and this machine.
#[derive(Debug, Parser)]
#[command(name = "trialcut", version, max_term_width = 100, arg_required_else_help = true)]
#[command(after_help = "Example:\n  trialcut calc stepover --radius 250 --cusp-um 5")]
pub(crate) struct Cli {
    /// What to do
    #[command(subcommand)]
    pub(crate) command: Command,
    /// Give one JSON document on standard output and nothing else
    #[arg(long, global = true)]
    pub(crate) json: bool,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// One formula at the machine
    #[command(subcommand, arg_required_else_help = true, after_help = calc::EXAMPLE)]
    Calc(calc::Calc),
}

/// A finite number.
pub(crate) fn number(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(number) if number.is_finite() => Ok(number),
        Ok(_) => Err("expected a finite number".to_owned()),
        Err(_) => Err("expected a number with a point as decimal sign, without a unit".to_owned()),
    }
}
