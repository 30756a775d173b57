//! System packages: the CAD kernel that reads STEP.

use crate::process::{self, succeeds};
use std::path::Path;

const PACKAGES: [&str; 3] = ["g++", "libocct-data-exchange-dev", "libocct-modeling-algorithms-dev"];
const HEADER: &str = "/usr/include/opencascade/STEPCAFControl_Reader.hxx";

/// Installs what STEP reading needs where this may be done, and otherwise says what to install.
/// Without it STEP is read in Rust alone.
pub(crate) fn run() -> Result<(), String> {
    if Path::new(HEADER).exists() && succeeds("g++", &["--version"]) {
        return Ok(());
    }
    let install = format!("apt-get install --no-install-recommends {}", PACKAGES.join(" "));
    if !is_root() || !succeeds("apt-get", &["--version"]) {
        eprintln!(
            "STEP files are read best over a CAD kernel. As an administrator, run\n  {install}"
        );
        eprintln!("Going on without it: STEP parts are read in Rust alone, meshes as ever.");
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
