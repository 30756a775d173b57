//! `cutter-set STUDY`: the set of cutters that clears the study's pockets fastest or cheapest.

use crate::document::Document;
use crate::failure::Failure;
use crate::input;
use crate::text::{Align, Table};
use ::compare::cutter_set::{self as model, CutterSet, Objective};
use serde::Serialize;
use std::path::PathBuf;

/// Which study, and what is made least.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Request {
    /// The study file.
    pub study: PathBuf,
    /// `time` or `cost`; `None`: time.
    pub objective: Option<String>,
    /// Places of the magazine; `None`: as the machine file says.
    pub magazine: Option<usize>,
}

/// The proven set, as a document.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Chosen {
    objective: &'static str,
    tool_change_s: f64,
    corner_ratio: f64,
    magazine: Option<usize>,
    proven: bool,
    best: SetEntry,
    runners_up: Vec<SetEntry>,
    worth: Vec<WorthEntry>,
    access: Vec<AccessEntry>,
    stages: Vec<StageEntry>,
    basis: &'static str,
    warnings: Vec<String>,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
struct SetEntry {
    cutters: Vec<String>,
    time_s: f64,
    cost: Option<f64>,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
struct WorthEntry {
    cutter: String,
    /// In s or in the machine's currency; null: without it the pockets cannot be cleared.
    worth: Option<f64>,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
struct AccessEntry {
    pocket: String,
    cutter: String,
    diameter_mm: f64,
    accessible_mm2: f64,
    rest_mm2: f64,
    reaches_floor: bool,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
struct StageEntry {
    pocket: String,
    after: Option<String>,
    cutter: String,
    time_s: f64,
    cost: Option<f64>,
}

/// Chooses the set.
///
/// # Errors
/// A fault of the study or its files, a wrong option, no pocket or no set that clears them.
pub fn run(request: &Request) -> Result<Chosen, Failure> {
    let objective = match request.objective.as_deref() {
        None | Some("time") => Objective::Time,
        Some("cost") => Objective::Cost,
        Some(other) => {
            let message = format!("--objective is \"{other}\"");
            return Err(Failure::call(message, "time or cost", "write --objective time"));
        }
    };
    let input = input::load(&request.study)?;
    let set = model::choose(&input.study, &input.part, objective, request.magazine)?;
    Ok(document(set))
}

fn document(set: CutterSet) -> Chosen {
    let entry = |w: model::Worth| SetEntry { cutters: w.cutters, time_s: w.time_s, cost: w.cost };
    let mut sets = set.sets.into_iter().map(entry);
    let none = SetEntry { cutters: Vec::new(), time_s: 0.0, cost: None };
    let best = sets.next().unwrap_or(none);
    let access = set.access.into_iter().map(|a| AccessEntry {
        pocket: a.pocket,
        cutter: a.cutter,
        diameter_mm: a.diameter_mm,
        accessible_mm2: a.accessible_mm2,
        rest_mm2: a.rest_mm2,
        reaches_floor: a.reaches_floor,
    });
    let stages = set.stages.into_iter().map(|s| StageEntry {
        pocket: s.pocket,
        after: s.after,
        cutter: s.cutter,
        time_s: s.time_s,
        cost: s.cost,
    });
    let worth = set.worth.into_iter().map(|(cutter, worth)| WorthEntry { cutter, worth });
    Chosen {
        objective: if set.objective == Objective::Time { "time" } else { "cost" },
        tool_change_s: set.tool_change_s,
        corner_ratio: set.corner_ratio,
        magazine: set.magazine,
        proven: true,
        best,
        runners_up: sets.collect(),
        worth: worth.collect(),
        access: access.collect(),
        stages: stages.collect(),
        basis: model::BASIS,
        warnings: set.warnings,
    }
}

impl Document for Chosen {
    fn text(&self) -> String {
        let heads = ["set", "time s", "cost", "cutters"];
        let [set, time, cost, cutters] = heads;
        let columns = [
            (set, Align::Left),
            (time, Align::Right),
            (cost, Align::Right),
            (cutters, Align::Left),
        ];
        let mut table = Table::new(columns);
        for (i, s) in std::iter::once(&self.best).chain(&self.runners_up).enumerate() {
            let name = if i == 0 { "best".to_owned() } else { format!("next {i}") };
            let cost = s.cost.map_or_else(|| "–".to_owned(), |c| format!("{c:.3}"));
            table.row([name, format!("{:.1}", s.time_s), cost, s.cutters.join(", ")]);
        }
        let mut text = table.text(0);
        text.push('\n');
        let unit = if self.objective == "time" { " s" } else { "" };
        for entry in &self.worth {
            let words = match entry.worth {
                Some(worth) => format!("saves {worth:.2}{unit}"),
                None => "cannot be left out".to_owned(),
            };
            text.push_str(&format!("{}: {words}\n", entry.cutter));
        }
        text + "\nProven best for this model. " + self.basis + "\n"
    }

    fn warnings(&self) -> Vec<String> {
        self.warnings.clone()
    }
}
