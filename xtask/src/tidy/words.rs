//! Stray words: the repository speaks of the project alone.

use super::source::tracked;
use crate::process::root;

/// Pieces of words, split so that this file does not hold them itself.
const STRAY: [[&str; 2]; 7] = [
    ["FIX", "ME"],
    ["XX", "X "],
    ["/ho", "me/"],
    ["/tm", "p/"],
    ["/wo", "rk/"],
    ["as an AI", " "],
    ["seed", " document"],
];
const READ: [&str; 8] = [".rs", ".md", ".toml", ".py", ".cc", ".h", ".sh", ".html"];

/// Lists the lines of tracked text files that hold a stray word.
pub(crate) fn check() -> Result<Vec<String>, String> {
    let stray: Vec<String> = STRAY.iter().map(|w| w.concat()).collect();
    let mut faults = Vec::new();
    for path in tracked()?.into_iter().filter(|p| READ.iter().any(|end| p.ends_with(end))) {
        let Ok(text) = std::fs::read_to_string(root().join(&path)) else { continue };
        for (number, line) in text.lines().enumerate() {
            let found = stray.iter().filter(|w| line.contains(w.as_str()));
            faults.extend(found.map(|w| format!("{path}:{}: stray `{w}`", number + 1)));
        }
    }
    Ok(faults)
}
