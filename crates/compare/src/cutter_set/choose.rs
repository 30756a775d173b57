//! From pockets and cutters to the proven set.

use super::pocket::{self, Access, NamedPocket};
use super::stage::{self, Rate, Room};
use rayon::prelude::*;
use selection::{Choice, Problem, best_sets};
use study::{Rejected, Study, StudyCutter};

/// Largest cutter radius over the corner radius that it may finish.
const CORNER_RATIO: f64 = 0.9;
/// Cutting minutes of one edge. Common practice, no source.
const EDGE_LIFE_MIN: f64 = 45.0;
/// Radius by which a corner may miss the ratio and still count as kept, mm: rounding only.
const SAME_RADIUS_MM: f64 = 1e-9;
/// Sets given: the best and three runners-up.
const SETS: usize = 4;

/// What is made least.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Objective {
    /// Time of the pockets of one part.
    Time,
    /// Cost of the pockets of one part.
    Cost,
}

/// Cutting time of one cutter in one pocket on what a larger one left.
#[derive(Debug, Clone, PartialEq)]
pub struct Stage {
    /// The pocket.
    pub pocket: String,
    /// The larger cutter; `None`: the full pocket.
    pub after: Option<String>,
    /// The cutter.
    pub cutter: String,
    /// Cutting time, s.
    pub time_s: f64,
    /// Machine time and edge wear, in the machine's currency; `None` without a rate.
    pub cost: Option<f64>,
    index: [usize; 3],
}

/// A set of cutters.
#[derive(Debug, Clone, PartialEq)]
pub struct Worth {
    /// Cutters from large to small.
    pub cutters: Vec<String>,
    /// Time with tool changes, s.
    pub time_s: f64,
    /// Cost with tool changes; `None` without a machine rate.
    pub cost: Option<f64>,
}

/// The proven set and what it rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct CutterSet {
    /// What was made least.
    pub objective: Objective,
    /// One tool change, s.
    pub tool_change_s: f64,
    /// Largest cutter radius over corner radius.
    pub corner_ratio: f64,
    /// Places that bound the set.
    pub magazine: Option<usize>,
    /// The sets, the best first.
    pub sets: Vec<Worth>,
    /// For each cutter of the best set, the objective's loss without it; `None`: it cannot be done.
    pub worth: Vec<(String, Option<f64>)>,
    /// What each cutter reaches.
    pub access: Vec<Access>,
    /// Every feasible stage.
    pub stages: Vec<Stage>,
    /// Pockets that no cutter of the study finishes, and other cautions.
    pub warnings: Vec<String>,
}

/// Chooses the set for the study's pockets.
///
/// # Errors
/// No pocket, no flat-bottomed cutter, no pocket that can be finished, or too few places.
pub fn choose(
    study: &Study,
    part: &part::Part,
    objective: Objective,
    magazine: Option<usize>,
) -> Result<CutterSet, Rejected> {
    let pockets = pocket::of_study(study, part).map_err(one)?;
    let mut cutters: Vec<&StudyCutter> =
        study.cutters.iter().filter(|c| pocket::is_candidate(c)).collect();
    cutters.sort_by(|a, b| b.spec.diameter_mm.total_cmp(&a.spec.diameter_mm));
    let refuse = |message: String, expected, remedy| {
        Err(one(study.fault(study.part.file.place, message, expected, remedy)))
    };
    if cutters.is_empty() {
        let message = "the study has no cutter that clears a flat floor".to_owned();
        return refuse(message, "a flat or corner-radius cutter", "add one to cutters.toml");
    }
    if objective == Objective::Cost && study.machine.rate_per_hour.is_none() {
        let message = "the machine has no hourly rate".to_owned();
        return refuse(
            message,
            "rate_per_hour, for --objective cost",
            "add it to the machine file",
        );
    }
    let pairs: Vec<_> = pockets.iter().flat_map(|p| cutters.iter().map(move |c| (p, *c))).collect();
    let reached: Vec<(Access, Room)> =
        pairs.par_iter().map(|(p, c)| pocket::access(p, c)).collect();
    let stages = stages(study, &pockets, &cutters, &reached)?;
    let mut warnings = Vec::new();
    let finishes = finishers(&pockets, &cutters, &reached, &mut warnings);
    if study.machine.rate_per_hour.is_some() {
        let unpriced = cutters.iter().filter(|c| c.price.is_none()).map(|c| c.id.as_str());
        let unpriced: Vec<&str> = unpriced.collect();
        if !unpriced.is_empty() {
            warnings.push(format!("no price, taken as 0 in costs: {}", unpriced.join(", ")));
        }
    }
    let magazine = magazine.or(study.machine.magazine.map(|m| m as usize));
    let time = problem(study, &cutters, &stages, &finishes, Objective::Time, magazine);
    let cost = problem(study, &cutters, &stages, &finishes, Objective::Cost, magazine);
    let aim = if objective == Objective::Time { &time } else { &cost };
    let sets = best_sets(aim, SETS);
    if aim.pockets.is_empty() || sets.is_empty() {
        let message =
            format!("no set of the cutters finishes the pockets: {}", warnings.join("; "));
        return refuse(message, "cutters that fit, and places for them", "add a cutter, or places");
    }
    let has_rate = study.machine.rate_per_hour.is_some();
    let worth = worth(aim, &sets[0], &cutters);
    Ok(CutterSet {
        objective,
        tool_change_s: study.machine.tool_change_s.value,
        corner_ratio: CORNER_RATIO,
        magazine,
        sets: sets.iter().map(|s| priced(&time, &cost, s, &cutters, has_rate)).collect(),
        worth,
        access: reached.into_iter().map(|(access, _)| access).collect(),
        stages,
        warnings,
    })
}

fn one(fault: study::Diagnostic) -> Rejected {
    Rejected { diagnostics: vec![fault] }
}

/// Every feasible ordered pair, pocket by pocket.
fn stages(
    study: &Study,
    pockets: &[NamedPocket],
    cutters: &[&StudyCutter],
    reached: &[(Access, Room)],
) -> Result<Vec<Stage>, Rejected> {
    let n = cutters.len();
    let works = |p: usize, c: usize| {
        let access = &reached[p * n + c].0;
        access.reaches_floor && access.accessible_mm2 > 0.0
    };
    let mut wanted = Vec::new();
    for p in 0..pockets.len() {
        for c in (0..n).filter(|c| works(p, *c)) {
            let larger = |a: &usize| {
                works(p, *a) && cutters[*a].spec.diameter_mm > cutters[c].spec.diameter_mm
            };
            wanted.push([p, c, c]);
            wanted.extend((0..c).filter(larger).map(|a| [p, a, c]));
        }
    }
    let rates = pockets
        .iter()
        .flat_map(|p| cutters.iter().map(|c| stage::rate(study, c, p.pocket.depth_mm)));
    let rates = rates.collect::<Result<Vec<Rate>, _>>().map_err(one)?;
    let made = wanted.into_iter().map(|[p, a, c]| {
        let left = (a != c).then(|| &reached[p * n + a].1);
        let time_s = stage::time_s(&rates[p * n + c], &reached[p * n + c].1, left);
        Stage {
            pocket: pockets[p].name.clone(),
            after: (a != c).then(|| cutters[a].id.clone()),
            cutter: cutters[c].id.clone(),
            time_s,
            cost: cost(study, cutters[c], time_s),
            index: [p, a, c],
        }
    });
    Ok(made.collect())
}

/// Machine time, and the edges and changes that its wear takes.
fn cost(study: &Study, cutter: &StudyCutter, time_s: f64) -> Option<f64> {
    let rate_per_s = study.machine.rate_per_hour? / 3600.0;
    let lives = time_s / (60.0 * EDGE_LIFE_MIN);
    let edge = cutter.price.unwrap_or(0.0) / f64::from(cutter.edges.max(1));
    Some(time_s * rate_per_s + lives * (edge + cutter.change_s.unwrap_or(0.0) * rate_per_s))
}

/// Which cutters may end the chain of each pocket; says where none may.
fn finishers(
    pockets: &[NamedPocket],
    cutters: &[&StudyCutter],
    reached: &[(Access, Room)],
    warnings: &mut Vec<String>,
) -> Vec<Vec<bool>> {
    let mut all = Vec::new();
    for (pocket, row) in pockets.iter().zip(reached.chunks(cutters.len())) {
        let largest = CORNER_RATIO * pocket.corner_radius_mm();
        let fits = |(c, (access, _)): (&&StudyCutter, &(Access, Room))| {
            let small = 0.5 * c.spec.diameter_mm <= largest + SAME_RADIUS_MM;
            small && access.reaches_floor && access.accessible_mm2 > 0.0
        };
        let flags: Vec<bool> = cutters.iter().zip(row).map(fits).collect();
        if !flags.contains(&true) {
            let rest = row.iter().filter(|(a, _)| a.reaches_floor).map(|(a, _)| a.rest_mm2);
            let rest = rest.min_by(f64::total_cmp);
            warnings.push(unfinished(pocket, 2.0 * largest, rest));
        }
        all.push(flags);
    }
    all
}

fn unfinished(pocket: &NamedPocket, diameter_mm: f64, rest_mm2: Option<f64>) -> String {
    let name = &pocket.name;
    let depth = pocket.pocket.depth_mm;
    let Some(rest) = rest_mm2 else {
        return format!("{name} is left out: no cutter reaches its depth of {depth:.2} mm");
    };
    let would = match diameter_mm {
        d if d <= 0.0 => {
            "two walls meet without a radius, which no milling cutter makes".to_owned()
        }
        d if d.is_finite() => {
            format!("a cutter of at most {d:.3} mm that reaches {depth:.2} mm would do")
        }
        _ => "no cutter that reaches the floor goes in".to_owned(),
    };
    format!("{name} is left out: {would}; the best cutter here leaves {rest:.3} mm2 of its plan")
}

/// The stages as a choice, in s or in currency; pockets that nothing finishes are not in it.
fn problem(
    study: &Study,
    cutters: &[&StudyCutter],
    stages: &[Stage],
    finishes: &[Vec<bool>],
    objective: Objective,
    magazine: Option<usize>,
) -> Problem {
    let n = cutters.len();
    let blank = |f: &Vec<bool>| selection::Pocket {
        first: vec![f64::INFINITY; n],
        after: vec![vec![f64::INFINITY; n]; n],
        finishes: f.clone(),
    };
    let mut pockets: Vec<selection::Pocket> = finishes.iter().map(blank).collect();
    for stage in stages {
        let [p, a, c] = stage.index;
        let value = match objective {
            Objective::Time => stage.time_s,
            Objective::Cost => stage.cost.unwrap_or(0.0),
        };
        if a == c { pockets[p].first[c] = value } else { pockets[p].after[a][c] = value }
    }
    pockets.retain(|p| p.finishes.contains(&true));
    let change_s = study.machine.tool_change_s.value;
    let change = match objective {
        Objective::Time => change_s,
        Objective::Cost => change_s * study.machine.rate_per_hour.unwrap_or(0.0) / 3600.0,
    };
    Problem { fixed: vec![change; n], pockets, places: magazine.unwrap_or(n) }
}

/// A set with its time and cost: the objective's own is exact, the other is that of the chains that
/// are best for it.
fn priced(
    time: &Problem,
    cost: &Problem,
    set: &Choice,
    cutters: &[&StudyCutter],
    has_rate: bool,
) -> Worth {
    let flags: Vec<bool> = (0..cutters.len()).map(|c| set.members.contains(&c)).collect();
    Worth {
        cutters: set.members.iter().map(|c| cutters[*c].id.clone()).collect(),
        time_s: time.cost(&flags).unwrap_or(f64::INFINITY),
        cost: cost.cost(&flags).filter(|_| has_rate),
    }
}

/// What the best set loses when one of its cutters may not be used at all.
fn worth(aim: &Problem, best: &Choice, cutters: &[&StudyCutter]) -> Vec<(String, Option<f64>)> {
    let without = |c: &usize| {
        let mut barred = aim.clone();
        for pocket in &mut barred.pockets {
            pocket.first[*c] = f64::INFINITY;
            pocket.after.iter_mut().for_each(|row| row[*c] = f64::INFINITY);
        }
        let loss = best_sets(&barred, 1).first().map(|s| s.cost - best.cost);
        (cutters[*c].id.clone(), loss)
    };
    best.members.iter().map(without).collect()
}
