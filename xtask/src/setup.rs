//! System packages: the CAD kernel that reads STEP.

use crate::process::{self, succeeds};
use std::path::Path;

const PACKAGES: [&str; 3] = ["g++", "libocct-data-exchange-dev", "libocct-modeling-algorithms-dev"];
const HEADER: &str = "/usr/include/opencascade/STEPCAFControl_Reader.hxx";

/// Installs what STEP reading needs where this may be done, and otherwise says what to install.
/// Without it everything but STEP reading still works.
pub(crate) fn run() -> Result<(), String> {
    if Path::new(HEADER).exists() && succeeds("g++", &["--version"]) {
        return Ok(());
    }
    let install = format!("apt-get install --no-install-recommends {}", PACKAGES.join(" "));
    if !is_root() || !succeeds("apt-get", &["--version"]) {
        eprintln!("STEP files need a CAD kernel. As an administrator, run\n  {install}");
        eprintln!("Going on without it: STL, OBJ, PLY and 3MF parts work, STEP parts do not.");
        return Ok(());
    }
    process::run("apt-get", &["update", "-qq"])?;
    let mut args = vec!["install", "-y", "-qq", "--no-install-recommends"];
    args.extend(PACKAGES);
    process::run("apt-get", &args)
}

fn is_root() -> bool {
    let id = std::process::Command::new("id").arg("-u").output();
    id.is_ok_and(|o| o.stdout.starts_with(b"0"))
}
