//! `program STUDY --process NAME [--out DIR]`: the NC program of a process, and the same as neutral
//! cutter-location text.

use crate::document::Document;
use crate::failure::Failure;
use crate::text::{Align, Table, fixed};
use crate::{Progress, files, input};
use ::compare::motion::{self, Laid};
use geom::Vec3;
use machine::track::Place;
use machine::{Kinematics, Machine, Mounting, Track};
use post::{Job, Piece, Tool, Words};
use serde::Serialize;
use std::path::{Path, PathBuf};
use study::{Coolant, Study};

/// Which process, and where the files go.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Request {
    /// The study file.
    pub study: PathBuf,
    /// Name of the process.
    pub process: String,
    /// The folder; `None`: `program` beside the study.
    pub out: Option<PathBuf>,
}

/// What was written.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Written {
    /// Name of the study.
    pub study: String,
    /// Name of the process.
    pub process: String,
    /// The NC program.
    pub program: PathBuf,
    /// The cutter-location text.
    pub cutter_location: PathBuf,
    /// The operations.
    pub operations: Vec<Line>,
    /// What to look at before it runs.
    pub warnings: Vec<String>,
}

/// One operation.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Line {
    /// Its name.
    pub name: String,
    /// Number of its tool.
    pub tool: u32,
    /// Id of its cutter.
    pub cutter: String,
    /// Blocks that move.
    pub moves: usize,
    /// Time by the machine's model, s.
    pub predicted_s: f64,
}

impl Document for Written {
    fn text(&self) -> String {
        let mut table = Table::new([
            ("operation", Align::Left),
            ("tool", Align::Right),
            ("cutter", Align::Left),
            ("moves", Align::Right),
            ("predicted s", Align::Right),
        ]);
        for line in &self.operations {
            table.row([
                line.name.clone(),
                format!("T{}", line.tool),
                line.cutter.clone(),
                line.moves.to_string(),
                fixed(line.predicted_s, 1),
            ]);
        }
        format!(
            "{}\n{}\n\n{}\n\
             First run: door closed, single block, rapid low, hand on feed hold. Confirm tip control,\n\
             offsets and the sign of every rotary axis by a small move clear of the part. The manual of\n\
             the machine, local rules and a qualified person decide whether it may run.\n",
            self.program.display(),
            self.cutter_location.display(),
            table.text(0)
        )
    }

    fn warnings(&self) -> Vec<String> {
        self.warnings.clone()
    }
}

/// Writes the program.
///
/// # Errors
/// A fault of the study, a process that it does not have, an operation that cannot be done, travel
/// exceeded, or a folder that cannot be written to.
pub fn run(request: &Request, progress: Progress<'_>) -> Result<Written, Failure> {
    let input = input::load(&request.study)?;
    let study = &input.study;
    let process = study.processes.iter().find(|p| p.name == request.process);
    let process = process.ok_or_else(|| unknown(study, &request.process))?;
    let words = words(&study.machine.dialect)?;
    let laid = motion::of_process(study, &input.part, &input.fixtures, process, progress)
        .map_err(|fault| Failure::Input(vec![fault]))?;
    refuse_travel(&laid)?;
    let job = job(study, &process.name, &laid)?;
    let text = post::program::program(&job, &words).map_err(|refused| {
        Failure::other(refused.to_string(), "change the operation's pattern or the dialect")
    })?;
    let location = post::cutter_location::cutter_location(&job, &axis_at(&study.machine));
    let folder = request.out.clone().unwrap_or_else(|| beside(&request.study));
    let stem = stem(&process.name);
    let program = folder.join(format!("{stem}.nc"));
    let cutter_location = folder.join(format!("{stem}.cl"));
    files::write(&program, text.as_bytes())?;
    files::write(&cutter_location, location.as_bytes())?;
    let operations = job.pieces.iter().zip(&laid).map(|(piece, laid)| Line {
        name: piece.name.clone(),
        tool: job.tools[piece.tool].number,
        cutter: laid.cutter.id.clone(),
        moves: piece.track.moves.len(),
        predicted_s: piece.predicted_s,
    });
    let mut warnings: Vec<String> = laid.iter().flat_map(|l| l.warnings.clone()).collect();
    if input.fixtures.is_empty() {
        warnings.push("no fixture is given: clamps are not checked".to_owned());
    }
    Ok(Written {
        study: study.name.clone(),
        process: process.name.clone(),
        operations: operations.collect(),
        program,
        cutter_location,
        warnings,
    })
}

fn beside(study: &Path) -> PathBuf {
    study.parent().map_or_else(|| PathBuf::from("program"), |folder| folder.join("program"))
}

/// A name for files: letters, digits and hyphens.
fn stem(name: &str) -> String {
    let keep = |c: char| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '-' };
    let stem: String = name.chars().map(keep).collect();
    let stem = stem.trim_matches('-');
    if stem.is_empty() { "process".to_owned() } else { stem.to_owned() }
}

fn unknown(study: &Study, name: &str) -> Failure {
    let names: Vec<&str> = study.processes.iter().map(|p| p.name.as_str()).collect();
    let remedy = match study::nearest(name, names.iter().copied()) {
        Some(near) => format!("did you mean \"{near}\"?"),
        None => "take one of them".to_owned(),
    };
    let expected = format!("one of the study's: {}", study::listed(names.iter().copied()));
    Failure::call(format!("--process: there is no process \"{name}\""), expected, remedy)
}

/// Words of the dialect that a machine file names.
pub(crate) fn words(dialect: &str) -> Result<Words, Failure> {
    Words::named(dialect).ok_or_else(|| {
        Failure::call(
            format!("the machine file names the dialect \"{dialect}\""),
            "a or b",
            "name one of them as dialect in the machine file",
        )
    })
}

fn refuse_travel(laid: &[Laid<'_>]) -> Result<(), Failure> {
    for one in laid {
        if let Some(exceeded) = one.exceeded.first() {
            return Err(Failure::call(
                format!("operation \"{}\": {exceeded}", one.operation.name),
                "a part that stands inside the travel of the axes",
                "move it by [setup] origin_mm, or correct travel and reference_mm of the machine file",
            ));
        }
    }
    Ok(())
}

fn job(study: &Study, process: &str, laid: &[Laid<'_>]) -> Result<Job, Failure> {
    let machine = &study.machine;
    let mut tools: Vec<Tool> = Vec::new();
    let mut ids: Vec<&str> = Vec::new();
    let mut pieces = Vec::new();
    for one in laid {
        let at = ids.iter().position(|id| *id == one.cutter.id).unwrap_or_else(|| {
            ids.push(&one.cutter.id);
            tools.push(Tool {
                number: ids.len() as u32,
                words: one.cutter.id.clone(),
                length_mm: one.stickout_mm,
            });
            ids.len() - 1
        });
        let track = Track::of_toolpath(&one.toolpath, machine, &one.route).map_err(|error| {
            let message = format!("operation \"{}\": {error}", one.operation.name);
            Failure::other(message, "change the operation's axis or the machine")
        })?;
        pieces.push(Piece {
            name: one.operation.name.clone(),
            tool: at,
            rpm: one.rpm,
            coolant: coolant(one.operation.coolant),
            predicted_s: one.total_s,
            track,
        });
    }
    let highest = |p: &Piece| {
        p.track.moves.iter().map(|m| m.to.linear.z).fold(p.track.start.linear.z, f64::max)
    };
    let top = pieces.iter().map(highest).fold(0.0, f64::max);
    let rotary = machine.axes.iter().skip(3);
    Ok(Job {
        title: format!("{}: {process}", study.name),
        machine: machine.name.clone(),
        rotary: rotary.map(|a| (a.name.letter(), a.direction)).collect(),
        safe_z_mm: top + CLEAR_MM,
        tools,
        pieces,
    })
}

/// Tools come and go this far above the highest place of any operation, mm.
const CLEAR_MM: f64 = 50.0;

/// The auxiliary word of a coolant.
fn coolant(coolant: Option<Coolant>) -> Option<u32> {
    match coolant {
        None | Some(Coolant::Dry) => None,
        Some(Coolant::Mist | Coolant::Air) => Some(7),
        Some(Coolant::Flood | Coolant::Through) => Some(8),
    }
}

/// The tool axis at the angles of a place, in program coordinates.
fn axis_at(machine: &Machine) -> impl Fn(&Place) -> Vec3 {
    let kinematics = Kinematics::new(machine, &Mounting::default());
    move |place| kinematics.axis_at(place.rotary)
}
