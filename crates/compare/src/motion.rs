//! The motion of a process without the surface it leaves: what a program is written from.

use crate::job::Prepared;
use crate::loads::{self, Loads};
use crate::operation::{account_options, cutting_data, prepare, refuse};
use crate::rough::{self, Standing};
use crate::scene::{Given, Scene};
use crate::{Progress, job};
use cutter::Assembly;
use machine::{AccountOptions, RouteOptions, TimeAccount, Timer, TravelExceeded};
use study::outcome::{CuttingData, Load};
use study::{Diagnostic, Operation, Process, StudyCutter};
use toolpath::Toolpath;
use units::Interval;

/// One operation laid and timed.
#[derive(Debug, Clone)]
pub struct Laid<'a> {
    /// The operation.
    pub operation: &'a Operation,
    /// Its cutter.
    pub cutter: &'a StudyCutter,
    /// From the holder's nose to the tip, mm.
    pub stickout_mm: f64,
    /// Largest radius of cutter, shank and holder, mm.
    pub radius_mm: f64,
    /// How far a straight move may leave the contact line, mm.
    pub chord_mm: f64,
    /// Spindle speed, rev/min.
    pub rpm: f64,
    /// Poses in the part's frame.
    pub toolpath: Toolpath,
    /// How it is put on the machine.
    pub route: RouteOptions,
    /// Time by the machine's model, s.
    pub total_s: f64,
    /// Cutter and holder as bodies.
    pub assembly: Assembly,
    /// Speeds and feeds.
    pub data: CuttingData,
    /// Spacing of the passes, smallest to largest, mm.
    pub stepover_mm: Option<Interval>,
    /// Loads against their limits.
    pub loads: Vec<Load>,
    /// What the loads rest on, and what to look at.
    pub load_warnings: Vec<String>,
    /// Limits that the loads break.
    pub broken: Vec<String>,
    /// Where axes leave their travel.
    pub exceeded: Vec<TravelExceeded>,
    /// What to look at.
    pub warnings: Vec<String>,
}

/// Lays and times every operation of a process.
///
/// # Errors
/// A stock that is not of this part, or an operation that cannot be done, with its place in the study.
pub fn of_process<'a>(
    given: Given<'a>,
    process: &'a Process,
    progress: Progress<'_>,
) -> Result<Vec<Laid<'a>>, Diagnostic> {
    let study = given.study;
    let scene = Scene::new(given);
    let bare = rough::of_file(&scene)?;
    let mut standing = Standing::default();
    let count = process.operations.len().max(1) as f64;
    let one = |(i, operation): (usize, &'a Operation)| {
        let tell = |share| progress((i as f64 + share) / count);
        match study.is_in_layers(operation) {
            true => cleared(&scene, operation, &mut standing),
            false => laid(&scene, operation, &tell),
        }
    };
    let mut laid: Vec<Laid<'a>> =
        process.operations.iter().enumerate().map(one).collect::<Result<_, _>>()?;
    if let (Some(bare), Some(first)) = (bare, laid.first_mut()) {
        first.warnings.push(bare);
    }
    Ok(laid)
}

/// What an operation's own way of laying gives to its motion.
struct Way {
    toolpath: Toolpath,
    chord_mm: f64,
    data: CuttingData,
    stepover_mm: Option<Interval>,
    warnings: Vec<String>,
}

fn laid<'a>(
    scene: &Scene<'a>,
    operation: &'a Operation,
    progress: Progress<'_>,
) -> Result<Laid<'a>, Diagnostic> {
    let prepared = prepare(scene, operation)?;
    let job = job::face_job(scene.study, scene.part, &prepared, scene.fixtures, prepared.feed_mm_s);
    let passes = pattern::finish_face(&job, progress)
        .map_err(|e| refuse(scene, operation, &e.to_string()))?;
    let (options, account) = timed(scene, &prepared, &passes.toolpath)?;
    let loads = loads::of(scene, &prepared, &passes, account.times.cutting_s);
    let way = Way {
        chord_mm: passes.chord_mm,
        data: cutting_data(&prepared, &passes),
        stepover_mm: passes.stepover_mm.map(|s| Interval::new(s.min, s.max)),
        warnings: passes.warnings.iter().map(ToString::to_string).collect(),
        toolpath: passes.toolpath,
    };
    Ok(with(prepared, way, options, account, loads))
}

fn cleared<'a>(
    scene: &Scene<'a>,
    operation: &'a Operation,
    standing: &mut Standing,
) -> Result<Laid<'a>, Diagnostic> {
    let (prepared, laid, _) = rough::laid(scene, operation, standing)?;
    let (options, account) = timed(scene, &prepared, &laid.toolpath)?;
    let loads = rough::loads_of(scene, &prepared, &laid, account.times.cutting_s);
    let way = Way {
        chord_mm: rough::CHORD_MM,
        data: rough::data(&prepared, &laid),
        stepover_mm: Some(Interval::point(laid.measures.width_mm)),
        warnings: laid.warnings,
        toolpath: laid.toolpath,
    };
    Ok(with(prepared, way, options, account, loads))
}

fn timed(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    toolpath: &Toolpath,
) -> Result<(AccountOptions, TimeAccount), Diagnostic> {
    let options = AccountOptions { worth_of: 0, ..account_options(scene, prepared) };
    let account = Timer::new(toolpath, &scene.study.machine, &options)
        .and_then(|timer| timer.account())
        .map_err(|e| refuse(scene, prepared.operation, &e.to_string()))?;
    Ok((options, account))
}

fn with<'a>(
    prepared: Prepared<'a>,
    way: Way,
    options: AccountOptions,
    account: TimeAccount,
    loads: Loads,
) -> Laid<'a> {
    Laid {
        operation: prepared.operation,
        cutter: prepared.cutter,
        stickout_mm: prepared.assembly.stickout_mm,
        radius_mm: prepared.assembly.largest_radius_mm(),
        chord_mm: way.chord_mm,
        rpm: 60.0 * prepared.rev_s,
        toolpath: way.toolpath,
        route: options.route,
        total_s: account.times.total_s,
        assembly: prepared.assembly,
        data: way.data,
        stepover_mm: way.stepover_mm,
        loads: loads.loads,
        load_warnings: loads.warnings,
        broken: loads.broken,
        exceeded: account.exceeded,
        warnings: way.warnings,
    }
}
