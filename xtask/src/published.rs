//! `cargo xtask published`: the page of all published checks, written from what the tests compute.

use crate::process::{self, cargo, root};
use published::{Literature, Row, register};
use std::path::PathBuf;

const PAGE: &str = "docs/published.md";
const LITERATURE: &str = "data/literature.toml";
/// The variable that tells a test where its rows go.
const ROWS: &str = "PUBLISHED_ROWS";

/// Runs the tests that compute the rows, and writes the page; with `--check` compares it.
pub(crate) fn run(args: &[String]) -> Result<(), String> {
    let rows = prepare()?;
    process::run_with(&cargo(), &["test", "--workspace", "--test", "published"], &rows)?;
    if args.iter().any(|a| a == "--check") {
        return check();
    }
    let path = root().join(PAGE);
    std::fs::write(&path, page()?).map_err(|e| format!("{PAGE}: {e}"))?;
    eprintln!("{PAGE} is written");
    Ok(())
}

/// Empties the folder for rows; the variable that names it, for the tests to come.
pub(crate) fn prepare() -> Result<[(&'static str, PathBuf); 1], String> {
    let folder = folder();
    if folder.exists() {
        std::fs::remove_dir_all(&folder).map_err(|e| format!("{}: {e}", folder.display()))?;
    }
    std::fs::create_dir_all(&folder).map_err(|e| format!("{}: {e}", folder.display()))?;
    Ok([(ROWS, folder)])
}

/// Whether the committed page is what the rows of the last run give.
pub(crate) fn check() -> Result<(), String> {
    let committed = std::fs::read_to_string(root().join(PAGE)).unwrap_or_default();
    if committed == page()? {
        return Ok(());
    }
    Err(format!("{PAGE} is stale: run `cargo xtask published` and commit the page"))
}

fn folder() -> PathBuf {
    root().join("target").join("published-rows")
}

/// The page from the rows of every crate that holds records.
fn page() -> Result<String, String> {
    let mut rows = Vec::new();
    for name in holders()? {
        let path = folder().join(format!("{name}.rows"));
        let text = std::fs::read_to_string(&path).map_err(|e| {
            format!("crates/{name}: no rows: {e}; does its tests/published.rs run?")
        })?;
        for line in text.lines() {
            rows.push(Row::parse(line).map_err(|e| e.to_string())?);
        }
    }
    let text = std::fs::read_to_string(root().join(LITERATURE))
        .map_err(|e| format!("{LITERATURE}: {e}"))?;
    let literature = Literature::new(LITERATURE, &text).map_err(|e| e.to_string())?;
    Ok(register::page(&rows, &literature))
}

/// Crates with a folder of records.
fn holders() -> Result<Vec<String>, String> {
    let folders = std::fs::read_dir(root().join("crates")).map_err(|e| e.to_string())?;
    let holds = |f: std::fs::DirEntry| {
        f.path().join("published").is_dir().then(|| f.file_name().into_string().ok()).flatten()
    };
    let mut names: Vec<String> = folders.filter_map(|f| holds(f.ok()?)).collect();
    names.sort();
    if names.is_empty() {
        return Err("no crate holds published checks".to_owned());
    }
    Ok(names)
}
