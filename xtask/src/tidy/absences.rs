//! What must not be there: files, clocks, printing, JSON, TOML and HTML in crates that have no
//! business with them.

use super::Source;

/// A piece of code that only some crates may hold.
struct Absence {
    needle: &'static str,
    allowed: &'static [&'static str],
    because: &'static str,
}

const DOORS: &[&str] = &["commands", "trialcut"];

const ABSENCES: [Absence; 10] = [
    Absence {
        needle: "std::fs",
        allowed: &["commands", "trialcut", "occt", "published"],
        because: "only the doors touch files",
    },
    Absence { needle: "File::open", allowed: DOORS, because: "only the doors touch files" },
    Absence {
        needle: "std::env",
        allowed: &["commands", "trialcut", "occt", "published"],
        because: "only the doors read the environment",
    },
    Absence { needle: "Instant::now", allowed: DOORS, because: "only the doors read a clock" },
    Absence { needle: "SystemTime", allowed: DOORS, because: "only the doors read a clock" },
    Absence { needle: "println!", allowed: DOORS, because: "only the doors print" },
    Absence { needle: "serde_json", allowed: DOORS, because: "JSON lives in `commands` alone" },
    Absence {
        needle: "toml::",
        allowed: &["study", "published", "commands"],
        because: "TOML lives in `study` and `published` alone",
    },
    Absence { needle: "<html", allowed: &["report"], because: "HTML lives in `report` alone" },
    Absence { needle: "todo!", allowed: &[], because: "no stubs" },
];

/// Lists every line that holds what its crate must not.
pub(crate) fn check(source: &Source) -> Vec<String> {
    let Some(krate) = source.krate().filter(|_| source.is_product()) else { return Vec::new() };
    let banned: Vec<&Absence> = ABSENCES.iter().filter(|a| !a.allowed.contains(&krate)).collect();
    source
        .code_lines()
        .flat_map(|(line, code)| banned.iter().map(move |a| (line, code, *a)))
        .filter(|(_, code, a)| code.contains(a.needle))
        .map(|(line, _, a)| format!("{}:{line}: `{}`: {}", source.path, a.needle, a.because))
        .collect()
}
