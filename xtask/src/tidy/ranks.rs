//! The arrows between crates: an edge goes only to a strictly lower rank.

use crate::process::root;
use std::collections::BTreeMap;

/// Rank of every crate. A crate may depend only on crates of a lower rank.
const RANKS: [(&str, u8); 32] = [
    ("units", 0),
    ("paper", 0),
    ("geom", 1),
    ("motion", 1),
    ("occt", 1),
    ("material", 1),
    ("published", 1),
    ("dialect", 1),
    ("planar", 1),
    ("selection", 1),
    ("cutter", 2),
    ("toolpath", 2),
    ("part", 3),
    ("clearance", 3),
    ("mechanics", 3),
    ("stability", 3),
    ("machine", 4),
    ("pattern", 4),
    ("clearing", 4),
    ("cutsim", 4),
    ("stock", 4),
    ("study", 5),
    ("post", 5),
    ("emulator", 5),
    ("nc", 5),
    ("calibration", 6),
    ("compare", 6),
    ("report", 6),
    ("commands", 7),
    ("trialcut", 8),
    ("xtask", 9),
    ("fuzz", 9),
];

/// Reads every manifest and lists the edges that point up or sideways.
pub(crate) fn check() -> Result<Vec<String>, String> {
    let ranks: BTreeMap<&str, u8> = RANKS.into_iter().collect();
    let mut faults = Vec::new();
    let folders = std::fs::read_dir(root().join("crates")).map_err(|e| e.to_string())?;
    let mut names: Vec<String> =
        folders.filter_map(|f| f.ok()?.file_name().into_string().ok()).collect();
    names.sort();
    for name in names {
        let Some(rank) = ranks.get(name.as_str()) else {
            faults.push(format!(
                "crates/{name}: has no rank; give it one in xtask/src/tidy/ranks.rs"
            ));
            continue;
        };
        faults.extend(upward(&name, *rank, &ranks)?);
    }
    Ok(faults)
}

fn upward(name: &str, rank: u8, ranks: &BTreeMap<&str, u8>) -> Result<Vec<String>, String> {
    let manifest = root().join("crates").join(name).join("Cargo.toml");
    let text = std::fs::read_to_string(&manifest).map_err(|e| format!("{name}: {e}"))?;
    let table: toml::Table = text.parse().map_err(|e| format!("{name}: {e}"))?;
    let dependencies = table.get("dependencies").and_then(toml::Value::as_table);
    let edges = dependencies.into_iter().flat_map(toml::Table::keys);
    Ok(edges
        .filter_map(|to| Some((to, ranks.get(to.as_str())?)))
        .filter(|(_, to_rank)| **to_rank >= rank)
        .map(|(to, to_rank)| {
            format!("{name} (rank {rank}) must not depend on {to} (rank {to_rank})")
        })
        .collect())
}
