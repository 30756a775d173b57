//! The motion of a process without the surface it leaves: what a program is written from.

use crate::job::Prepared;
use crate::operation::{account_options, prepare, refuse};
use crate::rough::{self, Standing};
use crate::scene::{Found, Scene};
use crate::{Progress, job};
use geom::TriMesh;
use machine::{AccountOptions, RouteOptions, Timer, TravelExceeded};
use part::Part;
use study::{Diagnostic, Operation, Process, Study, StudyCutter};
use toolpath::Toolpath;

/// One operation laid and timed.
#[derive(Debug, Clone)]
pub struct Laid<'a> {
    /// The operation.
    pub operation: &'a Operation,
    /// Its cutter.
    pub cutter: &'a StudyCutter,
    /// From the holder's nose to the tip, mm.
    pub stickout_mm: f64,
    /// Spindle speed, rev/min.
    pub rpm: f64,
    /// Poses in the part's frame.
    pub toolpath: Toolpath,
    /// How it is put on the machine.
    pub route: RouteOptions,
    /// Time by the machine's model, s.
    pub total_s: f64,
    /// Where axes leave their travel.
    pub exceeded: Vec<TravelExceeded>,
    /// What to look at.
    pub warnings: Vec<String>,
}

/// Lays and times every operation of a process.
///
/// # Errors
/// An operation that cannot be done, with its place in the study.
pub fn of_process<'a>(
    study: &'a Study,
    part: &'a Part,
    fixtures: &'a [TriMesh],
    process: &'a Process,
    progress: Progress<'_>,
) -> Result<Vec<Laid<'a>>, Diagnostic> {
    let found = Found::default();
    let scene = Scene { study, part, fixtures, found: &found };
    let mut standing = Standing::default();
    let count = process.operations.len().max(1) as f64;
    let one = |(i, operation): (usize, &'a Operation)| {
        let tell = |share| progress((i as f64 + share) / count);
        let motion = match operation.kind.clears() {
            true => cleared(&scene, operation, &mut standing)?,
            false => laid(&scene, operation, &tell)?,
        };
        let cutter = study.cutter_of(operation);
        Ok(Laid {
            operation,
            cutter,
            stickout_mm: motion.stickout_mm,
            rpm: motion.rpm,
            toolpath: motion.toolpath,
            route: motion.route,
            total_s: motion.total_s,
            exceeded: motion.exceeded,
            warnings: motion.warnings,
        })
    };
    process.operations.iter().enumerate().map(one).collect()
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
    let warnings = passes.warnings.iter().map(ToString::to_string).collect();
    timed(scene, &prepared, passes.toolpath, warnings)
}

fn cleared<'a>(
    scene: &Scene<'a>,
    operation: &'a Operation,
    standing: &mut Standing,
) -> Result<Laid<'a>, Diagnostic> {
    let (prepared, laid, _) = rough::laid(scene, operation, standing)?;
    timed(scene, &prepared, laid.toolpath, laid.warnings)
}

fn timed<'a>(
    scene: &Scene<'a>,
    prepared: &Prepared<'a>,
    toolpath: Toolpath,
    warnings: Vec<String>,
) -> Result<Laid<'a>, Diagnostic> {
    let operation = prepared.operation;
    let options = AccountOptions { worth_of: 0, ..account_options(scene, prepared) };
    let timed = Timer::new(&toolpath, &scene.study.machine, &options)
        .and_then(|timer| timer.account())
        .map_err(|e| refuse(scene, operation, &e.to_string()))?;
    Ok(Laid {
        operation,
        cutter: prepared.cutter,
        stickout_mm: prepared.assembly.stickout_mm,
        rpm: 60.0 * prepared.rev_s,
        route: options.route,
        total_s: timed.times.total_s,
        exceeded: timed.exceeded,
        warnings,
        toolpath,
    })
}
