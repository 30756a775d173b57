//! Running other programs from the root of the repository.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// Root of the repository.
pub(crate) fn root() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.parent().unwrap_or(here).to_path_buf()
}

/// A command that starts in the root of the repository.
pub(crate) fn command(program: &str, args: &[&str]) -> Command {
    let mut command = Command::new(program);
    command.args(args).current_dir(root());
    command
}

/// Runs a program to its end; an error unless it exits with 0.
pub(crate) fn run(program: &str, args: &[&str]) -> Result<(), String> {
    run_with(program, args, &[])
}

/// As [`run`], with variables in its environment.
pub(crate) fn run_with(
    program: &str,
    args: &[&str],
    variables: &[(&str, PathBuf)],
) -> Result<(), String> {
    eprintln!("+ {program} {}", args.join(" "));
    let status = command(program, args)
        .envs(variables.iter().map(|(name, value)| (name, value)))
        .status()
        .map_err(|e| format!("{program} could not be started: {e}"))?;
    if status.success() { Ok(()) } else { Err(format!("{program} {}: {status}", args.join(" "))) }
}

/// Whether a program can be started and exits with 0, silently.
pub(crate) fn succeeds(program: &str, args: &[&str]) -> bool {
    let quiet = command(program, args).stdout(Stdio::null()).stderr(Stdio::null()).status();
    quiet.is_ok_and(|s| s.success())
}

/// The cargo that runs this program.
pub(crate) fn cargo() -> String {
    std::env::var("CARGO").unwrap_or_else(|_| "cargo".to_owned())
}
