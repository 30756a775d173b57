//! Calls the program as a user does.

#![allow(unreachable_pub, dead_code, reason = "shared by several tests")]

use std::path::Path;

/// What a call gave.
pub struct Told {
    /// Exit status.
    pub status: i32,
    /// Standard output.
    pub output: String,
    /// Standard error.
    pub error: String,
}

/// Calls the program here.
pub fn call(arguments: &[&str]) -> Told {
    call_in(Path::new("."), arguments)
}

/// Calls the program in a folder.
pub fn call_in(folder: &Path, arguments: &[&str]) -> Told {
    let mut command = assert_cmd::Command::cargo_bin("trialcut").expect("the program is built");
    let output = command.current_dir(folder).args(arguments).output().expect("it runs");
    Told {
        status: output.status.code().expect("it ends by itself"),
        output: String::from_utf8(output.stdout).expect("text"),
        error: String::from_utf8(output.stderr).expect("text"),
    }
}

/// The one document of a call with `--json`.
pub fn json(arguments: &[&str]) -> serde_json::Value {
    let told = call(&[arguments, &["--json"]].concat());
    assert_eq!(told.status, 0, "{arguments:?}: {}", told.error);
    serde_json::from_str(&told.output).expect("one JSON document")
}
