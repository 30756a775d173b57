//! The tracked Rust files, with tests, comments and strings told apart from code.

use crate::process::{command, root};

/// One Rust file of the repository.
pub(crate) struct Source {
    /// Path from the root.
    pub(crate) path: String,
    /// Its text.
    pub(crate) text: String,
}

/// Paths of the files that git tracks, from the root.
pub(crate) fn tracked() -> Result<Vec<String>, String> {
    let out = command("git", &["ls-files"]).output().map_err(|e| format!("git: {e}"))?;
    Ok(String::from_utf8_lossy(&out.stdout).lines().map(str::to_owned).collect())
}

/// Every tracked Rust file.
pub(crate) fn rust_files() -> Result<Vec<Source>, String> {
    let paths = tracked()?;
    let rust = paths.into_iter().filter(|p| p.ends_with(".rs"));
    Ok(rust
        .filter_map(|path| {
            let text = std::fs::read_to_string(root().join(&path)).ok()?;
            Some(Source { path, text })
        })
        .collect())
}

impl Source {
    /// Name of the crate the file belongs to; `None` outside `crates/`.
    pub(crate) fn krate(&self) -> Option<&str> {
        self.path.strip_prefix("crates/")?.split('/').next()
    }

    /// Whether the file is part of a library or binary, not of tests, benches or examples.
    pub(crate) fn is_product(&self) -> bool {
        self.path.contains("/src/") && self.krate().is_some() && !self.path.ends_with("tests.rs")
    }

    /// Lines with their number up to the in-file test module, comments taken out.
    pub(crate) fn code_lines(&self) -> impl Iterator<Item = (usize, &str)> {
        let code = self.text.split("#[cfg(test)]").next().unwrap_or_default();
        code.lines()
            .enumerate()
            .map(|(i, l)| (i + 1, l.split("//").next().unwrap_or_default()))
            .filter(|(_, l)| !l.trim().is_empty())
    }
}
