//! From arguments to output and exit status.

use crate::args::{self, Cli, Command};
use crate::bar::Bar;
use crate::{complaint, output};
use commands::{
    Document, Failure, audit, compare, cutter_set, demo, inspect, machine_fit, machine_test, new,
    program, report,
};
use std::num::NonZeroUsize;

/// Status when a limit is broken and the call asked for strictness.
const BROKEN: u8 = 3;

/// Runs the command; the exit status.
pub(crate) fn run(cli: &Cli) -> u8 {
    let done = match &cli.command {
        Command::Demo(a) => run_demo(a).and_then(|d| show(&d, cli.json, false)),
        Command::New(a) => run_new(a).and_then(|d| show(&d, cli.json, false)),
        Command::Inspect(a) => run_inspect(a).and_then(|d| show(&d, cli.json, false)),
        Command::Compare(a) => run_compare(a).and_then(|d| show(&d, cli.json, a.strict)),
        Command::CutterSet(a) => run_cutter_set(a).and_then(|d| show(&d, cli.json, false)),
        Command::Report(a) => run_report(a).and_then(|d| show(&d, cli.json, false)),
        Command::Program(a) => run_program(a).and_then(|d| show(&d, cli.json, false)),
        Command::MachineTest(a) => run_machine_test(a).and_then(|d| show(&d, cli.json, false)),
        Command::MachineFit(a) => run_machine_fit(a).and_then(|d| show(&d, cli.json, false)),
        Command::Audit(a) => run_audit(a).and_then(|d| show(&d, cli.json, a.strict)),
        Command::Calc(calc) => args::calc::run(calc).and_then(|d| show(&d, cli.json, false)),
    };
    match done {
        Ok(status) => status,
        Err(failure) => {
            output::note(complaint::text(&failure).trim_end());
            failure.exit_status()
        }
    }
}

fn run_demo(args: &args::Demo) -> Result<demo::Demo, Failure> {
    let bar = Bar::start("demo");
    let threads = args.threads.map(NonZeroUsize::get);
    let request = demo::Request { folder: args.folder.clone(), threads };
    demo::run(&request, &|share| bar.set(share))
}

fn run_new(args: &args::New) -> Result<new::Written, Failure> {
    new::run(&new::Request {
        folder: args.folder.clone(),
        part: args.part.clone(),
        unit: args.unit.clone(),
        solid: args.solid.clone(),
        material: args.material.clone(),
        machine: args.machine.clone(),
    })
}

fn run_inspect(args: &args::Inspect) -> Result<inspect::Inspection, Failure> {
    inspect::run(&inspect::Request {
        part: args.part.clone(),
        unit: args.unit.clone(),
        solid: args.solid.clone(),
    })
}

fn run_compare(args: &args::Compare) -> Result<compare::Comparison, Failure> {
    let bar = Bar::start("comparing");
    let threads = args.threads.map(NonZeroUsize::get);
    let request = compare::Request { study: args.study.clone(), out: args.out.clone(), threads };
    compare::run(&request, &|share| bar.set(share))
}

fn run_cutter_set(args: &args::CutterSet) -> Result<cutter_set::Chosen, Failure> {
    cutter_set::run(&cutter_set::Request {
        study: args.study.clone(),
        objective: args.objective.clone(),
        magazine: args.magazine.map(NonZeroUsize::get),
    })
}

fn run_report(args: &args::Report) -> Result<report::Written, Failure> {
    let bar = Bar::start("comparing");
    let threads = args.threads.map(NonZeroUsize::get);
    let request = report::Request { study: args.study.clone(), out: args.out.clone(), threads };
    report::run(&request, &|share| bar.set(share))
}

fn run_program(args: &args::Program) -> Result<program::Written, Failure> {
    let bar = Bar::start("writing the program");
    let request = program::Request {
        study: args.study.clone(),
        process: args.process.clone(),
        out: args.out.clone(),
        sheet: args.sheet.clone(),
        other_solution: args.other_solution,
        restart_passes: args.restart_passes.map(NonZeroUsize::get),
    };
    program::run(&request, &|share| bar.set(share))
}

fn run_machine_test(args: &args::MachineTest) -> Result<machine_test::Written, Failure> {
    machine_test::run(&machine_test::Request {
        machine: args.machine.clone(),
        out: args.out.clone(),
    })
}

fn run_machine_fit(args: &args::MachineFit) -> Result<machine_fit::Fitted, Failure> {
    machine_fit::run(&machine_fit::Request {
        machine: args.machine.clone(),
        times: args.times.clone(),
        out: args.out.clone(),
    })
}

fn run_audit(args: &args::Audit) -> Result<audit::Audited, Failure> {
    audit::run(&audit::Request {
        program: args.program.clone(),
        machine: args.machine.clone(),
        dialect: args.dialect.clone(),
        block_delete: args.block_delete,
        offsets: args.offsets.clone(),
        variables: args.variables.clone(),
        tools: args.tools.clone(),
        study: args.study.clone(),
        cutters: args.cutters.clone(),
        stock: args.stock.clone(),
        report: args.report.clone(),
    })
}

/// Shows a document; the exit status.
fn show(document: &impl Document, json: bool, strict: bool) -> Result<u8, Failure> {
    for warning in document.warnings() {
        output::note(&format!("note: {warning}"));
    }
    let text = if json { document.json()? } else { document.text() };
    if !output::show(&text) {
        return Ok(1);
    }
    Ok(if strict && document.limits_broken() { BROKEN } else { 0 })
}
