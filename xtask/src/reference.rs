//! `cargo xtask reference`: runs the reference scripts again and compares with what is committed.

use crate::process::{self, root};

const REQUIREMENTS: &str = "scripts/reference/requirements.txt";
const SCRIPTS: [&str; 2] =
    ["scripts/reference/motion/run.py", "scripts/reference/stability/run.py"];

/// Makes a virtual environment under `target`, installs the pinned libraries, runs each script
/// with `--check`.
pub(crate) fn run() -> Result<(), String> {
    let venv = root().join("target").join("reference-venv");
    let python = venv.join("bin").join("python");
    let python = python.to_string_lossy().into_owned();
    if !process::succeeds(&python, &["-c", "import toppra, ruckig, scipy"]) {
        let venv = venv.to_string_lossy().into_owned();
        process::run("python3", &["-m", "venv", &venv])?;
        let pip = ["-m", "pip", "install", "--quiet", "--disable-pip-version-check", "-r"];
        let mut args = pip.to_vec();
        args.push(REQUIREMENTS);
        process::run(&python, &args)?;
    }
    SCRIPTS.iter().try_for_each(|script| process::run(&python, &[script, "--check"]))
}
