//! The argument list.

pub(crate) mod calc;

use clap::{Args, Parser, Subcommand};
use std::num::NonZeroUsize;
use std::path::PathBuf;

/// Which cutter finishes a face faster: time, cusp and gouge computed for this face, this cutter
/// and this machine.
#[derive(Debug, Parser)]
#[command(name = "trialcut", version, max_term_width = 100, arg_required_else_help = true)]
#[command(after_help = "Example:\n  trialcut calc stepover --radius 250 --cusp-um 5")]
pub(crate) struct Cli {
    /// What to do
    #[command(subcommand)]
    pub(crate) command: Command,
    /// Give one JSON document on standard output and nothing else
    #[arg(long, global = true)]
    pub(crate) json: bool,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Write the demo study into a folder, run it, write its report
    #[command(after_help = "Example:\n  trialcut demo my-demo")]
    Demo(Demo),
    /// Start a study of a part, with the features found in it
    #[command(
        after_help = "Example:\n  trialcut new coupling --part coupling.step --machine trunnion-15k"
    )]
    New(New),
    /// Faces, curvature, pockets, size and defects of a part
    #[command(after_help = "Example:\n  trialcut inspect coupling.step --json")]
    Inspect(Inspect),
    /// Compare the processes of a study: time, cusp, gouge, cost, claims
    #[command(after_help = "Example:\n  trialcut compare study.toml --out tables")]
    Compare(Compare),
    /// The set of cutters that clears the study's pockets fastest or cheapest, proven
    #[command(
        after_help = "Example:\n  trialcut cutter-set study.toml --objective cost --magazine 8"
    )]
    CutterSet(CutterSet),
    /// Write the document for the client
    #[command(after_help = "Example:\n  trialcut report study.toml --out coupling.html")]
    Report(Report),
    /// Write the NC program of a process, the same as neutral cutter-location text, its setup sheet
    #[command(
        after_help = "Example:\n  trialcut program study.toml --process large-arc --out program"
    )]
    Program(Program),
    /// Write a program of air cuts whose stretches are timed with a stopwatch
    #[command(after_help = "Example:\n  trialcut machine-test machine.toml --out timing.nc")]
    MachineTest(MachineTest),
    /// Fit a machine file to the times that were read
    #[command(
        after_help = "Example:\n  trialcut machine-fit machine.toml times.csv --out fitted.toml"
    )]
    MachineFit(MachineFit),
    /// Where the time of an NC program goes, block by block, and what holds it
    #[command(
        after_help = "Example:\n  trialcut audit part.nc --machine three-axis-12k --report audit.html"
    )]
    Audit(Audit),
    /// One formula at the machine
    #[command(subcommand, arg_required_else_help = true, after_help = calc::EXAMPLE)]
    Calc(calc::Calc),
}

/// Of `demo`.
#[derive(Debug, Args)]
pub(crate) struct Demo {
    /// Folder that the study is written into
    #[arg(value_name = "DIR", default_value = "trialcut-demo")]
    pub(crate) folder: PathBuf,
    /// Threads to work with; left out: as many as the machine has
    #[arg(long, value_name = "N", value_parser = count)]
    pub(crate) threads: Option<NonZeroUsize>,
}

/// Of `new`.
#[derive(Debug, Args)]
pub(crate) struct New {
    /// Folder of the study
    #[arg(value_name = "DIR")]
    pub(crate) folder: PathBuf,
    /// The part: STEP, STL, OBJ, PLY or 3MF; it is copied into the folder
    #[arg(long, value_name = "FILE")]
    pub(crate) part: PathBuf,
    /// Unit of a file that does not state one: mm or inch
    #[arg(long, value_name = "UNIT")]
    pub(crate) unit: Option<String>,
    /// Which solid, where the file holds several: its name, or # and its number
    #[arg(long, value_name = "NAME")]
    pub(crate) solid: Option<String>,
    /// Material; left out: en-aw-7075-t651
    #[arg(long, value_name = "ID")]
    pub(crate) material: Option<String>,
    /// Machine that comes with the program; left out: trunnion-15k
    #[arg(long, value_name = "ID")]
    pub(crate) machine: Option<String>,
}

/// Of `inspect`.
#[derive(Debug, Args)]
pub(crate) struct Inspect {
    /// The part: STEP, STL, OBJ, PLY or 3MF
    #[arg(value_name = "PART")]
    pub(crate) part: PathBuf,
    /// Unit of the file's numbers: mm or inch; left out: as the file says
    #[arg(long, value_name = "UNIT")]
    pub(crate) unit: Option<String>,
    /// Only this solid: its name, or # and its number
    #[arg(long, value_name = "NAME")]
    pub(crate) solid: Option<String>,
}

/// Of `compare`.
#[derive(Debug, Args)]
pub(crate) struct Compare {
    /// The study file
    #[arg(value_name = "STUDY")]
    pub(crate) study: PathBuf,
    /// End with status 3 where a limit of the study is broken
    #[arg(long)]
    pub(crate) strict: bool,
    /// Folder for tables as CSV
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    /// Threads to work with; left out: as many as the machine has
    #[arg(long, value_name = "N", value_parser = count)]
    pub(crate) threads: Option<NonZeroUsize>,
}

/// Of `program`.
#[derive(Debug, Args)]
pub(crate) struct Program {
    /// The study file
    #[arg(value_name = "STUDY")]
    pub(crate) study: PathBuf,
    /// Name of the process
    #[arg(long, value_name = "NAME")]
    pub(crate) process: String,
    /// Folder for the files; left out: program, beside the study
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    /// The setup sheet, HTML or PDF by the ending; left out: both, beside the program
    #[arg(long, value_name = "FILE")]
    pub(crate) sheet: Option<PathBuf>,
    /// Take the other solution of the rotary axes
    #[arg(long)]
    pub(crate) other_solution: bool,
    /// After so many passes the program can be entered again
    #[arg(long, value_name = "N", value_parser = count)]
    pub(crate) restart_passes: Option<NonZeroUsize>,
}

/// Of `machine-test`.
#[derive(Debug, Args)]
pub(crate) struct MachineTest {
    /// A machine file, or the id of a machine that comes with the program
    #[arg(value_name = "MACHINE")]
    pub(crate) machine: String,
    /// The program; left out: ID-test.nc
    #[arg(long, value_name = "FILE.nc")]
    pub(crate) out: Option<PathBuf>,
}

/// Of `machine-fit`.
#[derive(Debug, Args)]
pub(crate) struct MachineFit {
    /// The machine file, or the id, for which the test program was written
    #[arg(value_name = "MACHINE")]
    pub(crate) machine: String,
    /// The readings, one line for each stretch: test,seconds
    #[arg(value_name = "TIMES.csv")]
    pub(crate) times: PathBuf,
    /// The fitted machine file; left out: ID-fitted.toml
    #[arg(long, value_name = "FILE.toml")]
    pub(crate) out: Option<PathBuf>,
}

/// Of `cutter-set`.
#[derive(Debug, Args)]
pub(crate) struct CutterSet {
    /// The study file
    #[arg(value_name = "STUDY")]
    pub(crate) study: PathBuf,
    /// What is made least: time or cost; left out: time
    #[arg(long, value_name = "WHAT")]
    pub(crate) objective: Option<String>,
    /// Places of the magazine; left out: as the machine file says
    #[arg(long, value_name = "N", value_parser = count)]
    pub(crate) magazine: Option<NonZeroUsize>,
}

/// Of `report`.
#[derive(Debug, Args)]
pub(crate) struct Report {
    /// The study file
    #[arg(value_name = "STUDY")]
    pub(crate) study: PathBuf,
    /// The document, HTML or PDF by the ending; left out: report.html beside the study
    #[arg(long, value_name = "FILE")]
    pub(crate) out: Option<PathBuf>,
    /// Threads to work with; left out: as many as the machine has
    #[arg(long, value_name = "N", value_parser = count)]
    pub(crate) threads: Option<NonZeroUsize>,
}

/// Of `audit`.
#[derive(Debug, Args)]
pub(crate) struct Audit {
    /// The NC program, ISO 6983
    #[arg(value_name = "PROGRAM")]
    pub(crate) program: PathBuf,
    /// A machine file, or the id of a machine that comes with the program
    #[arg(long, value_name = "FILE-or-ID")]
    pub(crate) machine: String,
    /// Dialect of the program: a, b or a dialect file; left out: the machine's
    #[arg(long, value_name = "NAME-or-FILE")]
    pub(crate) dialect: Option<String>,
    /// Leave out blocks with a block delete
    #[arg(long)]
    pub(crate) block_delete: bool,
    /// Where a further program zero lies in the coordinates of the first one used, mm
    #[arg(long = "offset", value_name = "G55=X,Y,Z")]
    pub(crate) offsets: Vec<String>,
    /// What a variable holds that the program reads and does not set
    #[arg(long = "variable", value_name = "N=VALUE")]
    pub(crate) variables: Vec<String>,
    /// Numbers of the tools that there are; others are then named
    #[arg(long, value_name = "N,N", value_delimiter = ',')]
    pub(crate) tools: Vec<u32>,
    /// End with status 3 where an axis leaves its travel
    #[arg(long)]
    pub(crate) strict: bool,
    /// The study whose cutters, stock and material the program cuts with: loads and moves in air
    #[arg(long, value_name = "STUDY")]
    pub(crate) study: Option<PathBuf>,
    /// The study's cutter that a tool of the program is, where no comment says so
    #[arg(long = "cutter", value_name = "N=ID", requires = "study")]
    pub(crate) cutters: Vec<String>,
    /// What the program begins with: block, near-net, near-net=MM (a layer on the part) or a file; left
    /// out: the study's stock, or near-net where the study only finishes with these cutters
    #[arg(long, value_name = "STOCK", requires = "study")]
    pub(crate) stock: Option<String>,
    /// Write the audit as a page with pictures, HTML or PDF by the ending
    #[arg(long, value_name = "FILE")]
    pub(crate) report: Option<PathBuf>,
}

/// A finite number.
pub(crate) fn number(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(number) if number.is_finite() => Ok(number),
        Ok(_) => Err("expected a finite number".to_owned()),
        Err(_) => Err("expected a number with a point as decimal sign, without a unit".to_owned()),
    }
}

/// A whole number of 1 or more.
fn count(text: &str) -> Result<NonZeroUsize, String> {
    text.parse().map_err(|_| "expected a whole number, 1 or more".to_owned())
}
