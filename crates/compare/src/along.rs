//! What an NC program that exists asks of the study's cutters, from the study's stock as the program
//! cuts it: moves in air, engagement, chip and force along the way.
//!
//! The stock is columns along the machine's Z in program coordinates. Where the tool stands upright
//! its engagement is tested exactly; where it leans, whether a move meets stock is found from the
//! volume that it sweeps, and loads are not computed.

mod matching;
mod standing;
mod tally;
mod way;

use crate::job;
use crate::scene::Scene;
use cutter::Assembly;
use geom::tolerance::{COINCIDENT_MM, PARALLEL_RAD};
use geom::{Quat, TriMesh, Vec3};
use machine::track::{Feed, Frame, Move, Place, Shape};
use machine::{AccountError, Event, Kinematics, Machine, Mounting, TrackOptions, TrackTimer};
use nc::Program;
use nc::audit::LoadsAlong;
use part::Part;
use stock::{Columns, Cutting, Direction, Grid, Sweep, Taken, Tiles};
use study::{Stock, Study, StudyCutter};
use tally::Tally;

/// About how many places of the program are looked at.
const LOOKS: f64 = 4000.0;
/// Places lie no closer than this, mm.
const CLOSEST_MM: f64 = 0.5;
/// Columns of the stock, about.
const COLUMNS: f64 = 4e5;
/// Finest spacing of the columns, mm.
const FINEST_MM: f64 = 0.05;
/// Rings of the cutter's profile are no longer than this share of its radius.
const RING_SHARE: f64 = 0.25;
/// Less than this is what columns round, mm³ per mm² of a cell.
const FILM_MM: f64 = 2e-3;
/// Rapids that go no deeper into stock than this share of a cell graze what was just cut.
const GRAZES: f64 = 1.0;

/// What a program asks of the study's cutters; `named`: cutters that the caller gives to tools.
///
/// # Errors
/// A block that the machine cannot be given.
pub fn loads(
    study: &Study,
    part: &Part,
    fixtures: &[TriMesh],
    program: &Program,
    machine: &Machine,
    named: &[(u32, String)],
) -> Result<LoadsAlong, AccountError> {
    let scene = Scene::new(study, part, fixtures);
    let options = TrackOptions { worth_of: 0, ..TrackOptions::default() };
    let account = TrackTimer::new(&program.track, machine, &options)?.account()?;
    let times: Vec<f64> = account.moves.iter().map(|m| m.time_s).collect();
    let mut out =
        LoadsAlong { tools: matching::of(study, program, named), ..LoadsAlong::default() };
    let standing = standing::of(study, &out.tools, &mut out.notes);
    let Some(mut stock) = stock_of(&scene, standing.as_ref(), &mut out.notes) else {
        return Ok(out);
    };
    let mut walk = Walk::new(&scene, program, machine, &out);
    let mut tiles = Tiles::of(&stock);
    walk.all(&times, (&mut stock, &mut tiles), &mut out);
    Ok(out)
}

/// The stock of the study in program coordinates; says why where there is none.
fn stock_of(
    scene: &Scene<'_>,
    standing: Option<&Stock>,
    notes: &mut Vec<String>,
) -> Option<Columns> {
    let mounting = job::mounting(scene.study, 0.0);
    let mut mesh = scene.part.mesh.clone();
    let out = |p: &mut Vec3| *p = mounting.rotation * *p + mounting.origin_mm;
    mesh.vertices.iter_mut().for_each(out);
    let first = *mesh.vertices.first()?;
    let (lo, hi) = mesh.vertices.iter().fold((first, first), |(a, b), p| (a.min(*p), b.max(*p)));
    let margin = match standing {
        Some(Stock::Block { margin_mm } | Stock::Cylinder { margin_mm }) => *margin_mm,
        Some(Stock::NearNet { layer_mm }) => Vec3::splat(*layer_mm),
        Some(Stock::File(_)) => {
            notes.push("stock from a file is not simulated: air and loads are not computed".into());
            return None;
        }
        None => {
            notes.push(
                "the study gives no stock ([part] stock): air and loads are not computed"
                    .to_owned(),
            );
            return None;
        }
    };
    let (lo, hi) = (lo - margin, hi + margin);
    let area = (hi.x - lo.x) * (hi.y - lo.y);
    let spacing = (area / COLUMNS).sqrt().max(FINEST_MM);
    let grid = Grid::over((lo, hi), spacing, Direction::Z)
        .map_err(|e| notes.push(format!("the stock is not simulated: {e}")))
        .ok()?;
    notes.push(format!("stock as columns every {spacing:.2} mm"));
    Some(match standing {
        Some(Stock::NearNet { layer_mm }) => Columns::of_mesh(grid, &mesh).0.grown(*layer_mm),
        Some(Stock::Cylinder { .. }) => {
            let (centre, r) = (0.5 * (lo + hi), 0.5 * (hi.x - lo.x).max(hi.y - lo.y));
            Columns::filled(grid, |u, v| {
                let inside = (u - centre.x).hypot(v - centre.y) <= r;
                if inside { vec![(lo.z, hi.z)] } else { Vec::new() }
            })
        }
        _ => Columns::block(grid),
    })
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

    fn all(
        &mut self,
        times: &[f64],
        (stock, tiles): (&mut Columns, &mut Tiles),
        out: &mut LoadsAlong,
    ) {
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
            index = self.stretch(range, times, rpm, (stock, tiles), out);
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

    /// Moves with one tool at one speed, upright or not as the first of them; the next index.
    fn stretch(
        &mut self,
        range: std::ops::Range<usize>,
        times: &[f64],
        rpm: f64,
        (stock, tiles): (&mut Columns, &mut Tiles),
        out: &mut LoadsAlong,
    ) -> usize {
        let track = &self.program.track;
        let first = track.moves[range.start];
        let tool = u32::from(first.tool);
        let Some(at) = self.held.iter().position(|(number, _)| *number == tool) else {
            return range.start + 1;
        };
        let place = |i: usize| -> (Place, Place) {
            let step = track.moves[i];
            let from = track.before(i, &self.kinematics);
            let tip = |p: &Place| self.kinematics.converted(p, step.frame, Frame::Tip);
            (tip(&from), tip(&step.to))
        };
        let upright = |i: usize| {
            let (a, b) = place(i);
            // rotary axes that turn carry the part past the tool
            a.rotary == b.rotary
                && [a, b].iter().all(|p| {
                    self.kinematics.axis_at(p.rotary).cross(Vec3::Z).length() < PARALLEL_RAD
                        && self.kinematics.axis_at(p.rotary).z > 0.0
                })
        };
        let same = |i: &usize| track.moves[*i].tool == first.tool;
        if !upright(range.start) {
            self.leaning(at, range.start, times, (stock, tiles), out);
            return range.start + 1;
        }
        let end = range.clone().take_while(|i| same(i) && upright(*i)).count() + range.start;
        let legs: Vec<(usize, Place, Place)> = (range.start..end)
            .map(|i| {
                let (a, b) = place(i);
                (i, a, b)
            })
            .collect();
        self.upright(at, &legs, times, rpm, (stock, tiles), out);
        end
    }

    /// A move of a leaning tool: whether it meets stock, and what it takes away.
    fn leaning(
        &mut self,
        at: usize,
        index: usize,
        times: &[f64],
        (stock, tiles): (&mut Columns, &mut Tiles),
        out: &mut LoadsAlong,
    ) {
        let track = &self.program.track;
        let step = track.moves[index];
        let (number, held) = &self.held[at];
        let profile = held.assembly.cutter.profile();
        let reach_mm = profile.top_mm().hypot(profile.largest_radius_mm());
        let from = track.before(index, &self.kinematics);
        let mut taken = Taken::default();
        for (a, b) in way::pieces(&self.kinematics, &from, &step).windows(2).map(|w| (w[0], w[1])) {
            let axis = (a.1 + b.1).normalize_or(Vec3::Z);
            let sweep = Sweep { body: profile.kernel(), from: a.0, to: b.0, axis };
            let here = tiles.cut(stock, &sweep, reach_mm);
            taken.volume_mm3 += here.volume_mm3;
            taken.deepest_mm = taken.deepest_mm.max(here.deepest_mm);
        }
        let Some(tally) = self.tallies.iter_mut().find(|t| t.number == *number) else { return };
        if step.feed == Feed::Rapid {
            note_rapid(out, &step, taken, stock.grid().spacing_mm);
        } else {
            let meets = taken.volume_mm3 > FILM_MM * stock.grid().spacing_mm.powi(2);
            tally.leaning(times[index], meets, taken.volume_mm3);
        }
    }

    /// Moves of an upright tool: engagement along the way.
    fn upright(
        &mut self,
        at: usize,
        legs: &[(usize, Place, Place)],
        times: &[f64],
        rpm: f64,
        (stock, tiles): (&mut Columns, &mut Tiles),
        out: &mut LoadsAlong,
    ) {
        let (number, held) = &self.held[at];
        let Some((_, start, _)) = legs.first() else { return };
        let Some(tally) = self.tallies.iter_mut().find(|t| t.number == *number) else { return };
        let cutter = &held.assembly.cutter;
        let profile = cutter.profile();
        let law = tally::law(self.scene, held.cutter, rpm, legs, &self.program.track.moves);
        let (before_mm3, mut rapid_mm3) = (stock.volume_mm3(), 0.0);
        let spacing_mm = stock.grid().spacing_mm;
        let reach_mm = profile.top_mm().hypot(profile.largest_radius_mm());
        let mut run: Vec<(usize, Place, Place)> = Vec::new();
        let width_mm = RING_SHARE * profile.largest_radius_mm();
        let mut from = start.linear;
        for leg in legs.iter().chain(std::iter::once(&(usize::MAX, *start, *start))) {
            let step = self.program.track.moves.get(leg.0);
            if step.is_some_and(|s| s.feed != Feed::Rapid) {
                run.push(*leg);
                continue;
            }
            if let Some((_, first, _)) = run.first() {
                from = first.linear;
            }
            let mut cutting = Cutting::new(stock, cutter, from, width_mm);
            for (i, a, b) in run.drain(..) {
                let step = self.program.track.moves[i];
                let length = length(&a, &step);
                let count = (length / self.look_mm).ceil().max(1.0);
                for k in 1..=count as u32 {
                    let t = f64::from(k) / count;
                    let to = along(&a, &b, &step, t);
                    let Ok(slices) = cutting.advance(to) else { continue };
                    let feed_mm_s = if times[i] > 0.0 { length / times[i] } else { 0.0 };
                    tally.look(held.cutter, &slices, &law, (times[i] / count, feed_mm_s, rpm));
                }
            }
            // advance has refused every place that is none
            let _ = cutting.finish();
            if let Some(step) = step {
                let sweep = Sweep {
                    body: profile.kernel(),
                    from: leg.1.linear,
                    to: leg.2.linear,
                    axis: Vec3::Z,
                };
                let taken = tiles.cut(stock, &sweep, reach_mm);
                note_rapid(out, step, taken, spacing_mm);
                rapid_mm3 += taken.volume_mm3;
            }
        }
        tally.volume_mm3 += before_mm3 - stock.volume_mm3() - rapid_mm3;
    }
}

/// Notes a rapid that goes through stock.
fn note_rapid(out: &mut LoadsAlong, step: &Move, taken: Taken, spacing_mm: f64) {
    // grazing what was just cut is rounding of the columns
    let least = 0.05_f64.max(20.0 * FILM_MM * spacing_mm * spacing_mm);
    if taken.volume_mm3 > least && taken.deepest_mm > GRAZES * spacing_mm {
        out.rapid_in_stock.push((step.block, taken.volume_mm3));
    }
}

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
