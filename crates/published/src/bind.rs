//! Binding records to functions, and the run that judges every pair.

use crate::fault::Fault;
use crate::folder;
use crate::inputs::Inputs;
use crate::judge::{Function, judge, movements};
use crate::literature::Literature;
use crate::record::{Check, Seen};
use crate::row::Row;
use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;

/// The bindings of one crate.
pub struct Bindings {
    manifest_dir: PathBuf,
    by_record: Vec<(String, usize)>,
    functions: Vec<Box<Function>>,
}

impl Bindings {
    /// Bindings of the crate whose manifest lies in that folder: `env!("CARGO_MANIFEST_DIR")`.
    pub fn new(manifest_dir: &str) -> Self {
        Self { manifest_dir: manifest_dir.into(), by_record: Vec::new(), functions: Vec::new() }
    }

    /// Binds records to a function that computes the value in the record's unit.
    pub fn bind(
        &mut self,
        records: &[&str],
        function: impl Fn(&Inputs) -> Result<f64, Fault> + 'static,
    ) -> &mut Self {
        let index = self.functions.len();
        self.functions.push(Box::new(function));
        self.by_record.extend(records.iter().map(|r| ((*r).to_owned(), index)));
        self
    }

    /// Judges every record of the crate's `published` folder. Where the environment names a folder
    /// in `PUBLISHED_ROWS`, the rows for the register are written there.
    ///
    /// # Panics
    /// With every fault, one a line.
    pub fn run(&self) {
        let krate = self.manifest_dir.file_name().unwrap_or_default().to_string_lossy();
        let (checks, mut faults) = folder::read(&self.manifest_dir.join("published"));
        match folder::literature(&self.manifest_dir) {
            Ok(literature) => faults.extend(sources(&checks, &literature)),
            Err(fault) => faults.push(fault),
        }
        let (rows, judged) = self.judge_all(&krate, &checks);
        faults.extend(judged);
        let faults: Vec<String> = faults.iter().map(Fault::to_string).collect();
        assert!(faults.is_empty(), "{} faults:\n{}", faults.len(), faults.join("\n"));
        if let Err(fault) = folder::write_rows(&krate, &rows) {
            panic!("{fault}");
        }
    }

    /// Judges given checks: the rows of those that were computed, and every fault.
    pub fn judge_all(&self, krate: &str, checks: &[Check]) -> (Vec<Row>, Vec<Fault>) {
        let mut faults = self.pairing(checks);
        faults.extend(alone(checks));
        let mut rows = Vec::new();
        for check in checks {
            let bound = self.by_record.iter().find(|(record, _)| *record == check.id);
            let Some((_, function)) = bound else { continue };
            let (ours, found) = judge(check, &self.functions[*function]);
            faults.extend(found);
            rows.extend(ours.map(|ours| Row::new(krate, check, ours)));
        }
        for (record, function) in &self.by_record {
            let cases: Vec<&Check> = checks.iter().filter(|c| c.id == *record).collect();
            faults.extend(movements(&cases, &self.functions[*function]));
        }
        (rows, faults)
    }

    /// Every record bound exactly once, every binding with a record, no name twice.
    fn pairing(&self, checks: &[Check]) -> Vec<Fault> {
        let mut faults = Vec::new();
        let records: BTreeSet<&str> = checks.iter().map(|c| c.id.as_str()).collect();
        let bound: Vec<&str> = self.by_record.iter().map(|(r, _)| r.as_str()).collect();
        for record in &records {
            match bound.iter().filter(|b| *b == record).count() {
                1 => {}
                0 => faults.push(Fault::new(record, "is bound to nothing: bind it or remove it")),
                n => faults.push(Fault::new(record, format!("is bound {n} times: bind it once"))),
            }
        }
        for name in bound.iter().filter(|b| !records.contains(*b)) {
            faults.push(Fault::new(name, "is bound but no record has that id"));
        }
        let mut seen = BTreeSet::new();
        for check in checks.iter().filter(|c| !seen.insert((c.id.as_str(), c.case))) {
            faults.push(Fault::new(check.name(), "stands twice: give each record its own id"));
        }
        faults
    }
}

/// Claims that rest on memory alone.
fn alone(checks: &[Check]) -> Vec<Fault> {
    let mut firm: BTreeMap<&str, bool> = BTreeMap::new();
    for check in checks {
        *firm.entry(&check.group).or_default() |= check.seen != Seen::FromMemory;
    }
    let what = "rests on memory alone: add a record that was seen or derived to the same group";
    firm.iter().filter(|(_, firm)| !**firm).map(|(group, _)| Fault::new(group, what)).collect()
}

/// Sources that the literature does not have.
fn sources(checks: &[Check], literature: &Literature) -> Vec<Fault> {
    let named = checks.iter().filter(|c| !c.source.is_empty());
    let unknown = named.filter(|c| literature.citation(&c.source).is_none());
    let what =
        |c: &Check| format!("the literature has no `{}`: add it, with what was seen", c.source);
    unknown.map(|c| Fault::new(c.name(), what(c))).collect()
}
