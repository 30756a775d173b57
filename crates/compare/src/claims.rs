//! Claims of each later process against the first: value, interval, ground, and what settles it.

use crate::computed::{ComputedOperation, ComputedProcess};
use crate::draws::Draws;
use crate::economics::{self, Rates, Use};
use crate::response::quantiles;
use crate::shape_error;
use crate::split::{self, Causes};
use crate::timing::{COLUMNS, Quantity, factors};
use crate::weights::{self, Measured, Weights};
use machine::Machine;
use study::Study;
use study::outcome::{Claim, Split};
use units::Interval;

/// Number of draws.
const DRAWS: usize = 4096;

/// All that claims are made from.
pub(crate) struct Ground<'a> {
    study: &'a Study,
    processes: &'a [ComputedProcess<'a>],
    draws: Draws,
    weights: Weights,
}

impl<'a> Ground<'a> {
    /// Draws once for all processes and weighs the draws by the client's clock.
    pub(crate) fn new(study: &'a Study, processes: &'a [ComputedProcess<'a>]) -> Self {
        let columns = COLUMNS + processes.len() + study.cutters.len();
        let draws = Draws::new(DRAWS, columns);
        let mut ground = Self { study, processes, draws, weights: weights::from_clock(&[], DRAWS) };
        let measured: Vec<Measured> = processes
            .iter()
            .enumerate()
            .flat_map(|(p, process)| process.operations.iter().map(move |o| (p, o)))
            .filter_map(|(p, o)| {
                let clock_s = o.prepared.operation.measured_time_s?;
                Some(Measured { clock_s, times_s: ground.operation_times(p, o) })
            })
            .collect();
        ground.weights = weights::from_clock(&measured, DRAWS);
        ground
    }

    /// What must be told about the client's clock.
    pub(crate) fn warning(&self) -> Option<String> {
        let ratio = self.weights.disagreement?;
        Some(format!(
            "the model and the client's clock disagree beyond what is uncertain of the machine: the \
             model says {:.0} % of the clock. All times in the claims are scaled to the clock; check \
             override, feeds and the measured program",
            100.0 * ratio
        ))
    }

    /// The model's own error in each draw: common to all, and of this process.
    fn model(&self, process: usize) -> Vec<f64> {
        let error = self.study.machine.model_error();
        let common = factors(&self.draws, Quantity::ModelCommon.column(), error.common);
        let own = factors(&self.draws, COLUMNS + process, self.own_error(process));
        let scale = self.weights.correction;
        common.into_iter().zip(own).map(|(a, b)| a * b * scale).collect()
    }

    /// Interval of the model's error in one process. A clock that the model does not meet shows an
    /// error nobody knows the cause of: a process that was not timed may share it or not, so half of
    /// it either way is added there.
    fn own_error(&self, process: usize) -> Interval {
        let operations = &self.processes[process].operations;
        let timed = operations.iter().all(|o| o.prepared.operation.measured_time_s.is_some());
        let unknown = if timed { 0.0 } else { 0.5 * self.weights.correction.ln().abs() };
        let own = self.study.machine.model_error().own;
        Interval::new(own.low * (-unknown).exp(), own.high * unknown.exp())
    }

    fn operation_times(&self, process: usize, operation: &ComputedOperation<'_>) -> Vec<f64> {
        let times = operation.timing.in_draws(&self.draws, DRAWS);
        times.into_iter().zip(self.model(process)).map(|(t, m)| t * m).collect()
    }

    fn process_times(&self, process: usize) -> Vec<f64> {
        let computed = &self.processes[process];
        let interval = self.study.machine.uncertainty().tool_change;
        let changes = factors(&self.draws, Quantity::ToolChange.column(), interval);
        let start: Vec<f64> = changes.iter().map(|f| f * computed.tool_change_s).collect();
        computed.operations.iter().fold(start, |sum, o| {
            sum.into_iter().zip(self.operation_times(process, o)).map(|(a, b)| a + b).collect()
        })
    }

    fn process_costs(&self, process: usize, rates: &Rates, times_s: &[f64]) -> Vec<f64> {
        let uses = self.processes[process].uses();
        let column = |used: &Use<'_>| {
            let index = self.study.cutters.iter().position(|c| c.id == used.cutter.id).unwrap_or(0);
            factors(&self.draws, COLUMNS + self.processes.len() + index, used.life.factor())
        };
        let lives: Vec<Vec<f64>> = uses.iter().map(column).collect();
        (0..DRAWS)
            .map(|i| {
                let of_draw: Vec<f64> = lives.iter().map(|l| l[i]).collect();
                economics::per_part(rates, times_s[i], &uses, &of_draw)
            })
            .collect()
    }

    /// Interval of values in all draws at the study's confidence.
    fn interval(&self, values: &[f64]) -> Interval {
        let tail = 0.5 * (1.0 - self.study.confidence);
        let ends = quantiles(values, &self.weights.of_draw, &[tail, 1.0 - tail]);
        Interval::new(ends[0], ends[1])
    }

    /// The best value: nominal where nothing was measured, else the weighted median.
    fn best(&self, nominal: f64, values: &[f64]) -> f64 {
        if self.has_clock() {
            return quantiles(values, &self.weights.of_draw, &[0.5])[0];
        }
        nominal
    }

    /// Whether the client measured any time.
    fn has_clock(&self) -> bool {
        let mut operations = self.processes.iter().flat_map(|p| &p.operations);
        operations.any(|o| o.prepared.operation.measured_time_s.is_some())
    }
}

/// Claims of every later process.
pub(crate) fn all(ground: &Ground<'_>) -> Vec<Claim> {
    (1..ground.processes.len())
        .flat_map(|p| {
            let mut claims = of_process(ground, p);
            claims.extend(of_operations(ground, p));
            claims
        })
        .collect()
}

fn of_process(ground: &Ground<'_>, process: usize) -> Vec<Claim> {
    let (today, proposal) = (&ground.processes[0], &ground.processes[process]);
    let (before, after) = (ground.process_times(0), ground.process_times(process));
    let saved: Vec<f64> = before.iter().zip(&after).map(|(a, b)| a - b).collect();
    let shares: Vec<f64> = before.iter().zip(&after).map(|(a, b)| 1.0 - b / a).collect();
    let quality = quality(today, proposal);
    let claim = |quantity: &str, nominal: f64, values: &[f64], split: Option<Split>| Claim {
        process: proposal.name.clone(),
        operation: None,
        quantity: quantity.to_owned(),
        like_for_like: quality.alike,
        differs: quality.words.clone(),
        value: ground.best(nominal, values),
        interval: ground.interval(values),
        confidence: ground.study.confidence,
        rests_on: time_ground(ground),
        split,
        settled_by: "both programs timed by the same clock from cycle start to end".to_owned(),
    };
    let nominal = today.time_s() - proposal.time_s();
    let causes = paired(today, proposal).map(|(a, b)| split::split(&a, &b));
    let mut claims = vec![
        claim("time_saved_s", nominal, &saved, causes),
        claim("time_saved_share", nominal / today.time_s(), &shares, None),
    ];
    if let Some(rates) = Rates::of(ground.study) {
        let (cost_a, cost_b) = (
            ground.process_costs(0, &rates, &before),
            ground.process_costs(process, &rates, &after),
        );
        let values: Vec<f64> = cost_a.iter().zip(&cost_b).map(|(a, b)| a - b).collect();
        let at = |p: &ComputedProcess<'_>| {
            let uses = p.uses();
            economics::per_part(&rates, p.time_s(), &uses, &vec![1.0; uses.len()])
        };
        let mut cost = claim("cost_saved_per_part", at(today) - at(proposal), &values, None);
        let uses = [today.uses(), proposal.uses()].concat();
        let mut grounds: Vec<&str> = uses.iter().map(|u| u.life.because).collect();
        grounds.sort_unstable();
        grounds.dedup();
        cost.rests_on.extend(grounds.into_iter().map(str::to_owned));
        cost.settled_by = "cost account of a lot with tool use recorded".to_owned();
        claims.push(cost);
    }
    claims
}

/// Causes of both sides, operation facing operation; `None` where they do not face each other.
fn paired(
    today: &ComputedProcess<'_>,
    proposal: &ComputedProcess<'_>,
) -> Option<(Vec<Causes>, Vec<Causes>)> {
    let facing = today.operations.len() == proposal.operations.len()
        && today.operations.iter().zip(&proposal.operations).all(|(a, b)| a.faces(b));
    let causes =
        |p: &ComputedProcess<'_>| p.operations.iter().map(|o| o.causes).collect::<Vec<_>>();
    facing.then(|| (causes(today), causes(proposal)))
}

fn of_operations(ground: &Ground<'_>, process: usize) -> Vec<Claim> {
    let today = &ground.processes[0];
    let proposal = &ground.processes[process];
    let mut claims = Vec::new();
    for after in &proposal.operations {
        if let Some(before) = today.operations.iter().find(|o| o.faces(after)) {
            claims.push(operation_time(ground, process, before, after));
        }
        claims.extend(cusp(ground, &proposal.name, after));
        claims.extend(offset(ground, &proposal.name, after));
    }
    claims
}

fn operation_time(
    ground: &Ground<'_>,
    process: usize,
    before: &ComputedOperation<'_>,
    after: &ComputedOperation<'_>,
) -> Claim {
    let (a, b) = (ground.operation_times(0, before), ground.operation_times(process, after));
    let saved: Vec<f64> = a.iter().zip(&b).map(|(a, b)| a - b).collect();
    let quality = operation_quality(before, after);
    Claim {
        process: ground.processes[process].name.clone(),
        operation: Some(after.outcome.name.clone()),
        quantity: "time_saved_s".to_owned(),
        like_for_like: quality.alike,
        differs: quality.words,
        value: ground.best(before.timing.nominal_s - after.timing.nominal_s, &saved),
        interval: ground.interval(&saved),
        confidence: ground.study.confidence,
        rests_on: time_ground(ground),
        split: Some(split::split(&[before.causes], &[after.causes])),
        settled_by: "both operations timed by the same clock".to_owned(),
    }
}

fn cusp(ground: &Ground<'_>, process: &str, o: &ComputedOperation<'_>) -> Option<Claim> {
    let value = o.outcome.cusp.cut_max_um?;
    let stepover_mm = o.outcome.stepover_mm?.max;
    let good_to_um = o.outcome.cusp.good_to_um.unwrap_or(0.0);
    let arc = o.prepared.assembly.cutter.profile().main_arc()?;
    let limit = o.outcome.cusp.limit_um;
    Some(Claim {
        process: process.to_owned(),
        operation: Some(o.outcome.name.clone()),
        quantity: "cusp_max_um".to_owned(),
        like_for_like: limit.is_none_or(|l| value <= l + good_to_um),
        differs: limit.filter(|l| value > l + good_to_um).map(|l| format!("the limit is {l} µm")),
        value,
        interval: shape_error::cusp_interval(
            value,
            stepover_mm,
            arc.radius_mm,
            good_to_um,
            ground.study.confidence,
        ),
        confidence: ground.study.confidence,
        rests_on: vec![
            o.outcome.cusp.cut_max_place_mm.map_or_else(
                || "cut simulated on the true surface".to_owned(),
                |[x, y, z]| {
                    format!(
                        "cut simulated on the true surface, highest at ({x:.2}, {y:.2}, {z:.2})"
                    )
                },
            ),
            "arc radius good to 0.5 % (common practice, no source)".to_owned(),
            "no runout, wear, deflection or vibration".to_owned(),
        ],
        split: None,
        settled_by:
            "a profile across the lay, unfiltered or with a cut-off well above the step-over"
                .to_owned(),
    })
}

fn offset(ground: &Ground<'_>, process: &str, o: &ComputedOperation<'_>) -> Option<Claim> {
    o.outcome.cusp.cut_max_um.filter(|_| o.outcome.roughed.is_none())?;
    let kappa_rad = o.outcome.data.kappa_deg.middle().to_radians();
    let half = shape_error::surface_offset_um(
        &o.prepared.assembly.cutter,
        kappa_rad,
        ground.study.confidence,
    );
    Some(Claim {
        process: process.to_owned(),
        operation: Some(o.outcome.name.clone()),
        quantity: "surface_offset_um".to_owned(),
        like_for_like: true,
        differs: None,
        value: 0.0,
        interval: Interval::new(-half, half),
        confidence: ground.study.confidence,
        rests_on: vec![
            "cutter length measured to 0.01 mm, arc radius good to 0.5 % (common practice, no source)"
                .to_owned(),
            "rotary axes, temperature and deflection left out".to_owned(),
        ],
        split: None,
        settled_by: "the face probed or measured against nominal".to_owned(),
    })
}

fn time_ground(ground: &Ground<'_>) -> Vec<String> {
    let machine: &Machine = &ground.study.machine;
    let stated = if machine.assumptions.is_empty() {
        "machine dynamics by data sheet"
    } else {
        "machine dynamics partly by data sheet, partly assumed"
    };
    let clock = if ground.weights.disagreement.is_some() {
        "scaled to the client's clock, which the model does not meet"
    } else if ground.has_clock() {
        "narrowed by the client's clock"
    } else {
        "no time measured"
    };
    vec![
        stated.to_owned(),
        clock.to_owned(),
        "one machine in both processes; its errors are common".to_owned(),
    ]
}

/// Whether two sides meet the same limits, and in what they differ.
struct Quality {
    alike: bool,
    words: Option<String>,
}

fn quality(today: &ComputedProcess<'_>, proposal: &ComputedProcess<'_>) -> Quality {
    let mut words = Vec::new();
    for (side, other) in [(today, proposal), (proposal, today)] {
        for o in &side.operations {
            if !other.operations.iter().any(|p| p.faces(o)) {
                words.push(format!("only {} has \"{}\"", side.name, o.outcome.name));
            }
        }
    }
    for after in &proposal.operations {
        let before = today.operations.iter().find(|o| o.faces(after));
        words.extend(
            before.map(|b| operation_quality(b, after)).filter(|q| !q.alike).and_then(|q| q.words),
        );
    }
    Quality { alike: words.is_empty(), words: (!words.is_empty()).then(|| words.join("; ")) }
}

fn operation_quality(before: &ComputedOperation<'_>, after: &ComputedOperation<'_>) -> Quality {
    let (a, b) = (&before.outcome, &after.outcome);
    let mut words: Vec<String> = Vec::new();
    for (side, o) in [("today", a), ("the proposal", b)] {
        words.extend(o.broken.iter().map(|w| format!("{side}: {w}")));
    }
    if a.cusp.limit_um.is_none()
        && let (Some(x), Some(y)) = (a.cusp.cut_max_um, b.cusp.cut_max_um)
        && y > x * (1.0 + SAME_CUSP)
    {
        words.push(format!("no cusp is asked for, and it rises from {x:.2} to {y:.2} µm"));
    }
    Quality { alike: words.is_empty(), words: (!words.is_empty()).then(|| words.join("; ")) }
}

/// Cusps that differ by less than this share count as the same where the drawing asks for none.
const SAME_CUSP: f64 = 0.05;
