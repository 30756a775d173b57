//! One fault put into a sound file, and what must be said about it.

#![allow(unreachable_pub, dead_code, reason = "shared by several tests")]

use study::Rejected;

/// A change to a sound file, and words that the message must have.
pub struct Case {
    sound: &'static str,
    faulty: &'static str,
    expected: &'static str,
    remedy: &'static str,
}

impl Case {
    /// `sound` becomes `faulty`; then `expected` stands in what is wrong or was expected, and
    /// `remedy` in what to do.
    pub fn new(
        sound: &'static str,
        faulty: &'static str,
        expected: &'static str,
        remedy: &'static str,
    ) -> Self {
        Self { sound, faulty, expected, remedy }
    }
}

/// Reads the faulty text and checks the first message: place, words, line as it stands.
pub fn check(text: &str, case: &Case, read: impl Fn(&str) -> Result<(), Rejected>) {
    assert!(text.contains(case.sound), "{} is not in the sound file", case.sound);
    let faulty = text.replacen(case.sound, case.faulty, 1);
    let Err(rejected) = read(&faulty) else { panic!("{} was accepted", case.faulty) };
    let told = rejected.to_string();
    let meant = rejected.diagnostics.iter().find(|d| {
        let wrong = format!("{}; {}", d.message, d.expected);
        wrong.contains(case.expected) && d.remedy.contains(case.remedy)
    });
    let Some(fault) = meant else { panic!("{} gives\n{told}", case.faulty) };
    let line = faulty.lines().nth(fault.line - 1).unwrap_or_default();
    assert_eq!(fault.source_line, line, "the line shown is the line meant: {told}");
    assert!(fault.column <= line.chars().count() + 1, "{told}");
    let changed = text.split(case.sound).next().unwrap_or_default().lines().count();
    let far = fault.line.abs_diff(changed);
    assert!(far <= 60, "{} is told at line {}, {far} lines off", case.faulty, fault.line);
    assert!(!fault.expected.is_empty() && !fault.remedy.is_empty(), "{told}");
}

/// Reads a study with its companions.
pub fn study_of(text: &str, machine: &str, cutters: &str) -> Result<(), Rejected> {
    let files = |path: &str| match path {
        "machine.toml" => Some(machine.as_bytes().to_vec()),
        "cutters.toml" => Some(cutters.as_bytes().to_vec()),
        _ => None,
    };
    study::read::study(text.as_bytes(), "study.toml", &files).map(drop)
}

/// Reads a machine file.
pub fn machine_of(text: &str) -> Result<(), Rejected> {
    study::read::machine_file(text.as_bytes(), "machine.toml").map(drop)
}

/// Reads a file of cutters.
pub fn cutters_of(text: &str) -> Result<(), Rejected> {
    study::read::cutters_file(text.as_bytes(), "cutters.toml").map(drop)
}
