//! The publications that records name by a key.

use crate::fault::Fault;
use std::collections::BTreeMap;

/// Citations by key.
#[derive(Debug, Clone, Default)]
pub struct Literature {
    citations: BTreeMap<String, String>,
}

impl Literature {
    /// Reads tables `[key] citation = "…"`.
    ///
    /// # Errors
    /// The text is no TOML, or a table has no citation.
    pub fn new(name: &str, text: &str) -> Result<Self, Fault> {
        let root: toml::Table = text.parse().map_err(|e| Fault::new(name, e))?;
        let mut citations = BTreeMap::new();
        for (key, table) in root {
            let citation = table.get("citation").and_then(toml::Value::as_str);
            let Some(citation) = citation.filter(|c| !c.is_empty()) else {
                return Err(Fault::new(name, format!("[{key}] has no citation")));
            };
            citations.insert(key, citation.to_owned());
        }
        Ok(Self { citations })
    }

    /// Authors, title, where and when.
    pub fn citation(&self, key: &str) -> Option<&str> {
        self.citations.get(key).map(String::as_str)
    }
}
