//! What an NC program that exists asks of the study's cutters, from the stock that it begins with as the
//! program cuts it: moves in air, engagement, chip and force along the way.
//!
//! Where the tool stands upright all along the stock is columns along the machine's Z in program
//! coordinates; where it leans anywhere, columns along all three axes, and its engagement is looked for
//! by height along its own axis.

mod leaning;
mod matching;
mod standing;
mod tally;
mod upright;
mod way;

pub use standing::Begin;

use crate::scene::{Given, Scene};
use cutter::Assembly;
use geom::tolerance::{COINCIDENT_MM, PARALLEL_RAD};
use geom::{Quat, TriMesh, Vec3};
use machine::track::{Feed, Frame, Move, Place, Shape};
use machine::{AccountError, Event, Kinematics, Machine, Mounting, TrackOptions, TrackTimer};
use nc::Program;
use nc::audit::LoadsAlong;
use part::Part;
use std::ops::Range;
use stock::{Columns, Taken, Three, Tiles};
use study::{Study, StudyCutter};
use tally::Tally;

/// About how many places of the program are looked at.
const LOOKS: f64 = 4000.0;
/// Places lie no closer than this, mm.
const CLOSEST_MM: f64 = 0.5;
/// Less than this is what columns round, mm³ per mm² of a cell.
const FILM_MM: f64 = 2e-3;
/// Rapids that go no deeper into stock than this share of a cell graze what was just cut.
const GRAZES: f64 = 1.0;

/// What a program is held against.
#[derive(Debug, Clone, Copy)]
pub struct Against<'a> {
    /// The study.
    pub study: &'a Study,
    /// Its part.
    pub part: &'a Part,
    /// Clamps and table.
    pub fixtures: &'a [TriMesh],
    /// Cutters of the study that the caller gives to tools of the program.
    pub named: &'a [(u32, String)],
    /// What the program begins with.
    pub begin: Begin<'a>,
}

/// What a program asks of the study's cutters.
///
/// # Errors
/// A block that the machine cannot be given.
pub fn loads(
    against: &Against<'_>,
    program: &Program,
    machine: &Machine,
) -> Result<LoadsAlong, AccountError> {
    let Against { study, part, fixtures, .. } = *against;
    let scene = Scene::new(Given { study, part, fixtures, stock: None });
    let options = TrackOptions { worth_of: 0, ..TrackOptions::default() };
    let account = TrackTimer::new(&program.track, machine, &options)?.account()?;
    let times: Vec<f64> = account.moves.iter().map(|m| m.time_s).collect();
    let tools = matching::of(against.study, program, against.named);
    let mut out = LoadsAlong { tools, ..LoadsAlong::default() };
    let standing = match standing::of(&scene, against.begin, &out.tools) {
        Ok(standing) => standing,
        Err(why) => {
            out.notes.push(why);
            return Ok(out);
        }
    };
    out.stock = Some(standing.taken.clone());
    let mut walk = Walk::new(&scene, program, machine, &out);
    let simulated = if walk.leans() {
        standing
            .three(&mut out.notes)
            .map(|stock| walk.all(&times, Body::Three(Box::new(stock)), &mut out))
    } else {
        standing.columns(&mut out.notes).map(|stock| {
            let tiles = Tiles::of(&stock);
            walk.all(&times, Body::Columns(Box::new(stock), tiles), &mut out);
        })
    };
    if let Err(error) = simulated {
        out.notes.push(format!("the stock is not simulated: {error}"));
    }
    Ok(out)
}

/// The stock as it is cut.
enum Body {
    /// For tools that stand upright all along.
    Columns(Box<Columns>, Tiles),
    /// For tools that lean.
    Three(Box<Three>),
}

impl Body {
    fn spacing_mm(&self) -> f64 {
        match self {
            Self::Columns(columns, _) => columns.grid().spacing_mm,
            Self::Three(three) => three.spacing_mm(),
        }
    }
}

/// A tool that was matched.
struct Held<'a> {
    cutter: &'a StudyCutter,
    assembly: Assembly,
}

/// Goes along a program.
struct Walk<'a> {
    scene: &'a Scene<'a>,
    program: &'a Program,
    kinematics: Kinematics,
    held: Vec<(u32, Held<'a>)>,
    tallies: Vec<Tally>,
    look_mm: f64,
}

impl<'a> Walk<'a> {
    fn new(
        scene: &'a Scene<'a>,
        program: &'a Program,
        machine: &Machine,
        out: &LoadsAlong,
    ) -> Self {
        let held = out.tools.iter().filter_map(|tool| {
            let id = tool.cutter.as_ref()?;
            let cutter = scene.study.cutters.iter().find(|c| c.id == *id)?;
            let assembly = Assembly::new(&cutter.spec).ok()?;
            Some((tool.number, Held { cutter, assembly }))
        });
        let kinematics = Kinematics::new(machine, &Mounting::default());
        let mut length = 0.0;
        for (i, step) in program.track.moves.iter().enumerate() {
            if step.feed != Feed::Rapid {
                let from = program.track.before(i, &kinematics);
                length += from.linear.distance(step.to.linear);
            }
        }
        Self {
            scene,
            program,
            kinematics,
            held: held.collect(),
            tallies: out.tools.iter().map(|t| Tally::new(t.number)).collect(),
            look_mm: (length / LOOKS).max(CLOSEST_MM),
        }
    }

    /// Whether a tool leans anywhere, or turns past the part.
    fn leans(&self) -> bool {
        (0..self.program.track.moves.len()).any(|i| !self.is_upright(i))
    }

    /// Where the tool stands before and after a move, by its tip.
    fn ends(&self, i: usize) -> (Place, Place) {
        let step = self.program.track.moves[i];
        let from = self.program.track.before(i, &self.kinematics);
        let tip = |p: &Place| self.kinematics.converted(p, step.frame, Frame::Tip);
        (tip(&from), tip(&step.to))
    }

    fn is_upright(&self, i: usize) -> bool {
        let (a, b) = self.ends(i);
        // rotary axes that turn carry the part past the tool
        a.rotary == b.rotary
            && [a, b].iter().all(|p| {
                let axis = self.kinematics.axis_at(p.rotary);
                axis.cross(Vec3::Z).length() < PARALLEL_RAD && axis.z > 0.0
            })
    }

    fn all(&mut self, times: &[f64], mut body: Body, out: &mut LoadsAlong) {
        let track = &self.program.track;
        let mut waits = track.waits.iter().peekable();
        let mut rpm = 0.0;
        let mut index = 0;
        while index < track.moves.len() {
            while let Some(wait) = waits.next_if(|w| w.after <= index) {
                match wait.event {
                    Event::Spindle { to_rpm, .. } => rpm = to_rpm.abs(),
                    Event::ToolChange => rpm = 0.0,
                    _ => {}
                }
            }
            let until = waits.peek().map_or(track.moves.len(), |w| w.after.max(index + 1));
            let range = index..until.min(track.moves.len());
            index = self.stretch(range, (times, rpm), &mut body, out);
        }
        for tally in &self.tallies {
            if let Some(tool) = out.tools.iter_mut().find(|t| t.number == tally.number) {
                tally.finish(tool);
            }
        }
        let known: f64 = out.tools.iter().filter_map(|t| t.in_cut_s).sum();
        let air: f64 = out.tools.iter().filter_map(|t| t.air_s).sum();
        if known + air > 0.0 {
            out.air_s = Some(air);
            out.air_share = Some(air / (known + air));
        }
    }

    /// Moves with one tool at one speed; the next index.
    fn stretch(
        &mut self,
        range: Range<usize>,
        (times, rpm): (&[f64], f64),
        body: &mut Body,
        out: &mut LoadsAlong,
    ) -> usize {
        let moves = &self.program.track.moves;
        let tool = moves[range.start].tool;
        let end = range.start + moves[range.clone()].iter().take_while(|m| m.tool == tool).count();
        let number = u32::from(tool);
        let held = self.held.iter().find(|(n, _)| *n == number).map(|(_, held)| held);
        let tally = self.tallies.iter_mut().find(|t| t.number == number);
        let (Some(held), Some(tally)) = (held, tally) else { return end };
        let law = tally::law(self.scene, held.cutter, rpm, &moves[range.start..end]);
        let spacing_mm = body.spacing_mm();
        let mut run = Stretch {
            held,
            law: &law,
            tally,
            rapids: Rapids { found: &mut out.rapid_in_stock, spacing_mm, volume_mm3: 0.0 },
            look_mm: self.look_mm,
            rpm,
        };
        match body {
            Body::Columns(columns, tiles) => {
                let legs: Vec<_> = (range.start..end)
                    .map(|i| Leg::new(i, self.program, &self.kinematics, times))
                    .collect();
                run.upright(&legs, (columns, tiles));
            }
            Body::Three(three) => {
                let legs = (range.start..end).map(|i| {
                    way::pieces(&self.kinematics, self.program, i, (times[i], self.look_mm))
                });
                run.leaning(legs, three);
            }
        }
        end
    }
}

/// A move of an upright tool.
struct Leg {
    step: Move,
    from: Vec3,
    to: Vec3,
    time_s: f64,
}

/// What moves with one tool at one speed are looked at with.
struct Stretch<'a> {
    held: &'a Held<'a>,
    law: &'a Result<material::ForceLaw, String>,
    tally: &'a mut Tally,
    rapids: Rapids<'a>,
    look_mm: f64,
    rpm: f64,
}

/// Rapids that go through stock.
struct Rapids<'a> {
    found: &'a mut Vec<(u32, f64)>,
    spacing_mm: f64,
    /// What they take away, mm³.
    volume_mm3: f64,
}

impl Rapids<'_> {
    fn note(&mut self, block: u32, taken: Taken) {
        self.volume_mm3 += taken.volume_mm3;
        // grazing what was just cut is rounding of the columns
        let least = 0.05_f64.max(20.0 * FILM_MM * self.spacing_mm * self.spacing_mm);
        if taken.volume_mm3 > least && taken.deepest_mm > GRAZES * self.spacing_mm {
            self.found.push((block, taken.volume_mm3));
        }
    }
}

/// Path of a move, mm.
fn length(from: &Place, step: &Move) -> f64 {
    match step.shape {
        Shape::Line => from.linear.distance(step.to.linear),
        Shape::Arc { centre, axis, sweep_rad } => {
            let arm = from.linear - centre;
            let flat = (arm - axis * arm.dot(axis)).length() * sweep_rad;
            flat.hypot((step.to.linear - from.linear).dot(axis)).max(COINCIDENT_MM)
        }
    }
}

/// The place at the share `t` of a move.
fn along(from: &Place, to: &Place, step: &Move, t: f64) -> Vec3 {
    match step.shape {
        Shape::Line => from.linear.lerp(to.linear, t),
        Shape::Arc { centre, axis, sweep_rad } => {
            let climb = axis * ((to.linear - from.linear).dot(axis) * t);
            centre + Quat::from_axis_angle(axis, t * sweep_rad) * (from.linear - centre) + climb
        }
    }
}
