//! From a study to its outcome: every operation of every process, limits, cost and claims.
//!
//! An operation becomes passes, the passes a time on the machine and a cut surface. What is not
//! known of the machine is drawn once for all processes, so that a saving's interval holds only
//! what truly differs between them.

pub mod along;
mod answers;
mod border;
mod claims;
mod computed;
pub mod cutter_set;
mod economics;
mod feature;
mod job;
mod loads;
pub mod motion;
mod operation;
mod picture;
mod rough;
mod scene;
mod shape_error;
mod split;
mod surface;
mod timing;
mod weights;

use claims::Ground;
use computed::ComputedProcess;
use economics::Rates;
use machine::spread::{draws, response};
use rayon::prelude::*;
use scene::Scene;
use std::sync::{Mutex, PoisonError};
use study::outcome::{Assumed, Outcome, ProcessOutcome};
use study::{Diagnostic, Operation, Process, Rejected, Stock, Study};
use units::Interval;

pub use scene::Given;

/// Told how far the work has come, from 0 to 1.
pub type Progress<'a> = &'a (dyn Fn(f64) + Sync);

/// Compares the processes of a study on its part.
///
/// # Errors
/// A stock that is not of this part; every operation that cannot be done, with its place in the study,
/// the reason and a remedy.
pub fn run(given: Given<'_>, progress: Progress<'_>) -> Result<Outcome, Rejected> {
    let study = given.study;
    let scene = Scene::new(given);
    let bare = rough::of_file(&scene).map_err(|fault| Rejected { diagnostics: vec![fault] })?;
    let asked: Vec<&Operation> = study.processes.iter().flat_map(|p| &p.operations).collect();
    let shares = Mutex::new(vec![0.0; asked.len()]);
    let tell = |i: usize, share: f64| progress(advance(&shares, i, share));
    let mut computed: Vec<(usize, Result<_, Diagnostic>)> = turns(study)
        .par_iter()
        .flat_map_iter(|turn| {
            let mut standing = rough::Standing::default();
            let one = |i: &usize| {
                let operation = asked[*i];
                let done = if study.is_in_layers(operation) {
                    rough::compute(&scene, operation, &mut standing)
                } else {
                    operation::compute(&scene, operation, &|share| tell(*i, share))
                };
                tell(*i, 1.0);
                (*i, done)
            };
            turn.iter().map(one).collect::<Vec<_>>()
        })
        .collect();
    computed.sort_by_key(|c| c.0);
    let mut computed = computed.into_iter().map(|c| c.1);
    let (mut processes, mut faults) = (Vec::new(), Vec::new());
    for process in &study.processes {
        let mut operations = Vec::new();
        for outcome in computed.by_ref().take(process.operations.len()) {
            match outcome {
                Ok(operation) => operations.push(operation),
                Err(fault) => faults.push(fault),
            }
        }
        let tool_change_s = tool_changes(process) as f64 * study.machine.tool_change_s.value;
        processes.push(ComputedProcess { name: process.name.clone(), tool_change_s, operations });
    }
    if !faults.is_empty() {
        return Err(Rejected { diagnostics: faults });
    }
    Ok(outcome(&scene, &processes, bare))
}

/// Operations by number that must be computed one after the other: those of a process that clear
/// stock, since each cuts what the one before it left; every other stands alone.
fn turns(study: &Study) -> Vec<Vec<usize>> {
    let mut out = Vec::new();
    let mut number = 0;
    for process in &study.processes {
        let numbered = process.operations.iter().zip(number..);
        let (clears, alone): (Vec<_>, Vec<_>) = numbered.partition(|(o, _)| study.is_in_layers(o));
        number += process.operations.len();
        out.push(clears.into_iter().map(|(_, i)| i).collect());
        out.extend(alone.into_iter().map(|(_, i)| vec![i]));
    }
    out
}

/// Notes how far one operation has come, and says how far all of them have.
fn advance(shares: &Mutex<Vec<f64>>, operation: usize, share: f64) -> f64 {
    let mut all = shares.lock().unwrap_or_else(PoisonError::into_inner);
    all[operation] = share;
    all.iter().sum::<f64>() / all.len() as f64
}

/// Changes from cutter to cutter; the spindle is empty at the start.
fn tool_changes(process: &Process) -> usize {
    let cutters: Vec<usize> = process.operations.iter().map(|o| o.cutter).collect();
    usize::from(!cutters.is_empty()) + cutters.windows(2).filter(|w| w[0] != w[1]).count()
}

fn outcome(scene: &Scene<'_>, processes: &[ComputedProcess<'_>], bare: Option<String>) -> Outcome {
    let study = scene.study;
    let ground = Ground::new(study, processes);
    let rates = Rates::of(study);
    let mut warnings: Vec<String> = scene.part.notes.clone();
    warnings.extend(of_stock(scene));
    warnings.extend(bare);
    warnings.extend(ground.warning());
    warnings.extend(
        study
            .part
            .material
            .cautions
            .iter()
            .map(|c| format!("{} ({}): {}", study.part.material.name, c.hazard.words(), c.text)),
    );
    if scene.fixtures.is_empty() {
        warnings.push("no fixture is given: clamps are not checked".to_owned());
    }
    let mut operations = study.processes.iter().flat_map(|p| &p.operations);
    if operations.any(|o| !study.is_in_layers(o)) {
        warnings.push(
            "near-net stock is assumed where a face is finished: the allowance stands evenly on the \
             feature"
                .to_owned(),
        );
    }
    Outcome {
        study: study.name.clone(),
        part: study.part.file.path.clone(),
        material: study.part.material.id.to_owned(),
        machine: study.machine.name.clone(),
        currency: study.machine.currency.clone().unwrap_or_default(),
        confidence: study.confidence,
        claims: claims::all(&ground),
        processes: processes.iter().map(|p| process_outcome(p, rates.as_ref())).collect(),
        assumptions: assumptions(study, processes),
        warnings,
    }
}

/// What was assumed on reading the stock's file.
fn of_stock(scene: &Scene<'_>) -> Vec<String> {
    let (Some(Stock::File(file)), Some(stock)) = (&scene.study.part.stock, scene.stock) else {
        return Vec::new();
    };
    stock.notes.iter().map(|note| format!("stock \"{}\": {note}", file.path)).collect()
}

fn process_outcome(process: &ComputedProcess<'_>, rates: Option<&Rates>) -> ProcessOutcome {
    ProcessOutcome {
        name: process.name.clone(),
        time_s: process.time_s(),
        tool_change_s: process.tool_change_s,
        cost: economics::lines(rates, process.time_s(), &process.uses()),
        cutters: process.cutters(),
        operations: process.operations.iter().map(|o| o.outcome.clone()).collect(),
    }
}

fn assumptions(study: &Study, processes: &[ComputedProcess<'_>]) -> Vec<Assumed> {
    let of_machine = study.machine.assumptions.iter().map(|a| Assumed {
        key: a.key.clone(),
        value: a.value,
        range: Interval::new(a.low, a.high),
        because: a.why.clone(),
    });
    let of_claims = timing::ranges(&study.machine).into_iter().chain(shape_error::ranges());
    let of_life = processes.iter().flat_map(|p| {
        p.operations.iter().map(|o| {
            let life = economics::EdgeLife::from(&o.outcome.life);
            economics::assumed_life(&p.name, &o.outcome.name, life)
        })
    });
    of_machine.chain(of_claims).chain(of_life).collect()
}
